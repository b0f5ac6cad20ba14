"""The submission as a workbook whose formulas recompute it, for readers without Python.

The first sheet holds the results as numbers and links to all others. Every kind of study has one sheet, its studies
side by side: the data each used, the reported numbers, live formulas that compute the same from those data, and the difference.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content.contents import rows_of_files
from linestudy.dossier.content.report.back import layout
from linestudy.dossier.content.sheet import Sheet, sheets
from linestudy.dossier.forms import gauge_sheets
from linestudy.dossier.forms import live_formulas as live
from linestudy.dossier.forms.book import Book
from linestudy.dossier.forms.printable_text import printable
from linestudy.results.tables import names_as_given

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.model import Characteristic


def write_workbook(evaluation: Evaluation, out: Path) -> None:
    """Write the workbook.

    Parameters
    ----------
    evaluation : Evaluation
    out : pathlib.Path
    """
    with names_as_given(evaluation.names()), Book(out, evaluation.study.head.title) as book:
        known = sheets(evaluation)
        first = book.sheet("Results")
        row = _results(book, first, evaluation, known)
        _runs(book, evaluation)
        gauge_sheets.write(book, evaluation)
        _bins(book, evaluation)
        _dimensions(book, evaluation)
        _record(book, evaluation)
        book.index(first, row)
        _drawn(book, first, len(known), row)


#: A format with the decimals of the text.
_AS_PRINTED = "as printed"
#: Column of the results, the field of a sheet it shows, and its format; text where there is none.
_COLUMNS = (
    ("no.", "number", ""),
    ("characteristic", "name", ""),
    ("limits", "limits", ""),
    ("unit", "unit", ""),
    ("n", "n", "#,##0"),
    ("mean", "mean", _AS_PRINTED),
    ("SD", "sd", _AS_PRINTED),
    ("Pp (all values)", "Pp", "0.00"),
    ("Ppk that decides", "Ppk", "0.00"),
    ("lower {confidence} bound", "bound", "0.00"),
    ("worst stream", "stream", ""),
    ("expected outside (ppm)", "ppm", _AS_PRINTED),
    ("%GRR (%)", "grr", "0.0"),
    ("ndc", "ndc", "0"),
    ("points out of control (false alarms expected)", "control", ""),
    ("distribution", "distribution", ""),
    ("decision", "decision", ""),
    ("reason", "reason", ""),
)


#: Row of the table's head, counted from nought.
_TOP = 6
#: First and last column of a width, and the width in letters.
_WIDTHS = ((0, 0, 38), (1, 2, 22), (3, 14, 11), (15, 16, 26), (17, 17, 60))


def _height(cells: Iterable[str | None]) -> float:
    """Return the height in points of a row whose cells wrap; not every program works it out when it opens the file."""
    wide = {column: width for first, last, width in _WIDTHS for column in range(first, last + 1)}
    lines = [len(wrap(text or "", wide[column] - 1)) for column, text in enumerate(cells)]
    return 15.0 * max(1, *lines)


def _results(book: Book, sheet: Any, evaluation: Evaluation, known: tuple[Sheet, ...]) -> int:
    """Write one row for each characteristic, numbers with formats; return the row where the index begins."""
    head = evaluation.study.head
    sheet.freeze_panes(0, 0)
    for first, last, width in _WIDTHS:
        sheet.set_column(first, last, width)
    # On paper two pages side by side, names on both: on one the lettering would be too small.
    sheet.fit_to_pages(2, 0)
    sheet.repeat_columns(0, 1)
    sheet.write_string(0, 0, printable(head.title), book.title)
    for row, (name, value) in enumerate(
        (
            ("Part", head.part),
            ("Revision", head.known_revision),
            ("Supplier", head.supplier),
            ("Date", head.date),
        ),
        start=1,
    ):
        sheet.write_string(row, 0, name)
        sheet.write_string(row, 1, printable(value) if value else "")
    top = _TOP
    titles = [title.format(confidence=known[0].confidence) for title, _, _ in _COLUMNS]
    sheet.set_row(top, _height(titles))
    for column, title in enumerate(titles):
        sheet.write_string(top, column, title, book.bold)
    for row, one in enumerate(known, start=top + 1):
        sheet.set_row(row, _height([getattr(one, field) for _, field, _ in _COLUMNS]))
        for column, (_, field, shown) in enumerate(_COLUMNS):
            text = getattr(one, field)
            number = _as_number(text) if shown else None
            if number is None:
                sheet.write_string(row, column, printable(text) if text else "", book.wrap)
            else:
                decimals = len(text.partition(".")[2])
                if shown == _AS_PRINTED:
                    shown = f"#,##0.{'0' * decimals}".rstrip(".")
                sheet.write_number(row, column, number, book.number_format(shown))
    below = top + 2 + len(known)
    sheet.write_string(
        below,
        0,
        "Let the spreadsheet compute once before trusting a difference of nought: some show stored results "
        "until told to (LibreOffice: Ctrl+Shift+F9).",
    )
    return below + 2


def _drawn(book: Book, sheet: Any, rows: int, top: int) -> None:
    """Draw the index of each characteristic with its lower bound, as bars."""
    first, last = _TOP + 1, _TOP + rows
    column = {field: at for at, (_, field, _) in enumerate(_COLUMNS)}
    names = ["Results", first, column["name"], last, column["name"]]
    series = [
        {
            "name": title,
            "categories": names,
            "values": ["Results", first, column[field], last, column[field]],
            "fill": {"color": color},
            "border": {"color": "#2b2b33", "width": 0.5},
        }
        for title, field, color in (
            ("index that decides", "Ppk", "#3b2f63"),
            ("its lower confidence bound", "bound", "#d9cfa8"),
        )
    ]
    book.bars(sheet, f"E{top + 2}", series, "index")


def _as_number(text: str) -> float | None:
    """Read a printed number; return None for a dash or a bound."""
    try:
        return float(text.replace(",", "").replace("−", "-"))
    except ValueError:
        return None


def _runs(book: Book, evaluation: Evaluation) -> None:
    """Write every characteristic with capability, and every short run: values and what follows."""
    for item in evaluation.study.characteristics:
        title = f"{item.name} ({item.unit or ''})"
        found: Any = evaluation.findings.get(item.id, "capability")
        table = _kept(evaluation, item.id, "run", "nested")
        if table is not None and hasattr(found, "Ppk"):
            sheet = book.columns(
                f"{item.name} values", {title: table["value"]}, "Values", "values, capability"
            )
            data = f"A2:A{len(table) + 1}"
            row = book.checks(sheet, 0, 4, live.run(item, found, data))
            if found.method != "normal" and found.fitted is not None:
                quantiles = [float(found.fitted.ppf(share)) for share in (0.00135, 0.5, 0.99865)]
                row = book.checks(sheet, row + 1, 4, live.by_quantiles(item, found, quantiles))
            row = _by_stream(book, sheet, item, table, row)
            chart = evaluation.findings.get(item.id, "stability")
            # Pooled from subgroups; that of single values rests on moving ranges.
            pooled = getattr(chart, "chart", "") == "mean and standard deviation"
            if pooled and isinstance(found.sd_within, float):
                _subgroups(book, sheet, table)
                book.checks(sheet, row + 1, 4, live.within(item, found, len(table)))
        found = evaluation.findings.get(item.id, "capability", "machine")
        table = _kept(evaluation, item.id, "machine")
        if table is not None and hasattr(found, "Pmk"):
            sheet = book.columns(
                f"{item.name} short run",
                {title: table["value"]},
                "Short runs",
                "values of the short run",
            )
            book.checks(sheet, 0, 4, live.machine(item, found, f"A2:A{len(table) + 1}"))


#: More streams than this have no formulas of their own.
_MOST_STREAMS = 12


def _by_stream(book: Book, sheet: Any, item: Characteristic, table: pd.DataFrame, row: int) -> int:
    """Write the number of each value's stream in a column, and each stream's results."""
    import pandas as pd

    if "station" not in table or table["station"].isna().any():
        return row
    codes, names = pd.factorize(table["station"].astype(str), sort=True)
    sizes = table.groupby(codes)["value"].agg(["size", "mean", "std"])
    if not 2 <= len(names) <= _MOST_STREAMS or not bool((sizes["std"] > 0).all()):
        return row
    sheet.write_string(0, 3, "stream", book.bold)
    for at, code in enumerate(codes.tolist(), start=1):
        sheet.write_number(at, 3, code + 1)
    known = {
        str(name): (int(sizes["size"][k]), float(sizes["mean"][k]), float(sizes["std"][k]))
        for k, name in enumerate(names)
    }
    n = len(table) + 1
    return book.checks(
        sheet, row + 1, 4, live.by_stream(item, known, f"$A$2:$A${n}", f"$D$2:$D${n}")
    )


def _subgroups(book: Book, sheet: Any, table: pd.DataFrame) -> None:
    """Write the number of the subgroup and its mean beside each value that is in one."""
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
    """Return the rows, not set aside, of the first role that has any."""
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
    sheet = book.columns("Bins", {name: table[name] for name in names}, "Bins", "counts by period")
    book.checks(sheet, 0, 4, live.bins(found, len(table)))


def _dimensions(book: Book, evaluation: Evaluation) -> None:
    """Write each dimension of the layout with its readings and a formula counting those beyond a limit."""
    study = layout(evaluation)
    if study is None:
        return
    found = study.dimensions
    sheet = book.sheet("Dimensional results")
    book.listed(sheet, "every dimension of the drawing")
    most = max(len(one.values or one.words) for one in found)
    head = ["no.", "characteristic", "nominal", "lower limit", "upper limit", "unit", "gauge"]
    head += [f"reading {number}" for number in range(1, most + 1)]
    sheet.set_column(0, 0, 8)
    sheet.set_column(1, 1, 28)
    sheet.set_column(2, len(head) + 1, 13)
    for column, name in enumerate((*head, "result", "readings outside")):
        sheet.write_string(0, column, name, book.bold)
    for row, one in enumerate(found, start=1):
        for column, text in ((0, one.number), (1, one.name), (5, one.unit), (6, one.gauge)):
            sheet.write_string(row, column, printable(text) if text else "")
        numbers = enumerate((one.nominal, one.lower, one.upper), start=2)
        for column, value in (*numbers, *enumerate(one.values, start=7)):
            if value is not None:
                sheet.write_number(row, column, value, book.number_format("General"))
        for column, word in enumerate(one.words, start=7):
            sheet.write_string(row, column, printable(word))
        sheet.write_string(row, 7 + most, one.result)
        if one.values:
            formula = live.outside_of(row + 1, most, one.lower is not None, one.upper is not None)
            sheet.write_formula(row, 8 + most, formula, None, one.outside)


def _record(book: Book, evaluation: Evaluation) -> None:
    """Write the data record as the document shows it."""
    table = rows_of_files(evaluation)
    sheet = book.sheet("Data record")
    book.listed(sheet, "rows read, used and excluded")
    sheet.set_column(0, 5, 24)
    for column, name in enumerate(table.head):
        sheet.write_string(0, column, name, book.bold)
    for row, cells in enumerate(table.rows, start=1):
        for column, text in enumerate(cells):
            number = _as_number(text) if table.numeric[column] else None
            if number is None:
                sheet.write_string(row, column, printable(text) if text else "", book.wrap)
            else:
                sheet.write_number(row, column, number, book.number_format("#,##0"))
