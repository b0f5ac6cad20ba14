"""Where the tables of a file are: its sheets, its blocks, and the header of each."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.files import content
from linestudy.records.formats.delimited import decoded
from linestudy.records.formats.floor_sheet import is_page_of_text
from linestudy.records.formats.lines.named_values import PAIRS, pairs_in
from linestudy.records.formats.lines.plain_columns import BLANKS, count_text_columns, lines_above
from linestudy.records.formats.stacked_tables import (
    Block,
    blocks_of,
    is_number,
    labels_of,
    separate_tables,
    width,
)
from linestudy.records.formats.workbook import ENDINGS, rows_below_names, sheet_names, workbook_rows
from linestudy.records.headers import DELIMITERS, rows_of_lines
from linestudy.records.infer.notices.heads import (
    FEWEST,
    LOOKED_AT,
    header_row,
    rows_of_header,
    said_above,
    usual_width,
)
from linestudy.records.infer.number_marks import numeric
from linestudy.records.infer.words import says
from linestudy.records.rows.limits import limits_in_pairs, limits_over
from linestudy.records.rows.totals import is_total
from linestudy.records.written.encodings import encoding_of
from linestudy.results import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from linestudy.study.model import BlockTag, Data


@dataclass(frozen=True)
class TablePlace:
    """One table of a file: how it is read, and what says so.

    Attributes
    ----------
    data : linestudy.study.model.Data
        With the settings found.
    keys : tuple of (str, object, str)
        Keys of study.toml with their values and evidence.
    title : str
        Sheet or block, empty where the file is one table.
    limits : dict of str to float
        Nominal and limits, or the known value of a master, given above it.
    open : tuple of str
        What a person has to look at.
    by_column : dict of str to dict
        Nominal, lower limit and their kin → column → cell, where rows above the header say so.
    about, unit : str
        The characteristic that the table is of and its unit, where lines above it say so.
    """

    data: Data
    keys: tuple[tuple[str, object, str], ...]
    title: str = ""
    limits: dict[str, float] = field(default_factory=dict)
    open: tuple[str, ...] = ()
    by_column: dict[str, dict[str, str]] = field(default_factory=dict)
    about: str = ""
    unit: str = ""


def table_places(path: Path, data: Data) -> list[TablePlace]:
    """Find the tables of a file.

    Parameters
    ----------
    path : pathlib.Path
    data : linestudy.study.model.Data
        Names the file; nothing else is known of it.

    Returns
    -------
    list of TablePlace
        One for each sheet and block that looks like a table; at least one.

    Raises
    ------
    InputError
        The file cannot be read.
    """
    raw, suffix = content(path, data)
    if suffix in ENDINGS:
        return _of_workbook(raw, data, suffix)
    if suffix in (".parquet", ".feather", ".qif", ".xml", ".json", ".jsonl", ".ndjson"):
        return [TablePlace(data, ())]
    keys: list[tuple[str, object, str]] = []
    encoding = encoding_of(raw)
    if encoding != "utf-8-sig":
        keys.append(("encoding", encoding, _why(encoding)))
    text = decoded(raw, data)
    if is_page_of_text(text):
        raise InputError(
            data.file,
            "is one page of a floor sheet, saved as text; which part and whose reading a row is stands in the plan that stayed behind",
            "save the workbook as xlsx, or copy the readings into the floor sheet",
        )
    lines = text.split("\n", LOOKED_AT)[:LOOKED_AT]
    mark, fields = _delimiter(lines)
    pairs = pairs_in(lines)
    if pairs:
        said = f"each value stands behind its name: {', '.join(pairs[:8])}"
        own = data.model_copy(update={"delimiter": PAIRS})
        return [TablePlace(own, (*keys, ("delimiter", PAIRS, said)))]
    columns = count_text_columns(lines) if mark in (None, ",") else 0
    filled = [line for line in lines if line.strip()]
    seldom = sum("," in line for line in filled) < 0.5 * len(filled)
    if columns and (
        mark is None or seldom or not any("," in each for each in _header_words(lines))
    ):
        evidence = f"{columns} columns stand below each other, with blanks between"
        own = data.model_copy(update={"delimiter": BLANKS})
        above = [re.split(r"\s*[:=]\s+|\s{2,}", line.strip()) for line in lines_above(lines)]
        about, unit = said_above(above)
        return [
            TablePlace(
                own,
                (*keys, ("delimiter", BLANKS, evidence)),
                limits=limits_in_pairs(above),
                about=about,
                unit=unit,
            )
        ]
    if mark is not None:
        sentence = f"gives {fields} fields in most of the first {len(lines)} lines"
        keys.append(("delimiter", mark, sentence))
    whole = decoded(raw, data).split("\n") if len(raw) < 2_000_000 else lines
    rows = rows_of_lines(whole, mark or ",")
    base = data.model_copy(update={"delimiter": mark})
    places, cells = [at for at, _ in rows], [each for _, each in rows]
    apart = []
    if mark is not None and whole is not lines and places == list(range(len(rows))):
        # Rows of a range are counted as lines, which they are as long as no cell runs over several.
        parts = [
            (part, place) for part in _tables_of(cells, base, keys) for place in _of_rows(*part)
        ]
        apart = [
            replace(place, title=place.title or part[1].cells or "")
            for part, place in parts
            if _is_table(part[0], place)
        ]
    return apart or _of_rows(cells, base, keys, places=places)


def _header_words(lines: list[str]) -> list[str]:
    """Collect the words of lines without a number, where the header is."""
    return [word for line in lines if not re.search(r"\d[.,]\d", line) for word in line.split()]


def _why(encoding: str) -> str:
    if encoding.startswith("utf"):
        return "byte-order mark or zero bytes"
    if encoding in (
        "cp932",
        "euc_jp",
        "cp949",
        "gb18030",
        "big5",
        "cp1250",
        "cp1251",
        "cp1254",
        "koi8-r",
        "cp850",
    ):
        return "its bytes are everyday characters of it, and no UTF-8"
    return "its bytes are no UTF-8"


def _of_workbook(raw: bytes, data: Data, suffix: str) -> list[TablePlace]:
    names = sheet_names(raw, data, suffix)
    found: list[TablePlace] = []
    together = _sheets_of_levels(raw, data, suffix, names)
    if together is not None:
        return [together]
    for name in names:
        own = data.model_copy(update={"sheet": name})
        sheet = workbook_rows(raw, own, suffix)
        keys: list[tuple[str, object, str]] = []
        if len(names) > 1:
            keys.append(("sheet", name, f"one of {len(names)} sheets: {', '.join(names[:8])}"))
        for part in _tables_of(sheet.rows, own, keys) or [(sheet.rows, own, keys, None)]:
            for place in _of_rows(*part):
                if _is_table(part[0], place):
                    title = place.title or (part[1].cells or "")
                    both = ", ".join(filter(None, [name if len(names) > 1 else "", title]))
                    found.append(replace(place, title=both))
    return found or [TablePlace(data, ())]


#: Rows, how they are read, keys found so far, and the rows' places in the file.
_Part = tuple[list[list[str]], "Data", "list[tuple[str, object, str]]", "list[int] | None"]


def _tables_of(
    rows: list[list[str]], data: Data, keys: list[tuple[str, object, str]]
) -> list[_Part]:
    """Find untitled tables of a sheet, each with its range of cells; none where it is one table."""
    from openpyxl.utils import get_column_letter

    at = header_row(rows)
    first = next((cell for cell in rows[at] if cell.strip()), "")
    apart = (
        separate_tables(rows, at)
        if rows_of_header(rows, at) == 1 and len(blocks_of(rows)) < 2
        else []
    )
    if says(first, "part") and len({top for top, *_ in apart}) == 1:
        # One part after the other beside itself: the blocks of a gauge study, which belong together.
        return []
    found: list[_Part] = []
    for top, left, bottom, right in apart:
        cells = f"{get_column_letter(left + 1)}{top + 1}:{get_column_letter(right + 1)}{bottom + 1}"
        own = [*keys, ("cells", cells, f"one of {len(apart)} tables that stand apart in the sheet")]
        inner = [row[left : right + 1] for row in rows[top : bottom + 1]]
        changed = data.model_copy(update={"cells": cells})
        found.append((inner, changed, own, list(range(top, bottom + 1))))
    return found


def _sheets_of_levels(raw: bytes, data: Data, suffix: str, names: list[str]) -> TablePlace | None:
    """Join sheets with the same columns that are one study, each another appraiser, trial or station."""
    if not 2 <= len(names) <= 40:
        return None
    sheets = []
    for name in names:
        sheet = workbook_rows(raw, data.model_copy(update={"sheet": name}), suffix)
        if len(blocks_of(sheet.rows)) > 1:
            return None
        sheets.append((sheet, header_row(sheet.rows)))
    rows = [row for _, row in rows_below_names(sheets)]
    blocks = blocks_of(rows)
    level = _level_of(rows, blocks) if len(blocks) == len(names) else None
    if level is None:
        return None
    evidence = f"{len(names)} sheets with the same columns, {level[1]}: {', '.join(names[:6])}"
    changes: dict[str, object] = {"blocks": level[0]}
    keys: list[tuple[str, object, str]] = [("blocks", level[0], evidence)]
    return TablePlace(data.model_copy(update=changes), tuple(keys))


def _is_table(rows: list[list[str]], place: TablePlace) -> bool:
    """Check whether a place is a table; a cover sheet has no row of numbers, a summary only averages."""
    filled = [row for row in rows if width(row)]
    sums = sum(is_total(next(c for c in row if c.strip())) for row in filled)
    if sums >= (0.6 if len(filled) >= 3 else 1.0) * max(len(filled), 1):
        # Averages and indices alone.
        return False
    return any(sum(is_number(cell) for cell in row) >= 1 and width(row) >= 2 for row in rows)


def _of_rows(
    rows: list[list[str]],
    data: Data,
    keys: list[tuple[str, object, str]],
    places: list[int] | None = None,
) -> list[TablePlace]:
    blocks = blocks_of(rows)
    changes: dict[str, object]
    if len(blocks) > 1:
        titles = ", ".join(block.title for block in blocks[:6])
        level = _level_of(rows, blocks)
        if level is not None:
            tag, why = level
            evidence = f"{len(blocks)} blocks below each other, {why}: {titles}"
            own = [*keys, ("blocks", tag, evidence)]
            changes = {"blocks": tag}
            deep = rows_of_header(rows[blocks[0].head : blocks[0].end], 0)
            if deep > 1:
                changes["header_rows"] = deep
                said = _rows_over(*rows[blocks[0].head : blocks[0].head + 2])
                own.append(("header_rows", deep, said))
            return [TablePlace(data.model_copy(update=changes), tuple(own))]
        found = []
        for title, begin, end in [(each.title, each.head, each.end) for each in blocks]:
            own = [
                *keys,
                ("block", title, f"one of {len(blocks)} blocks below each other: {titles}"),
            ]
            deep = rows_of_header(rows[begin:end], 0)
            changes = {"block": title, **({"header_rows": deep} if deep > 1 else {})}
            if deep > 1:
                own.append(("header_rows", deep, _rows_over(rows[begin], rows[begin + 1])))
            found.append(TablePlace(data.model_copy(update=changes), tuple(own), title))
        return found
    at = header_row(rows)
    # Rows of a text may run over several lines, and lines are what a person counts.
    line = (places[at] if places else at) + 1
    settings: dict[str, object] = {"header_row": line}
    own = list(keys)
    if _has_no_names(rows, at):
        settings["header_rows"] = 0
        own.append(
            (
                "header_rows",
                0,
                "its first row holds readings as the others do, so columns are called by their places",
            )
        )
    elif at:
        sentence = f"the first line that names most of the {usual_width(rows)} columns"
        own.append(("header_row", line, sentence))
    deep = rows_of_header(rows, at)
    if settings.get("header_rows") != 0 and deep > 1:
        settings["header_rows"] = deep
        own.append(("header_rows", deep, _rows_over(rows[at], rows[at + 1])))
    by_column = limits_over(rows[:at], rows[at])
    above = {} if by_column else limits_in_pairs(rows[:at])
    about, unit = said_above(rows[:at])
    lost = sum(sum(map(is_number, row)) >= max(2, width(row) / 2) for row in rows[:at])
    lost -= len(by_column)
    said = f"{lost} rows of numbers stand above line {line}, which names the columns, and are not read: where the columns change there, "
    said += "give the rows above as a file of their own"
    return [
        TablePlace(
            data.model_copy(update=settings),
            tuple(own),
            limits=above,
            by_column=by_column,
            about=about,
            unit=unit,
            open=(said,) if lost >= FEWEST else (),
        )
    ]


def _has_no_names(rows: list[list[str]], at: int) -> bool:
    """Check whether the supposed header is a row of readings like those below it."""
    top = rows[at]
    body = [row for row in rows[at + 1 : at + 30] if width(row)]
    if len(body) < FEWEST or any(len(row) != len(top) for row in body[:-1]):
        return False
    decimals = [i for i, cell in enumerate(top) if re.fullmatch(r"[-+]?\d+[.,]\d+", cell.strip())]
    return bool(decimals) and all(is_number(row[i]) for row in body[:-1] for i in decimals)


def _rows_over(upper: list[str], lower: list[str]) -> str:
    above = next((cell for cell in upper if cell.strip()), "")
    below = next((cell for cell in lower if cell.strip()), "")
    return f'"{above.strip()[:30]}" stands over "{below.strip()[:30]}" and others'


def _delimiter(lines: list[str]) -> tuple[str | None, int]:
    """Find the delimiter that most lines agree on, and how many fields it gives."""
    filled = [line for line in lines if line.strip()]
    best: tuple[int, str | None, int] = (0, None, 1)
    for mark in sorted(DELIMITERS, key=",".__eq__):
        counts = Counter(len(cells) for _, cells in rows_of_lines(filled, mark))
        if not counts:
            break
        fields, times = max(counts.items(), key=lambda item: (item[0] > 1, item[1], item[0]))
        # Where another mark splits most lines, commas are decimal marks or parts of words.
        if mark == "," and best[1] is not None and 2 * best[0] > len(filled) * best[2]:
            break
        if fields > 1 and times * fields > best[0]:
            best = (times * fields, mark, fields)
    return best[1], best[2]


#: What the titles of blocks may say, and the key that is meant.
_TAGS: tuple[BlockTag, ...] = ("appraiser", "trial", "station", "part", "coil")


def _level_of(rows: list[list[str]], blocks: list[Block]) -> tuple[BlockTag, str] | None:
    """Decide what differs between blocks with the same columns, with the evidence; None for separate tables."""
    heads = {tuple(cell.strip() for cell in rows[block.head] if cell.strip()) for block in blocks}
    if len(heads) > 1:
        return None
    common, _ = labels_of([block.title for block in blocks])
    for tag in _TAGS:
        if common and says(common, tag):
            return tag, f'their titles say "{common}"'
    shares = _alike(rows, blocks)
    return None if shares is None or common else ("appraiser", shares)


def _alike(rows: list[list[str]], blocks: list[Block]) -> str | None:
    """Describe why blocks hold readings of the same parts: equal first columns, row means that correlate."""
    bodies = [rows[block.begin : block.end] for block in blocks]
    labels = {tuple(row[0].strip() for row in body if row) for body in bodies}
    head = rows[blocks[0].head]
    if len(labels) != 1 or len(bodies[0]) < 5 or not says(head[0], "part", "number"):
        return None
    means = np.array([[_mean(row[1:]) for row in body] for body in bodies])
    if not np.isfinite(means).all() or (np.ptp(means, axis=1) == 0).any():
        return None
    together = float(np.corrcoef(means)[np.triu_indices(len(bodies), 1)].min())
    spread = np.ptp(means, axis=1).max()
    near = np.ptp(np.median(means, axis=1)) < 0.5 * spread
    return (
        f"the same parts read alike (correlation {together:.2f})"
        if together > 0.8 and near
        else None
    )


def _mean(cells: list[str]) -> float:
    import pandas as pd

    found = numeric(pd.Series([cell.strip() for cell in cells if cell.strip()], dtype="string"))
    return float(np.nanmean(found)) if np.isfinite(found).any() else float("nan")
