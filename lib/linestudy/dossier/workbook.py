"""The submission as a workbook whose formulas recompute it, for readers without Python.

Each sheet of a study holds the data it used, the kit's numbers, live formulas that compute the same
from those data, and the difference. Text from files is written as text, whatever it begins with.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.core.finding import cell_text
from linestudy.dossier import live_formulas as live
from linestudy.dossier.pdf import printable
from linestudy.gauges import (
    AgreementStudy,
    BiasStudy,
    CrossedStudy,
    DriftStudy,
    LinearityStudy,
    RepeatabilityStudy,
)
from linestudy.gauges.budget import reference_width

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation


def write_workbook(evaluation: Evaluation, out: Path) -> None:
    """Write the workbook.

    Parameters
    ----------
    evaluation : Evaluation
    out : pathlib.Path
    """
    import datetime

    import xlsxwriter

    options = {
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
        "nan_inf_to_errors": False,
    }
    book = xlsxwriter.Workbook(str(out), options)
    book.set_properties(
        {
            "title": printable(evaluation.study.head.title, 200),
            "created": datetime.datetime(2000, 1, 1),
        }
    )
    _Book(book, evaluation).write()
    book.close()


class _Book:
    """The workbook being written: formats, names already taken, sheets."""

    def __init__(self, book: Any, evaluation: Evaluation) -> None:
        self.book, self.evaluation = book, evaluation
        self.bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self.wrap = book.add_format({"text_wrap": True, "valign": "top"})
        self.taken: set[str] = set()

    def write(self) -> None:
        self._summary()
        self._run()
        for item in self.evaluation.study.characteristics:
            for path, finding in self.evaluation.findings.of(item.id, "gauges").items():
                if isinstance(finding, CrossedStudy):
                    self._crossed(item.id, path[1], finding)
                elif isinstance(finding, BiasStudy):
                    self._masters(item.id, path[1], finding)
                elif isinstance(finding, DriftStudy):
                    self._drift(item.id, path[1], finding)
            for path, finding in self.evaluation.findings.of(item.id, "agreement").items():
                if isinstance(finding, AgreementStudy):
                    self._pairs(item.id, path[1], finding)
        self._bins()
        self._ledger()

    def sheet(self, name: str) -> Any:
        """A sheet with a name that the format allows and nobody has."""
        kept = "".join(" " if c in "[]:*?/\\'" else c for c in printable(name)).strip() or "sheet"
        base = kept[:27]
        number, unique = 1, base
        while unique.lower() in self.taken or unique.lower() == "history":
            number += 1
            unique = f"{base} {number}"
        self.taken.add(unique.lower())
        return self.book.add_worksheet(unique)

    def _summary(self) -> None:
        sheet = self.sheet("Summary")
        head = self.evaluation.study.head
        sheet.set_column(0, 0, 30)
        sheet.set_column(1, 6, 22)
        sheet.write_string(0, 0, printable(head.title), self.bold)
        sheet.write_string(1, 0, "Part")
        sheet.write_string(1, 1, printable(head.part))
        sheet.write_string(2, 0, "Revision")
        sheet.write_string(2, 1, printable(head.revision))
        verdict: Any = self.evaluation.findings.get(None, "verdict")
        self._frame(sheet, 4, verdict.table())
        sheet.write_string(
            6 + len(verdict.verdicts),
            0,
            "Sheets that follow: data, live formulas, the kit's numbers and their difference.",
        )

    def _frame(self, sheet: Any, top: int, frame: Any) -> None:
        for column, name in enumerate(frame.columns):
            sheet.write_string(top, column, str(name), self.bold)
        for row, values in enumerate(frame.itertuples(index=False), start=top + 1):
            for column, value in enumerate(values):
                sheet.write_string(row, column, printable(cell_text(value)), self.wrap)

    def _checks(
        self, sheet: Any, top: int, left: int, rows: Iterator[tuple[str, str, float]]
    ) -> None:
        """Lines of: name, live formula, the kit's number, difference."""
        for column, name in enumerate(
            ("quantity", "from these data", "the kit's number", "difference")
        ):
            sheet.write_string(top, left + column, name, self.bold)
        sheet.set_column(left, left, 24)
        sheet.set_column(left + 1, left + 3, 20)
        for row, (name, formula, value) in enumerate(rows, start=top + 1):
            sheet.write_string(row, left, name)
            sheet.write_formula(row, left + 1, formula, None, value)
            sheet.write_number(row, left + 2, value)
            live, kit = _cell(row, left + 1), _cell(row, left + 2)
            sheet.write_formula(row, left + 3, f"={live}-{kit}", None, 0)

    def _run(self) -> None:
        """Every characteristic with capability: its values and what follows from them."""
        for item in self.evaluation.study.characteristics:
            finding: Any = self.evaluation.findings.get(item.id, "capability")
            values = _capability_values(self.evaluation, item.id)
            if values is None or not hasattr(finding, "Ppk"):
                continue
            sheet = self.sheet(f"{item.id} values")
            sheet.write_string(0, 0, printable(f"{item.name} ({item.unit or ''})"), self.bold)
            sheet.write_column(1, 0, values)
            data = f"A2:A{len(values) + 1}"
            self._checks(sheet, 0, 2, live.run(item, finding, data))

    def _crossed(self, key: str, gauge: str, study: CrossedStudy) -> None:
        table = self.evaluation.records.table("crossed", key, gauge)
        if table is None or not study.design["balanced"]:
            return
        sheet = self.sheet(f"{key} {gauge} crossed")
        people = (
            [str(p) for p in sorted(table["appraiser"].unique())] if "appraiser" in table else [""]
        )
        parts = sorted(table["part"].astype(str).unique())
        for column, name in enumerate(("part", "appraiser", "reading")):
            sheet.write_string(0, column, name, self.bold)
        who = table["appraiser"].astype(str) if "appraiser" in table else [""] * len(table)
        for row, (part, person, value) in enumerate(
            zip(table["part"].astype(str), who, table["value"], strict=True), start=1
        ):
            # Names become numbers of their own lists: a formula must not match wild cards.
            sheet.write_number(row, 0, parts.index(part) + 1)
            sheet.write_number(row, 1, people.index(person) + 1)
            sheet.write_number(row, 2, float(value))
        n = len(table)
        part_column, who_column, data = (f"${c}$2:${c}${n + 1}" for c in "ABC")
        means = study.layout.means()
        left, top = 4, 1
        sheet.write_string(0, left, "cell means: part down, appraiser across", self.bold)
        for i in range(len(parts)):
            sheet.write_string(top + 1 + i, left, printable(parts[i]))
            for j in range(len(people)):
                if i == 0:
                    sheet.write_string(top, left + 1 + j, printable(people[j]))
                sheet.write_formula(
                    top + 1 + i,
                    left + 1 + j,
                    f"=AVERAGEIFS({data},{part_column},{i + 1},{who_column},{j + 1})",
                    None,
                    float(means[i][j]),
                )
            across = f"{_cell(top + 1 + i, left + 1)}:{_cell(top + 1 + i, left + len(people))}"
            sheet.write_formula(top + 1 + i, left + 1 + len(people), f"=AVERAGE({across})")
        bottom = top + 1 + len(parts)
        for j in range(len(people)):
            down = f"{_cell(top + 1, left + 1 + j)}:{_cell(bottom - 1, left + 1 + j)}"
            sheet.write_formula(bottom, left + 1 + j, f"=AVERAGE({down})")
        cells = f"{_cell(top + 1, left + 1)}:{_cell(bottom - 1, left + len(people))}"
        of_parts = (
            f"{_cell(top + 1, left + 1 + len(people))}:{_cell(bottom - 1, left + 1 + len(people))}"
        )
        of_people = f"{_cell(bottom, left + 1)}:{_cell(bottom, left + len(people))}"
        self._checks(sheet, bottom + 2, left, live.crossed(study, data, cells, of_parts, of_people))

    def _columns(self, name: str, columns: dict[str, Any]) -> Any:
        """A sheet with columns of numbers under their names; the last is the first two's difference."""
        sheet = self.sheet(name)
        for at, (title, values) in enumerate(columns.items()):
            sheet.write_string(0, at, printable(title), self.bold)
            for row, value in enumerate(values, start=1):
                sheet.write_number(row, at, float(value))
        return sheet

    def _masters(self, key: str, gauge: str, study: BiasStudy) -> None:
        table = self.evaluation.records.table("reference", key, gauge)
        if table is None:
            return
        master, reading = table["reference"].tolist(), table["value"].tolist()
        sheet = self._columns(f"{key} {gauge} masters", {"master": master, "reading": reading})
        self._differences(sheet, "error", reading, master, "B{0}-A{0}")
        n = len(table)
        self._checks(sheet, 0, 4, live.bias(study, n))
        top = 8
        of = self.evaluation.findings.get
        item = self.evaluation.study.characteristic(key)
        line, one = of(key, "gauges", gauge, "linearity"), of(key, "gauges", gauge, "repeatability")
        if isinstance(line, LinearityStudy) and "reference_uncertainty" not in table:
            limits = {"lower": item.lower, "upper": item.upper}
            self._checks(sheet, top, 4, live.linearity(line, n, limits))
            top += 8
        width = reference_width(item)
        if isinstance(one, RepeatabilityStudy) and width is not None:
            self._checks(sheet, top, 4, live.repeatability(one, n, width))

    def _differences(
        self, sheet: Any, title: str, plus: list[float], minus: list[float], formula: str
    ) -> None:
        sheet.write_string(0, 2, title, self.bold)
        for row, (a, b) in enumerate(zip(plus, minus, strict=True), start=1):
            sheet.write_formula(row, 2, f"={formula.format(row + 1)}", None, float(a - b))

    def _drift(self, key: str, gauge: str, study: DriftStudy) -> None:
        table = self.evaluation.records.table("drift", key, gauge)
        if table is None or study.stretches != 1:
            return
        error = (table["value"] - table["reference"]).tolist()
        sheet = self._columns(
            f"{key} {gauge} drift", {"order": table["order"], "error on the master": error}
        )
        self._checks(sheet, 0, 4, live.drift(study, len(table)))

    def _pairs(self, key: str, pair: str, study: AgreementStudy) -> None:
        table = self.evaluation.records.table("paired", key, pair)
        if table is None:
            return
        first, second = table["first"].tolist(), table["second"].tolist()
        sheet = self._columns(f"{key} {pair}", {study.first: first, study.second: second})
        self._differences(sheet, "difference", first, second, "A{0}-B{0}")
        self._checks(sheet, 0, 4, live.agreement(study, len(table)))

    def _bins(self) -> None:
        found: Any = self.evaluation.findings.get(None, "bins")
        table = self.evaluation.records.table("bins")
        if table is None or not hasattr(found, "reject_rate"):
            return
        names = [name for name in ("accepted", "rejected", "purged") if name in table]
        sheet = self._columns("Bins", {name: table[name] for name in names})
        self._checks(sheet, 0, 4, live.bins(found, len(table)))

    def _ledger(self) -> None:
        sheet = self.sheet("Ledger")
        sheet.set_column(0, 6, 22)
        self._frame(sheet, 0, self.evaluation.records.ledger.table())


def _capability_values(evaluation: Evaluation, key: str) -> Any:
    table = evaluation.records.table("run", key)
    if table is None:
        table = evaluation.records.table("nested", key)
    if table is None:
        return None
    kept = table[~table["set_aside"]] if "set_aside" in table else table
    return kept["value"].tolist()


def _cell(row: int, column: int) -> str:
    from xlsxwriter.utility import xl_rowcol_to_cell

    return str(xl_rowcol_to_cell(row, column))
