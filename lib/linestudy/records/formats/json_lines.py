"""JSON lines, one object a row, a JSON array of objects, and a document of columns, as cells of text."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from linestudy.records.conversions import cell_as_text
from linestudy.records.formats.delimited import decoded
from linestudy.records.headers import distinct_names
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Objects within objects become columns with dots in their names.
_DEEPEST = 6


def json_cells(raw: bytes, data: Data) -> pd.DataFrame:
    """Read the objects of a file, indexed by line (by position in an array).

    Parameters
    ----------
    raw : bytes
        The file, unpacked.
    data : linestudy.study.model.Data
        Its name, encoding and the marks that its numbers are to be written with.

    Returns
    -------
    pandas.DataFrame of str
        One column for each key; ``a.b`` for the key b of an object that is under a.

    Raises
    ------
    InputError
        Not JSON, or not one object a row.
    """
    import pandas as pd

    rows = _objects(decoded(raw, data), data)
    if not rows:
        raise InputError(data.file, "holds no row", "write one object a line")
    columns: dict[str, None] = {}
    flat = []
    for line, content in rows:
        cells = dict(_flat(content, "", data, line))
        columns |= dict.fromkeys(cells)
        flat.append(cells)
    names = list(columns)
    distinct_names(names, data, rows[0][0])
    table = pd.DataFrame([[cells.get(name, "") for name in names] for cells in flat], dtype=str)
    table.columns = pd.Index(names)
    table.index = pd.Index([line for line, _ in rows])
    return table


def _objects(text: str, data: Data) -> list[tuple[int, dict[str, Any]]]:
    whole = _whole(text, data)
    if whole is not None:
        found = list(enumerate(whole, start=1))
    else:
        lines = enumerate(text.split("\n"), start=1)
        found = [(number, _parsed(line, data, number)) for number, line in lines if line.strip()]
    for number, content in found:
        if not isinstance(content, dict):
            raise InputError(
                f"{data.file} line {number}", "is no object", 'write {"part": 1, "width": 2.8}'
            )
    return found


def _whole(text: str, data: Data) -> list[Any] | None:
    """Return the rows of a document that is one array or has a single array of objects; else None."""
    if text.lstrip()[:1] == "[":
        rows: list[Any] = _parsed(text, data, 1)
        named = rows[0] if rows and isinstance(rows[0], list) else []
        return _rows_of_lists(named, rows[1:]) or rows
    first = text.lstrip().split("\n", 1)
    if text.lstrip()[:1] != "{" or (len(first) > 1 and first[0].rstrip().endswith("}")):
        return None
    document = _parsed(text, data, 1)
    arrays = [each for each in document.values() if isinstance(each, list) and len(each) > 1]
    rows_of = [each for each in arrays if all(isinstance(row, dict) for row in each)]
    return rows_of[0] if len(rows_of) == 1 else _by_columns(document) or [document]


def _by_columns(document: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the rows of a document that lists cells by column, or names and rows apart; else none."""
    named = {str(key).casefold(): value for key, value in document.items()}
    names: Any = next(
        (named[key] for key in ("columns", "header", "headers", "fields") if key in named), []
    )
    for key in ("data", "rows", "values", "records"):
        rows = _rows_of_lists(names, named.get(key)) if isinstance(names, list) else []
        if rows:
            return rows
    for inner in (document, *(each for each in document.values() if isinstance(each, dict))):
        lists = {key: each for key, each in inner.items() if isinstance(each, list)}
        plain = not any(isinstance(cell, dict | list) for each in lists.values() for cell in each)
        if len(lists) > 1 and plain and len({len(each) for each in lists.values()}) == 1:
            return [
                dict(zip(lists, cells, strict=True)) for cells in zip(*lists.values(), strict=True)
            ]
    return []


def _rows_of_lists(names: list[Any], rows: Any) -> list[dict[str, Any]]:
    """Join rows of cells with names given apart; empty where they do not fit together."""
    if not isinstance(rows, list) or not rows or not all(isinstance(name, str) for name in names):
        return []
    if len(names) < 2 or not all(isinstance(row, list) and len(row) == len(names) for row in rows):
        return []
    return [dict(zip(names, row, strict=True)) for row in rows]


def _parsed(text: str, data: Data, line: int) -> Any:
    try:
        # Numbers stay as they are written; NaN and infinities are no JSON.
        return json.loads(text, parse_float=str, parse_int=str, parse_constant=_refused)
    except (ValueError, RecursionError) as error:
        what = " ".join(str(error).split())[:80]
        raise InputError(
            f"{data.file} line {line}", f"is not JSON ({what})", "write one object a line"
        ) from None


def _refused(word: str) -> Any:
    raise ValueError(f"{word} is no JSON")


def _flat(content: dict[str, Any], under: str, data: Data, line: int, depth: int = 0) -> Any:
    if depth > _DEEPEST:
        raise InputError(f"{data.file} line {line}", "nests too deeply", "write plain rows")
    for key, value in content.items():
        name = f"{under}{key}".strip()
        if isinstance(value, dict):
            yield from _flat(value, f"{name}.", data, line, depth + 1)
        elif isinstance(value, list):
            for number, each in enumerate(value, start=1):
                inner = each if isinstance(each, dict) else {str(number): each}
                own = _named(each) or str(number)
                prefix = f"{name}.{own}." if isinstance(each, dict) else f"{name}."
                yield from _flat(inner, prefix, data, line, depth + 1)
        else:
            yield name, _cell(value, data)


def _named(each: Any) -> str:
    """Return the name an object in a list gives itself, so that its place does not matter; else empty."""
    if not isinstance(each, dict):
        return ""
    held = {str(key).casefold(): value for key, value in each.items()}
    names = ("name", "characteristic", "feature", "dimension", "merkmal")
    return next((held[key].strip() for key in names if isinstance(held.get(key), str)), "")


def _cell(value: Any, data: Data) -> str:
    from linestudy.records.conversions import as_written

    if isinstance(value, bool):
        return "true" if value else "false"
    return as_written(value, data) if isinstance(value, str) else cell_as_text(value, data)
