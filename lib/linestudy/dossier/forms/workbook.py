"""The submission as a workbook whose formulas recompute it, for readers without Python.

Each sheet of a study holds the data it used, the kit's numbers, live formulas that compute the same
from those data, and the difference.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier.forms import gauge_sheets
from linestudy.dossier.forms import live_formulas as live
from linestudy.dossier.forms.book import Book
from linestudy.dossier.forms.pdf import printable

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.dossier.evaluation import Evaluation


def write_workbook(evaluation: Evaluation, out: Path) -> None:
    """Write the workbook.

    Parameters
    ----------
    evaluation : Evaluation
    out : pathlib.Path
    """
    with Book(out, evaluation.study.head.title) as book:
        _summary(book, evaluation)
        _runs(book, evaluation)
        gauge_sheets.write(book, evaluation)
        _bins(book, evaluation)
        _ledger(book, evaluation)


def _summary(book: Book, evaluation: Evaluation) -> None:
    sheet = book.sheet("Summary")
    head = evaluation.study.head
    sheet.set_column(0, 0, 30)
    sheet.set_column(1, 6, 22)
    sheet.write_string(0, 0, printable(head.title), book.bold)
    sheet.write_string(1, 0, "Part")
    sheet.write_string(1, 1, printable(head.part))
    sheet.write_string(2, 0, "Revision")
    sheet.write_string(2, 1, printable(head.revision))
    verdict: Any = evaluation.findings.get(None, "verdict")
    book.frame(sheet, 4, verdict.shown())
    sheet.write_string(
        6 + len(verdict.verdicts),
        0,
        "Sheets that follow: data, live formulas, the kit's numbers and their difference.",
    )
    sheet.write_string(
        7 + len(verdict.verdicts),
        0,
        "Let the spreadsheet compute once before trusting a difference of nought: some show stored results "
        "until told to (LibreOffice: Ctrl+Shift+F9).",
    )


def _runs(book: Book, evaluation: Evaluation) -> None:
    """Every characteristic with capability, and every short run: values and what follows."""
    for item in evaluation.study.characteristics:
        title = f"{item.name} ({item.unit or ''})"
        found: Any = evaluation.findings.get(item.id, "capability")
        table = _kept(evaluation, item.id, "run", "nested")
        if table is not None and hasattr(found, "Ppk"):
            sheet = book.columns(f"{item.id} values", {title: table["value"]})
            data = f"A2:A{len(table) + 1}"
            row = book.checks(sheet, 0, 4, live.run(item, found, data))
            chart = evaluation.findings.get(item.id, "stability")
            # Pooled from subgroups; that of single values rests on moving ranges.
            pooled = getattr(chart, "chart", "") == "mean and standard deviation"
            if pooled and isinstance(found.sd_within, float):
                _subgroups(book, sheet, table)
                book.checks(sheet, row + 1, 4, live.within(item, found, len(table)))
        found = evaluation.findings.get(item.id, "capability", "machine")
        table = _kept(evaluation, item.id, "machine")
        if table is not None and hasattr(found, "Pmk"):
            sheet = book.columns(f"{item.id} machine", {title: table["value"]})
            book.checks(sheet, 0, 4, live.machine(item, found, f"A2:A{len(table) + 1}"))


def _subgroups(book: Book, sheet: Any, table: pd.DataFrame) -> None:
    """Beside each value that is in a subgroup the number of the subgroup and its mean."""
    import pandas as pd

    codes = pd.factorize(table["subgroup"])[0] + 1
    means = table["value"].groupby(codes).transform("mean").tolist()
    sheet.write_string(0, 1, "subgroup", book.bold)
    sheet.write_string(0, 2, "its mean", book.bold)
    sheet.set_column(1, 2, 16)
    n = len(table)
    for row, (code, mean) in enumerate(zip(codes.tolist(), means, strict=True), start=1):
        if code:
            formula = live.mean_of_group("A", ("B",), n).format(row + 1)
            sheet.write_number(row, 1, code)
            sheet.write_formula(row, 2, f"={formula}", None, float(mean))


def _kept(evaluation: Evaluation, key: str, *roles: str) -> pd.DataFrame | None:
    """Rows of the first role there is that are not set aside."""
    found = (evaluation.records.table(role, key) for role in roles)
    table = next((table for table in found if table is not None), None)
    if table is None or "set_aside" not in table:
        return table
    return table[~table["set_aside"]]


def _bins(book: Book, evaluation: Evaluation) -> None:
    found: Any = evaluation.findings.get(None, "bins")
    table = evaluation.records.table("bins")
    if table is None or not hasattr(found, "reject_rate"):
        return
    names = [name for name in ("accepted", "rejected", "purged") if name in table]
    sheet = book.columns("Bins", {name: table[name] for name in names})
    book.checks(sheet, 0, 4, live.bins(found, len(table)))


def _ledger(book: Book, evaluation: Evaluation) -> None:
    sheet = book.sheet("Ledger")
    sheet.set_column(0, 6, 22)
    book.frame(sheet, 0, evaluation.records.ledger.shown())
