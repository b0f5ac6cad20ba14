"""Sheets of the gauge studies: the readings of each, and what its live formulas make of them.

Names of parts and people become numbers of their own lists, so that no formula matches wild cards.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.dossier.forms import live_formulas as live
from linestudy.dossier.forms.book import Book, cell
from linestudy.dossier.forms.printable_text import printable
from linestudy.gauges import (
    AgreementStudy,
    AttributeStudy,
    BiasStudy,
    CrossedStudy,
    DriftStudy,
    LinearityStudy,
    NestedStudy,
    RepeatabilityStudy,
)
from linestudy.gauges.budget.contributions import reference_width
from linestudy.results.tables import natural_order

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.dossier.evaluation import Evaluation


def write(book: Book, evaluation: Evaluation) -> None:
    """Write every gauge study that has live formulas, those of one kind side by side.

    Parameters
    ----------
    book : Book
    evaluation : Evaluation
    """
    for item in evaluation.study.characteristics:
        found = evaluation.findings.of(item.id, "gauges")
        for path, finding in {**found, **evaluation.findings.of(item.id, "agreement")}.items():
            for kind, (role, sheet) in _SHEETS.items():
                if isinstance(finding, kind):
                    table = evaluation.records.table(role, item.id, path[1])
                    if table is not None:
                        sheet(book, evaluation, item.id, path[1], finding, table)
        judged = evaluation.findings.get(item.id, "attribute")
        table = evaluation.records.table("attribute", item.id)
        if isinstance(judged, AttributeStudy) and table is not None:
            _judgements(book, item.name, judged, table)


def _called(evaluation: Evaluation, key: str, gauge: str, what: str) -> str:
    """Name a study by characteristic, gauge and kind."""
    names = {one.id: one.name for one in evaluation.study.gauges}
    item = evaluation.study.characteristic(key).name
    who = f" {names.get(gauge, gauge)}" if gauge else ""
    return f"{item}{who} {what}"


def _numbered(column: Any) -> tuple[list[str], Any]:
    """Sort names naturally, part 10 after part 9, and return each row's number in that order, from 1."""
    labels = column.astype(str).to_list()
    names = sorted(set(labels), key=natural_order)
    number = {name: at for at, name in enumerate(names, start=1)}
    return names, np.array([number[label] for label in labels])


def _key(book: Book, sheet: Any, left: int, names: dict[str, list[str]]) -> None:
    """Write which number stands for which name."""
    for column, (title, listed) in enumerate(names.items()):
        at = left + 2 * column
        sheet.write_string(0, at, "number", book.bold)
        sheet.write_string(0, at + 1, printable(title), book.bold)
        for row, name in enumerate(listed, start=1):
            sheet.write_number(row, at, row)
            sheet.write_string(row, at + 1, printable(name))


def _crossed(
    book: Book,
    evaluation: Evaluation,
    key: str,
    gauge: str,
    study: CrossedStudy,
    table: pd.DataFrame,
) -> None:
    parts, part = _numbered(table["part"])
    people, person = (
        _numbered(table["appraiser"]) if "appraiser" in table else ([""], np.ones(len(table)))
    )
    columns = {"part": part, "appraiser": person, "reading": table["value"]}
    sheet = book.columns(
        _called(evaluation, key, gauge, "crossed"),
        columns,
        "Crossed studies",
        "crossed gauge study",
    )
    if "factor" in table:
        _three_ways(book, sheet, study, table, part, person)
        return
    if study.design.balanced:
        means = table["value"].groupby([part, person]).mean().unstack().to_numpy()
        _cells(book, sheet, study, parts, people, len(table), means)
        return
    # Readings are missing: what does not depend on that is the spread within the cells.
    cells = table["value"].groupby([part, person]).transform("mean")
    formula = live.mean_of_group("C", ("A", "B"), len(table))
    book.formulas(sheet, 3, "mean of its cell", formula, cells)
    book.checks(sheet, 0, 5, live.within_cells(study, len(table), "C", "D"))
    _key(book, sheet, 10, {"part": parts, "appraiser": people})


def _three_ways(
    book: Book, sheet: Any, study: CrossedStudy, table: pd.DataFrame, part: Any, person: Any
) -> None:
    """Write a study with a third factor: each reading's factor, and the spread within its cells."""
    factors, factor = _numbered(table["factor"])
    sheet.write_string(0, 3, "factor", book.bold)
    for row, number in enumerate(factor, start=1):
        sheet.write_number(row, 3, float(number))
    n = len(table)
    cells = table["value"].groupby([part, person, factor]).transform("mean")
    book.formulas(sheet, 4, "mean of its cell", live.mean_of_group("C", ("A", "B", "D"), n), cells)
    book.checks(sheet, 0, 6, live.within_cells(study, n, "C", "E"))
    _key(book, sheet, 11, {"factor": factors})


def _cells(
    book: Book,
    sheet: Any,
    study: CrossedStudy,
    parts: list[str],
    people: list[str],
    n: int,
    means: Any,
) -> None:
    """Write the means of the cells, their margins, and the sums of squares that follow from them."""
    part_column, who_column, data = (f"${c}$2:${c}${n + 1}" for c in "ABC")
    left, top = 4, 1
    sheet.write_string(0, left, "cell means: part down, appraiser across", book.bold)
    last = left + len(people)
    bottom = top + 1 + len(parts)
    for j, name in enumerate(people, start=left + 1):
        sheet.write_string(top, j, printable(name))
    for i, name in enumerate(parts):
        row = top + 1 + i
        sheet.write_string(row, left, printable(name))
        for j in range(len(people)):
            formula = f"=AVERAGEIFS({data},{part_column},{i + 1},{who_column},{j + 1})"
            sheet.write_formula(row, left + 1 + j, formula, None, float(means[i][j]))
        across = f"{cell(row, left + 1)}:{cell(row, last)}"
        sheet.write_formula(row, last + 1, f"=AVERAGE({across})", None, float(means[i].mean()))
    for j in range(len(people)):
        column = left + 1 + j
        down = f"{cell(top + 1, column)}:{cell(bottom - 1, column)}"
        mean = float(means[:, j].mean())
        sheet.write_formula(bottom, column, f"=AVERAGE({down})", None, mean)
    cells = f"{cell(top + 1, left + 1)}:{cell(bottom - 1, last)}"
    of_parts = f"{cell(top + 1, last + 1)}:{cell(bottom - 1, last + 1)}"
    of_people = f"{cell(bottom, left + 1)}:{cell(bottom, last)}"
    book.checks(sheet, bottom + 2, left, live.crossed(study, data, cells, of_parts, of_people))


def _masters(
    book: Book,
    evaluation: Evaluation,
    key: str,
    gauge: str,
    study: BiasStudy,
    table: pd.DataFrame,
) -> None:
    columns = {"master": table["reference"], "reading": table["value"]}
    sheet = book.columns(
        _called(evaluation, key, gauge, "masters"),
        columns,
        "Masters",
        "bias, linearity, Cg and Cgk",
    )
    book.formulas(sheet, 2, "error", "B{0}-A{0}", table["value"] - table["reference"])
    n = len(table)
    row = book.checks(sheet, 0, 4, live.bias(study, n))
    of = evaluation.findings.get
    item = evaluation.study.characteristic(key)
    line, one = of(key, "gauges", gauge, "linearity"), of(key, "gauges", gauge, "cg_cgk")
    if isinstance(line, LinearityStudy) and "reference_uncertainty" not in table:
        limits = {"lower": item.lower, "upper": item.upper}
        row = book.checks(sheet, row + 1, 4, live.linearity(line, n, limits))
    width = reference_width(item)
    if isinstance(one, RepeatabilityStudy) and width is not None:
        book.checks(sheet, row + 1, 4, live.repeatability(one, n, width))


def _drift(
    book: Book, evaluation: Evaluation, key: str, gauge: str, study: DriftStudy, __: pd.DataFrame
) -> None:
    """Write order and error, and each less its mean within the stretch between two resets."""
    order, error, _fitted, stretch = study.points.T
    number = stretch.astype(int)
    columns = {"order": order, "error on the master": error, "stretch": number + 1}
    sheet = book.columns(
        _called(evaluation, key, gauge, "drift"), columns, "Drift", "a master over the run"
    )
    n = study.n
    for column, letter, values in ((3, "A", order), (4, "B", error)):
        inside = values - (np.bincount(number, values) / np.bincount(number))[number]
        formula = f"{letter}{{0}}-{live.mean_of_group(letter, 'C', n)}"
        book.formulas(sheet, column, f"{letter} less its stretch's mean", formula, inside)
    book.checks(sheet, 0, 6, live.drift(study, n))


def _pairs(
    book: Book,
    evaluation: Evaluation,
    key: str,
    pair: str,
    study: AgreementStudy,
    table: pd.DataFrame,
) -> None:
    first, second = table["first"], table["second"]
    sheet = book.columns(
        _called(evaluation, key, "", "two gauges"),
        {study.first: first, study.second: second},
        "Two gauges",
        f"{study.first} and {study.second}",
    )
    book.formulas(sheet, 2, "difference", "A{0}-B{0}", first - second)
    book.checks(sheet, 0, 4, live.agreement(study, len(table)))


def _nested(
    book: Book,
    evaluation: Evaluation,
    key: str,
    gauge: str,
    study: NestedStudy,
    table: pd.DataFrame,
) -> None:
    """Write each reading beside the mean of its group at every level, groups within groups."""
    levels = list(study.levels)
    names, codes = zip(*(_numbered(table[level]) for level in levels), strict=True)
    columns = {**dict(zip(levels, codes, strict=True)), "reading": table["value"]}
    sheet = book.columns(
        _called(evaluation, key, gauge, "nested"), columns, "Nested studies", "nested study"
    )
    letters = [cell(0, at)[:-1] for at in range(2 * len(levels) + 1)]
    tags, reading, means = letters[: len(levels)], letters[len(levels)], letters[len(levels) + 1 :]
    for depth, level in enumerate(levels):
        groups = table["value"].groupby(list(codes[: depth + 1])).transform("mean")
        formula = live.mean_of_group(reading, tags[: depth + 1], len(table))
        book.formulas(sheet, len(levels) + 1 + depth, f"mean of its {level}", formula, groups)
    left = 2 * len(levels) + 2
    book.checks(sheet, 0, left, live.nested(study, len(table), reading, means))
    _key(book, sheet, left + 5, dict(zip(levels, names, strict=True)))


def _judgements(book: Book, key: str, study: AttributeStudy, table: pd.DataFrame) -> None:
    """Write judgements as 1 (accepted) and 0, and whether one person judged a part right every time."""
    parts, part = _numbered(table["part"])
    if "appraiser" in table:
        people, person = _numbered(table["appraiser"])
    else:
        people, person = list(study.appraisers), np.ones(len(table), dtype=int)
    judged = table["judgement"].astype(int)
    columns = {"part": part, "appraiser": person, "accepted": judged}
    known = "reference" in table
    if known:
        columns["reference accepts"] = table["reference"].astype(int)
    sheet = book.columns(f"{key} judgements", columns, "Judgements", "judgements")
    n = len(table)
    if known:
        right = (table["judgement"] == table["reference"]).astype(float)
        always = right.groupby([part, person]).transform("min")
        book.formulas(sheet, 4, "right", "IF(C{0}=D{0},1,0)", right)
        formula = live.mean_of_group("E", ("A", "B"), n)
        book.formulas(sheet, 5, "always right", f"IF({formula}=1,1,0)", always)
        # A part judged three times is in three rows and must count once.
        share = 1 / right.groupby([part, person]).transform("size")
        formula = f"1/COUNTIFS($A$2:$A${n + 1},A{{0}},$B$2:$B${n + 1},B{{0}})"
        book.formulas(sheet, 6, "its share of a part", formula, share)
        row = 0
        for number, name in enumerate(people, start=1):
            own = int((person == number).sum())
            row = book.checks(sheet, row, 8, live.judged(study, n, name, number, own)) + 1
    _key(book, sheet, 13, {"part": parts, "appraiser": people})


#: Which finding has a sheet, the role of its readings, and what writes it.
_SHEETS: dict[type, tuple[str, Any]] = {
    CrossedStudy: ("crossed", _crossed),
    BiasStudy: ("reference", _masters),
    DriftStudy: ("drift", _drift),
    NestedStudy: ("nested", _nested),
    AgreementStudy: ("paired", _pairs),
}
