"""The drawing's list of characteristics, as plants keep it in a sheet: number, name, nominal, tolerance, unit, gauge."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.infer.columns import ColumnKind, kinds, numeric
from linestudy.records.infer.words import meanings, says
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

#: Entries of a column that marks special characteristics, and those that do not.
_NOT_SPECIAL = frozenset(
    [
        "",
        "0",
        "-",
        "no",
        "n",
        "nein",
        "false",
        "non",
        "否",
        "いいえ",
        "x̶",
        "standard",
        "std",
        "none",
    ]
)


@dataclass(frozen=True)
class Drawn:
    """One characteristic of a drawing.

    Attributes
    ----------
    number, name : str
        As the list has them.
    unit : str or None
    nominal, lower, upper : float or None
        In that unit.
    special : bool
    gauge : str
        Name of the gauge, empty where the list has none.
    line : int
        Line of the list.
    """

    number: str
    name: str
    unit: str | None
    nominal: float | None
    lower: float | None
    upper: float | None
    special: bool
    gauge: str
    line: int


def is_drawing(columns: list[ColumnKind]) -> bool:
    """Whether a table lists characteristics: names, and nominals with tolerances or limits of their own.

    Parameters
    ----------
    columns : list of ColumnKind

    Returns
    -------
    bool
    """
    limits = [c for c in columns if _meaning(c.name) in _LIMITS]
    names = [c for c in columns if c.kind == "words" and c.distinct > 0.6 * c.filled]
    readings = [c for c in columns if says(c.name, "value", "trial", "appraiser")]
    return len(limits) >= 2 and bool(names) and not readings


def layout_of(columns: list[ColumnKind]) -> dict[str, Any] | None:
    """Tell which columns of a list of characteristics hold what was measured of each on one or a few parts.

    Parameters
    ----------
    columns : list of ColumnKind

    Returns
    -------
    dict or None
        As key ``layout`` of study.toml wants it; None where nothing was measured, or there are no limits.
    """
    known = {
        "number": "number", "characteristic": "name", "nominal": "nominal", "lower limit": "lower", "upper limit": "upper",
        "unit": "unit", "gauge": "gauge",
    }  # fmt: skip
    found: dict[str, Any] = {}
    for column in columns:
        key = known.get(_meaning(column.name))
        if key is not None and key not in found and column.kind != "empty":
            found[key] = column.name
    if "name" not in found:
        words = next(
            (c.name for c in columns if c.kind == "words" and c.distinct > 0.6 * c.filled), None
        )
        found |= {"name": words} if words and words not in found.values() else {}
    values = [
        c.name
        for c in columns
        if c.kind in ("numbers", "words")
        and c.name not in found.values()
        and not _meaning(c.name)
        and (says(c.name, "value") or _PART_AT.fullmatch(c.name.strip()))
    ]
    values = values or [
        c.name for c in columns if says(c.name, "value") and c.name not in found.values()
    ]
    if not values or not {"lower", "upper"} & set(found) or not {"number", "name"} & set(found):
        return None
    order = ("number", "name", "nominal", "lower", "upper", "unit", "gauge")
    return {key: found[key] for key in order if key in found} | {"values": values}


#: Columns of parts side by side.
_PART_AT = re.compile(
    r"(?:part|sample|piece|teil|muster|pièce|échantillon|actual|ist|样件|样品|サンプル|cavity|nest)[\s_.#-]*\d{1,2}",
    re.IGNORECASE,
)
_LIMITS = (
    "nominal",
    "upper tolerance",
    "lower tolerance",
    "tolerance",
    "lower limit",
    "upper limit",
)


def _meaning(name: str) -> str:
    return next((each for each in meanings(name) if each in _KNOWN), "")


_KNOWN = (*_LIMITS, "unit", "special", "gauge", "number", "characteristic")


def read_drawing(path: str | Path, sheet: str | None = None) -> tuple[Drawn, ...]:
    """Read a list of characteristics.

    Parameters
    ----------
    path : str or pathlib.Path
        csv or workbook.
    sheet : str, optional
        Of a workbook; the one that looks like a list when absent.

    Returns
    -------
    tuple of Drawn
        In the order of the list.

    Raises
    ------
    InputError
        No such list in the file, or a line whose limits cannot be: with its line.
    """
    from linestudy.records.files import locate
    from linestudy.records.infer.sheets import table_places
    from linestudy.records.text_table import read_text_table
    from linestudy.study.model import Data

    file = Path(path)
    bare = Data(role="run", file=file.name, columns={"x": "x"}).model_copy(update={"columns": {}})
    found = locate(file.parent, file.name)
    for place in table_places(found, bare):
        if sheet is not None and place.data.sheet not in (None, sheet):
            continue
        table = read_text_table(found, place.data)
        if len(table.cells) and is_drawing(kinds(table)):
            return _lines(table.cells, table.units, file.name)
    raise InputError(
        file.name,
        "has no list of characteristics",
        "its columns are to be called name, nominal, and upper and lower tolerance or limits",
    )


def _lines(cells: pd.DataFrame, units: dict[str, str], file: str) -> tuple[Drawn, ...]:
    by_meaning: dict[str, str] = {}
    for column in cells:
        meaning = _meaning(str(column))
        if meaning and meaning not in by_meaning:
            by_meaning[meaning] = str(column)
    name = by_meaning.get("characteristic") or _name_column(cells, set(by_meaning.values()))
    numbers = {
        m: numeric(cells[c].str.strip())
        for m, c in by_meaning.items()
        if m in _LIMITS and m != "tolerance"
    }
    rows = []
    for at in range(len(cells)):
        line = int(cells.index[at])

        def cell(meaning: str, at: int = at) -> str:
            column = by_meaning.get(meaning)
            return str(cells[column].iloc[at]).strip() if column else ""

        def number(meaning: str, at: int = at) -> float | None:
            found = float(numbers[meaning][at]) if meaning in numbers else math.nan
            return found if math.isfinite(found) else None

        title = str(cells[name].iloc[at]).strip() if name else ""
        if not title and number("nominal") is None:
            continue
        nominal = number("nominal")
        lower, upper = _limits(
            nominal,
            (number("lower limit"), number("upper limit")),
            (number("lower tolerance"), number("upper tolerance")),
            cell("tolerance"),
        )
        if lower is not None and upper is not None and lower >= upper:
            raise InputError(
                f"{file} line {line}",
                f'"{title}" has its lower limit at or above the upper',
                "mend the list",
            )
        unit = (
            cell("unit") or next((u for u in map(units.get, by_meaning.values()) if u), "") or None
        )
        special = "special" in by_meaning and cell("special").casefold() not in _NOT_SPECIAL
        rows.append(
            Drawn(
                cell("number"),
                title or cell("number"),
                unit,
                nominal,
                lower,
                upper,
                special,
                cell("gauge"),
                line,
            )
        )
    if not rows:
        raise InputError(file, "lists no characteristic", "name each in a row of its own")
    return tuple(rows)


def _name_column(cells: pd.DataFrame, taken: set[str]) -> str | None:
    """The column of words that differ from row to row."""
    for column in cells:
        text = cells[column].str.strip()
        words = np.isnan(numeric(text)) & (text != "").to_numpy(dtype=bool)
        if str(column) not in taken and words.mean() > 0.5:
            return str(column)
    return None


def _limits(
    nominal: float | None,
    limits: tuple[float | None, float | None],
    deviations: tuple[float | None, float | None],
    tolerance: str,
) -> tuple[float | None, float | None]:
    """Limits as they stand, or the nominal and what may be beside it."""
    if any(each is not None for each in limits):
        lower, upper = limits
        if lower is None or upper is None or not nominal:
            return limits
        # "Min" and "Max" that hold deviations: on either side of nought, and below the nominal.
        if lower <= 0 <= upper < nominal:
            return _sum(nominal, lower), _sum(nominal, upper)
        return limits
    if nominal is None:
        return None, None
    below, above = deviations
    if below is not None or above is not None:
        if below is not None and below > 0 and (above is None or above >= 0):
            # "minus 0.05" is written without its sign.
            below = -below
        return _sum(nominal, below), _sum(nominal, above)
    return _from_text(nominal, tolerance)


def _sum(nominal: float, deviation: float | None) -> float | None:
    # As decimals are added by hand: 6.3 and 0.05 make 6.35.
    return None if deviation is None else float(f"{nominal + deviation:.12g}")


_SIGNED = re.compile(r"([+\-−±])\s*(\d+(?:[.,]\d+)?)")


def _from_text(nominal: float, tolerance: str) -> tuple[float | None, float | None]:
    """ "±0.05", "0.05", "+0.1/-0.05" or "+0.1 0"."""
    text = tolerance.strip().replace("+/-", "±")
    if not text:
        return None, None
    signed = [(sign, float(number.replace(",", "."))) for sign, number in _SIGNED.findall(text)]
    if not signed:
        found = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*[A-Za-zµ]*", text)
        if found is None:
            return None, None
        signed = [("±", float(found[1].replace(",", ".")))]
    if signed[0][0] == "±":
        return _sum(nominal, -signed[0][1]), _sum(nominal, signed[0][1])
    deviations = [number if sign == "+" else -number for sign, number in signed]
    if len(deviations) == 1 and re.search(r"(?:^|[/\s])0(?:[.,]0*)?(?:$|[/\s])", text):
        deviations.append(0.0)
    if len(deviations) < 2:
        return None, None
    return _sum(nominal, min(deviations)), _sum(nominal, max(deviations))
