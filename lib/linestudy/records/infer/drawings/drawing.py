"""The drawing's list of characteristics, as plants keep it in a sheet: number, name, nominal, tolerance, unit, gauge."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.across.dimensions import limits_around
from linestudy.records.across.specs import around, limits_from, says_most, says_zone, spec_of
from linestudy.records.headers import names_within
from linestudy.records.infer.column_kinds import ColumnKind, kinds
from linestudy.records.infer.drawings.list_columns import name_column, size_column
from linestudy.records.infer.number_marks import numeric
from linestudy.records.infer.words import meanings, named_alone, plain_name, says
from linestudy.records.units import is_unit
from linestudy.results import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from linestudy.records.infer.guesses import Guess
    from linestudy.records.text_table import TextTable

#: Entries of a column that marks special characteristics, and those that do not.
_NOT_SPECIAL = frozenset(["", "0", "-", "no", "n", "nein", "false", "non", "否", "いいえ", "x̶", "standard", "std", "none"])  # fmt: skip


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
    remark : str
        What a person should look at.
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
    remark: str = ""


def is_drawing(columns: list[ColumnKind], cells: pd.DataFrame) -> bool:
    """Check whether a table lists characteristics: names, and nominals with own tolerances or limits.

    Parameters
    ----------
    columns : list of ColumnKind
    cells : pandas.DataFrame of str
        The table itself.

    Returns
    -------
    bool
    """
    limits = [c for c in columns if _meaning(c.name) in _LIMITS]
    specs = _spec_columns(cells)
    # "2.801 ± 0.002" in row after row is a reading with its uncertainty, and names nothing.
    bare = [name for name in specs if _only_sizes(cells[name])]
    names = [c for c in columns if _mostly_distinct(c) and (limits or c.name not in bare)]
    measured = (layout_of(columns, cells) or {}).get("values", [])
    readings = [
        c for c in columns if c.name not in measured and says(c.name, "value", "trial", "appraiser")
    ]
    if not names or readings or (limits and _the_same(limits)):
        return False
    return len(limits) >= 2 or bool(specs)


def _only_sizes(cells: pd.Series) -> bool:
    """Check whether no cell of a column has a name before its size."""
    read = [spec_of(text) for text in cells.astype(str).str.strip() if text]
    return not any(spec.rest for spec in read if spec is not None)


def _mostly_distinct(column: ColumnKind) -> bool:
    return column.kind == "words" and column.distinct > 0.6 * column.filled


def _the_same(limits: list[ColumnKind]) -> bool:
    """Check whether the same limits are in every row: then they go with readings, and list nothing."""
    return all(c.distinct == 1 and c.filled >= 5 for c in limits)


def _spec_columns(cells: pd.DataFrame) -> list[str]:
    """Find columns whose cells give a tolerance or a size with limits: "2.80 ± 0.05", "max. 0.05"."""
    found = []
    for name in cells if len(cells) <= _MOST_LISTED else ():
        texts = [text for text in cells[name].astype(str).str.strip().tolist() if text]
        read = [spec for spec in map(spec_of, texts) if spec is not None]
        limited = len({(spec.lower, spec.upper) for spec in read if spec.limited})
        enough = limited >= min(2, len(texts)) and len(read) >= 0.5 * len(texts) > 0
        if enough or (limited and len(read) == len(texts)):
            found.append(str(name))
    return found


#: No drawing has more characteristics.
_MOST_LISTED = 2000


def layout_of(columns: list[ColumnKind], cells: pd.DataFrame) -> dict[str, Any] | None:
    """Tell which columns of a list of characteristics hold what was measured of each on one or a few parts.

    Parameters
    ----------
    columns : list of ColumnKind
    cells : pandas.DataFrame of str
        The table itself.

    Returns
    -------
    dict or None
        As key ``layout`` of study.toml wants it; None where nothing was measured, or there are no limits.
    """
    known = {
        "number": "number", "characteristic": "name", "nominal": "nominal", "lower limit": "lower", "upper limit": "upper",
        "lower tolerance": "lower", "upper tolerance": "upper", "tolerance": "spec", "unit": "unit", "gauge": "gauge",
    }  # fmt: skip
    found: dict[str, Any] = {}
    of = {column.name: column for column in columns}
    for column in columns:
        key = known.get(_meaning(column.name, of))
        if key is not None and key not in found and column.kind != "empty":
            found[key] = column.name
    if "spec" not in found and not {"lower", "upper"} & set(found):
        specs = _spec_columns(cells)
        found |= {"spec": specs[0]} if specs else {}
        found = {
            key: name for key, name in found.items() if key in ("spec", "name") or name not in specs
        }
    if "name" not in found:
        words = next((c.name for c in columns if _mostly_distinct(c)), None)
        free = words and (words not in found.values() or words == found.get("spec"))
        found |= {"name": words} if free else {}
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
    # Parts by their numbers alone: 1, 2, 3.
    numbered = [c.name for c in columns if c.kind == "numbers" and c.name.strip().isdigit()]
    counted = [str(at) for at in range(1, len(numbered) + 1)]
    values = values or (numbered if [name.strip() for name in numbered] == counted else [])
    remark = [of[found[key]] for key in ("number", "name") if key in found]
    # A feature that occurs again and again was measured on part after part.
    if not values or not any(c.distinct > 0.6 * c.filled for c in remark):
        return None
    if not {"lower", "upper", "spec"} & set(found) or _the_same(
        [of[found[key]] for key in ("lower", "upper") if key in found] or remark
    ):
        return None
    order = ("number", "name", "nominal", "lower", "upper", "spec", "unit", "gauge")
    return {key: found[key] for key in order if key in found} | {"values": values}


#: Columns of parts side by side.
_PART_AT = re.compile(
    r"(?:part|sample|piece|teil|muster|pièce|échantillon|actual|ist|样件|样品|サンプル|cavity|nest)[\s_.#-]*\d{1,2}",
    re.IGNORECASE,
)
_LIMITS = ("nominal", "upper tolerance", "lower tolerance", "tolerance", "lower limit", "upper limit", "specification")  # fmt: skip


def _meaning(name: str, beside: Iterable[object] = ()) -> str:
    found = next((each for each in meanings(name) if each in _KNOWN), "")
    # U is the upper one in English, and the lower one beside an O in German.
    german = plain_name(name) in _U and not _O.isdisjoint(plain_name(str(each)) for each in beside)
    return found.replace("upper", "lower") if german else found


_U, _O = frozenset(["utol", "u tol"]), frozenset(["otol", "o tol"])


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
    from linestudy.records.infer.tables_of_a_file import table_places
    from linestudy.records.text_table import read_text_table
    from linestudy.study.model import Data

    file = Path(path)
    bare = Data(role="run", file=file.name, columns={"x": "x"}).model_copy(update={"columns": {}})
    found = locate(file.parent, file.name)
    for place in table_places(found, bare):
        if sheet is not None and place.data.sheet not in (None, sheet):
            continue
        table = read_text_table(found, place.data)
        if len(table.cells) and is_drawing(kinds(table), table.cells):
            return _lines(table.cells, table.units, file.name)
    raise InputError(
        file.name,
        "has no list of characteristics",
        "its columns are to be called name, nominal, and upper and lower tolerance or limits",
    )


#: Entries of a column of features that name a part or a moment.
_TAGS = frozenset(["part", "order", "time", "appraiser", "station", "coil", "job"])


def listed_in(
    cells: pd.DataFrame, units: dict[str, str], name: str, file: str
) -> tuple[Drawn, ...]:
    """Give the characteristics of a file with one reading a row, with the limits given beside the readings.

    Parameters
    ----------
    cells : pandas.DataFrame of str
    units : dict of str to str
        Column → unit.
    name : str
        Column that says of what each reading is.
    file : str

    Returns
    -------
    tuple of Drawn
        Each once, as its first row has it.
    """
    own = cells[cells[name].str.strip() != ""].drop_duplicates(name)
    # "Serial; 12" above the readings of a part names the part.
    tags = own[name].map(lambda entry: bool(named_alone(str(entry)) & _TAGS))
    own = own[~tags.to_numpy(dtype=bool)].rename(columns={name: "characteristic"})
    drop = [
        column
        for column in own
        if column != "characteristic" and _meaning(str(column)) == "characteristic"
    ]
    return _lines(own.drop(columns=drop), units, file) if len(own) else ()


def _lines(cells: pd.DataFrame, units: dict[str, str], file: str) -> tuple[Drawn, ...]:
    by_meaning: dict[str, str] = {}
    for column in cells:
        meaning = _meaning(str(column), cells)
        if meaning and meaning not in by_meaning:
            by_meaning[meaning] = str(column)
    specs = _spec_columns(cells)
    whole = by_meaning.get("specification")
    if whole is not None and whole not in specs:
        # 规格 2.80 beside 公差 ±0.05.
        by_meaning.setdefault("nominal", whole)
    if "nominal" not in by_meaning and any(m.endswith("tolerance") for m in by_meaning):
        size = size_column(cells, set(by_meaning.values()))
        by_meaning |= {"nominal": size} if size else {}
    name = by_meaning.get("characteristic") or name_column(cells, set(by_meaning.values()))
    numbers = {
        m: numeric(cells[c].str.strip())
        for m, c in by_meaning.items()
        if m in _LIMITS and m not in ("tolerance", "specification")
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

        said = [spec for each in specs if (spec := spec_of(str(cells[each].iloc[at]))) is not None]
        spec = next((each for each in said if each.limited), None) or next(iter(said), None)
        title = str(cells[name].iloc[at]).strip() if name else ""
        if name in specs and spec is not None:
            title = spec.rest or title
        nominal = number("nominal")
        written = spec or spec_of(cell("nominal"))
        if nominal is None and written is not None:
            nominal = written.nominal
        if not title and nominal is None:
            continue
        # A number alone under "tolerance" is no tolerance about itself.
        itself = (
            number("nominal") is None and not cell("nominal") and spec == spec_of(cell("tolerance"))
        )
        lower, upper = limits_from(
            nominal,
            (number("lower limit"), number("upper limit")),
            (number("lower tolerance"), number("upper tolerance")),
            "" if itself else cell("tolerance"),
        )
        zone = re.match(r"[^\w.,]*(\d*[.,]?\d+)", cell("nominal"))
        if nominal is None and zone is not None and says_zone(title):
            # 0,2 (M) A B
            nominal = float(zone[1].replace(",", "."))
        if says_most(cell("tolerance")):
            nominal = None
        remark = ""
        if lower is None and upper is None and spec is not None:
            lower, upper, remark = spec.lower, spec.upper, spec.remark
        if lower is None and upper is None and nominal is not None and says_zone(title):
            upper, nominal = abs(nominal), None
            remark = f"its only number, {upper:g}, is taken as the most that it may be"
        if lower is not None and upper is not None and lower >= upper:
            raise InputError(
                f"{file} line {line}",
                f'"{title}" has its lower limit at or above the upper',
                "mend the list",
            )
        words = [cell(m) for m in ("upper tolerance", "lower tolerance", "tolerance")]
        unread = next((w for w in words if re.search(r"[^\W\d_]{2}", w)), "")
        if lower is None and upper is None and unread:
            remark = f'"{unread}" is not worked out: give its limits'
        unit = (
            _spelt(cell("unit"))
            or cell("unit")
            or next((u for u in map(units.get, by_meaning.values()) if u), "")
            or (_spelt(spec.unit) if spec is not None else "")
            or None
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
                remark,
            )
        )
    if not rows:
        raise InputError(file, "lists no characteristic", "name each in a row of its own")
    return tuple(rows)


def _spelt(unit: str) -> str:
    """Return a unit in its known spelling: lbf for LBF."""
    return next((each for each in (unit, unit.lower()) if is_unit(each)), "")


def limits_of(
    label: str, source: Any, table: TextTable, guess: Guess
) -> tuple[float | None, float | None, float | None]:
    """Find nominal, lower and upper limit of readings: in columns beside them, in rows below the header, in their name.

    Parameters
    ----------
    label : str
        What the file calls them.
    source : str, list or dict
        Their columns.
    table : TextTable
    guess : Guess

    Returns
    -------
    tuple of (float or None)
        In the unit of the file.
    """
    beside = guess.limits.get(source if isinstance(source, str) else label)
    if beside is not None:
        return beside.get("nominal"), beside.get("lower"), beside.get("upper")
    spec = spec_of(label)
    if spec is not None and spec.limited and spec.rest:
        return spec.nominal, spec.lower, spec.upper
    names = names_within(source)
    if not table.limits or not names:
        return None, None, None
    said = {each: _number_in(cells.get(names[0], "")) for each, cells in table.limits.items()}
    nominal = said.get("nominal")
    lower, upper = limits_around(
        nominal,
        said.get("lower limit", said.get("lower tolerance")),
        said.get("upper limit", said.get("upper tolerance")),
    )
    if lower is None and upper is None and nominal is not None and said.get("tolerance"):
        lower, upper = around(nominal, table.limits["tolerance"].get(names[0], ""))
    whole = spec_of(table.limits.get("specification", {}).get(names[0], ""))
    if whole is not None and lower is None and upper is None:
        nominal, lower, upper = whole.nominal, whole.lower, whole.upper
    elif whole is not None and nominal is None:
        nominal = whole.nominal
    return nominal, lower, upper


def _number_in(cell: str) -> float | None:
    """Convert a cell to a number, whatever its decimal mark; None where it is none."""
    import pandas as pd

    found = float(numeric(pd.Series([cell], dtype="string"))[0]) if cell else float("nan")
    return found if np.isfinite(found) else None
