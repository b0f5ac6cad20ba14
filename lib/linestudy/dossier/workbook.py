"""The submission as a workbook whose formulas recompute it, for readers without Python.

Each sheet of a study holds the data it used, the kit's numbers, live formulas that compute the same
from those data, and the difference.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier import gauge_sheets
from linestudy.dossier import live_formulas as live
from linestudy.dossier.book import Book
from linestudy.dossier.pdf import printable

if TYPE_CHECKING:
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
    book.frame(sheet, 4, verdict.table())
    sheet.write_string(
        6 + len(verdict.verdicts),
        0,
        "Sheets that follow: data, live formulas, the kit's numbers and their difference.",
    )


def _runs(book: Book, evaluation: Evaluation) -> None:
    """Every characteristic with capability, and every short run: values and what follows."""
    for item in evaluation.study.characteristics:
        title = f"{item.name} ({item.unit or ''})"
        for place, role, name in (
            (("capability",), "", "values"),
            (("capability", "machine"), "machine", "machine"),
        ):
            finding: Any = evaluation.findings.get(item.id, *place)
            values = _values(evaluation, item.id, role)
            if values is None or not (hasattr(finding, "Ppk") or hasattr(finding, "Pmk")):
                continue
            sheet = book.columns(f"{item.id} {name}", {title: values})
            data = f"A2:A{len(values) + 1}"
            lines = live.machine(item, finding, data) if role else live.run(item, finding, data)
            book.checks(sheet, 0, 2, lines)


def _values(evaluation: Evaluation, key: str, role: str) -> Any:
    """Values of a role that are not set aside; without a role, those capability looked at."""
    found = (
        evaluation.records.table(name, key) for name in ((role,) if role else ("run", "nested"))
    )
    table = next((table for table in found if table is not None), None)
    if table is None:
        return None
    kept = table[~table["set_aside"]] if "set_aside" in table else table
    return kept["value"].tolist()


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
    book.frame(sheet, 0, evaluation.records.ledger.table())
