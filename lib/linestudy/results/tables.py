"""The rows of a finding, as numbers for those who compute on and as text for those who read."""

from __future__ import annotations

import contextlib
import dataclasses
import enum
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linestudy.results.interval import Absent, Interval
from linestudy.results.rounding import show, show_p, show_ppm

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Quantity:
    """One line of a finding that gives one number after the other.

    Attributes
    ----------
    name : str
        What it is, in the field's words, without its unit.
    value : Interval, Absent, float, int, str or None
    unit : str
        ``"mm"``, ``"%"``, ``"ppm"``; ``"p"`` for the p-value of a test; empty for a plain number.
    uncertainty : float or None
        Half-width that a number without an interval is rounded by as text.

    Notes
    -----
    A value whose unit is ``"%"`` is given as a share of one and appears in both tables in percent.
    """

    name: str
    value: Interval | Absent | float | int | str | None
    unit: str = ""
    uncertainty: float | None = None

    @property
    def in_unit(self) -> Interval | Absent | float | int | str | None:
        """Return the value in its unit: a share of one in percent."""
        if self.unit == "%" and isinstance(self.value, Interval):
            return self.value.times(100.0)
        if self.unit == "%" and isinstance(self.value, int | float):
            return self.value * 100.0
        return self.value


#: What the lines of a finding are: quantities one below the other, or records with the same keys.
Rows = Sequence[Quantity] | Sequence[Mapping[str, Any]]


def numeric_table(rows: Rows) -> pd.DataFrame:
    """Return the rows with every number as a number.

    Parameters
    ----------
    rows : sequence of Quantity, or of mappings
        Quantities become one line each; of a mapping each key is a column.

    Returns
    -------
    pandas.DataFrame
        Of quantities: columns ``quantity, estimate, low, high, unit`` (and ``note`` where a
        value is text or cannot be given). Of mappings: a column for each key; a key that holds
        an interval anywhere has ``KEY low`` and ``KEY high`` beside it. What cannot be given is
        missing (NaN).

    Examples
    --------
    >>> numeric_table([Quantity("Ppk", Interval(1.5, 1.4, 1.6, 0.95, "example"))])
      quantity  estimate  low  high unit
    0      Ppk       1.5  1.4   1.6
    """
    import pandas as pd

    if rows and isinstance(rows[0], Quantity):
        lines = [_numeric_line(row) for row in rows if isinstance(row, Quantity)]
        table = pd.DataFrame(lines, columns=["quantity", "estimate", "low", "high", "unit", "note"])
        return table if bool((table["note"] != "").any()) else table.drop(columns="note")
    records: list[Mapping[str, Any]] = [row for row in rows if not isinstance(row, Quantity)]
    columns: dict[str, list[Any]] = {}
    for key in records[0] if records else ():
        values = [record.get(key) for record in records]
        if any(isinstance(value, Interval) for value in values):
            columns[key] = [_number(v.estimate if isinstance(v, Interval) else v) for v in values]
            for end in ("low", "high"):
                columns[f"{key} {end}"] = [
                    _number(getattr(v, end) if isinstance(v, Interval) else None) for v in values
                ]
        else:
            columns[key] = [_bare(value) for value in values]
    table = pd.DataFrame(columns)
    for key, values in columns.items():
        # Counts stay whole numbers where some lines have none.
        if None in values and all(type(value) in (int, type(None)) for value in values):
            table[key] = table[key].astype("Int64")
    return table


def text_table(rows: Rows) -> pd.DataFrame:
    """Return the rows as a reader sees them: rounded by their uncertainty, units in the heads.

    Parameters
    ----------
    rows : sequence of Quantity, or of mappings
        As for :func:`numeric_table`.

    Returns
    -------
    pandas.DataFrame
        Of text. Of quantities: columns ``quantity`` (with its unit) and ``value``.

    Examples
    --------
    >>> text_table([Quantity("SD", Interval(0.0123, 0.011, 0.0137, 0.95, "example"), "mm")])
      quantity                     value
    0  SD (mm)  0.0123 (0.0110 to 0.0137)
    """
    import pandas as pd

    if rows and isinstance(rows[0], Quantity):
        lines = [_text_line(row) for row in rows if isinstance(row, Quantity)]
        return pd.DataFrame(lines, columns=["quantity", "value"])
    records: list[Mapping[str, Any]] = [row for row in rows if not isinstance(row, Quantity)]
    heads = list(records[0]) if records else []
    return pd.DataFrame(
        [[_shown(key, r.get(key)) for key in heads] for r in records], columns=heads
    )


def _numeric_line(row: Quantity) -> tuple[str, float, float, float, str, str]:
    value = row.in_unit
    unit = "" if row.unit == "p" else row.unit
    if isinstance(value, Interval):
        return row.name, value.estimate, value.low, value.high, unit, ""
    note = "" if value is None else str(value) if isinstance(value, Absent | str) else ""
    return row.name, _number(value), math.nan, math.nan, unit, note


def _number(value: Any) -> float:
    if value is None or isinstance(value, Absent | str):
        return math.nan
    return float(value)


def _bare(value: Any) -> Any:
    return math.nan if isinstance(value, Absent) else value


def _text_line(row: Quantity) -> tuple[str, str]:
    unit = "" if row.unit in ("", "p") else f" ({row.unit})"
    head = "p" if row.unit == "p" else row.unit
    if row.uncertainty is not None and isinstance(row.value, float):
        return f"{row.name}{unit}", show(row.value, row.uncertainty)
    return f"{row.name}{unit}", _shown(head, row.in_unit)


def _shown(head: str, value: Any) -> str:
    """Write a cell as text; the head says whether it is a p-value or a rate in ppm."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and math.isnan(value):
        return ""
    if isinstance(value, int | float | Interval):
        if head == "p" or head.startswith("p ("):
            return show_p(value)
        if head == "ppm" or head.endswith("(ppm)"):
            return show_ppm(value)
    return show(value)


def plain(value: Any, /) -> Any:
    """Turn a result into JSON-ready values, in full precision.

    Parameters
    ----------
    value : object
        Numbers, text, intervals, absent values, dataclasses, mappings,
        sequences, arrays, or tables (a table becomes a list of rows).

    Returns
    -------
    object
        Only dict, list, str, int, float, bool and None. A number that is not
        finite becomes ``{"absent": ...}``: no NaN ever reaches a report.

    Raises
    ------
    TypeError
        For anything that has no plain form.
    """
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, Interval | Absent):
        return value.record()
    if isinstance(value, enum.Enum):
        return plain(value.value)
    if hasattr(value, "record") and callable(value.record):
        return plain(value.record())
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if hasattr(value, "to_dict") and hasattr(value, "columns"):
        return [plain(row) for row in value.to_dict(orient="records")]
    if isinstance(value, list | tuple | set | frozenset):
        items = sorted(value) if isinstance(value, set | frozenset) else value
        return [plain(item) for item in items]
    return _plain_number(value)


def _plain_number(value: Any) -> Any:
    if hasattr(value, "tolist"):  # NumPy scalars and arrays, pandas Series
        listed = value.tolist()
        return plain(listed) if type(listed) is not type(value) else listed
    if isinstance(value, int):
        return int(value)
    if isinstance(value, float):
        if math.isfinite(value):
            return float(value)
        return Absent("not determined by the data").record()
    if hasattr(value, "isoformat"):
        return value.isoformat()
    raise TypeError(f"no plain form for {type(value).__name__}")


def named(kind: str, label: str, /) -> str:
    """Write the name of one of several; a bare number gets the word of what it is.

    Parameters
    ----------
    kind : str
        What it is one of, in the singular.
    label : str
        Its name.

    Returns
    -------
    str

    Examples
    --------
    >>> named("station", "2"), named("station", "left")
    ('station 2', 'left')
    """
    return label if any(sign.isalpha() for sign in label) else f"{kind} {label}"


#: Change per thousand below which it is reported per hundred thousand.
_SLOW = 1e-4


def over_strokes(
    slope: Interval, counted: str = "strokes", /, over: int | None = None
) -> tuple[Interval, str]:
    """Report a slow change over so many strokes that it does not begin with noughts.

    Parameters
    ----------
    slope : Interval
        Change per thousand.
    counted : str
        What is counted.
    over : int, optional
        Strokes, where the study has chosen (:func:`strokes_for_slopes`); else by the size of the slope.

    Returns
    -------
    slope : Interval
    over : str
        What to say behind it.

    Examples
    --------
    >>> over_strokes(Interval(0.008, 0.007, 0.009, 0.95, ""))[1]
    'per 1,000 strokes'
    >>> slow, over = over_strokes(Interval(0.000008, 0.000007, 0.000009, 0.95, ""))
    >>> print(f"{slow.estimate:.4f} {over}")
    0.0008 per 100,000 strokes
    """
    over = over or strokes_for_slopes([slope])
    return slope if over == 1000 else slope.times(over / 1000), f"per {over:,} {counted}"


def strokes_for_slopes(slopes: Iterable[Interval], /) -> int:
    """Choose the one number of strokes that all slopes of a study are reported over.

    Parameters
    ----------
    slopes : iterable of Interval
        Change per thousand.

    Returns
    -------
    int
        100,000 where one of them would begin with noughts, else 1,000.

    Examples
    --------
    >>> steep, flat = (Interval(x, 0.9 * x, 1.1 * x, 0.95, "") for x in (0.008, 0.00001))
    >>> strokes_for_slopes([steep]), strokes_for_slopes([steep, flat])
    (1000, 100000)
    """
    sizes = [max(abs(slope.low), abs(slope.high)) for slope in slopes]
    return 100_000 if any(0 < size < _SLOW for size in sizes) else 1000


def listed(names: Iterable[str], /) -> str:
    """Write names in a row with *and* before the last.

    Parameters
    ----------
    names : iterable of str

    Returns
    -------
    str
        Empty where there are none.

    Examples
    --------
    >>> listed(["width"]), listed(["width", "height", "burr"])
    ('width', 'width, height and burr')
    """
    *others, last = list(names) or [""]
    return f"{', '.join(others)} and {last}" if others else last


def natural_order(name: str) -> list[tuple[float, str]]:
    """Sort names so that part 10 comes after part 9.

    Parameters
    ----------
    name : str

    Returns
    -------
    list of (float, str)
        For ``sorted(names, key=natural_order)``.

    Examples
    --------
    >>> sorted(["10", "9", "1 b", "1 a"], key=natural_order)
    ['1 a', '1 b', '9', '10']
    """
    return [
        (float(piece), "") if piece.isdecimal() else (math.inf, piece)
        for piece in re.split(r"(\d+)", name)
        if piece
    ]


#: A hyphen that means minus: before a digit, and after nothing, a space or an opening bracket.
_MINUS = re.compile(r"(?:(?<=^)|(?<=[\s(\[=±<>≤≥]))-(?=\d)")
#: A space separates a number from its per cent sign (ISO 80000-1).
_PERCENT = re.compile(r"(\d) ?%")
#: "p < 0.001" stands in one line.
_RELATION = re.compile(r"(?<=\b[pnk]) ([<=>]) (?=\d)")
#: The degree of a plane angle follows its number without a space (ISO 80000-1), that of a temperature with one.
_DEGREE = re.compile(r"(?<=[\d)])()[ \u00a0]°(?![A-Z])")


def typeset(text: str, /, *, space: str = "\u00a0", minus: str = "−") -> str:
    """Set numbers in a text as ISO 80000-1 asks: a true minus, a space before the per cent sign.

    Within :func:`names_as_given` the names stay as they are.

    Parameters
    ----------
    text : str
    space : str
        Between a number and its per cent sign, and about the sign in "p < 0.05"; one that no line breaks at unless said otherwise.
    minus : str
        The sign of a negative number.

    Returns
    -------
    str

    Examples
    --------
    >>> typeset("7% (-2 to 16%)", space=" ")
    '7 % (−2 to 16 %)'
    >>> typeset("37 to 47 ° (−1 to 1) ° at 20 °C")
    '37 to 47° (−1 to 1)° at 20 °C'
    """
    names: list[str] = []

    def aside(found: re.Match[str]) -> str:
        names.append(found[0])
        return chr(_PLACE + len(names) - 1)

    given = _GIVEN.get()
    if given is not None:
        text = given.sub(aside, text)
    text = _DEGREE.sub("\\1°", _MINUS.sub(minus, text))
    text = _RELATION.sub(rf"{space}\1{space}", text)
    text = _PERCENT.sub(f"\\1{space}%", text)
    for number, name in enumerate(names):
        text = text.replace(chr(_PLACE + number), name)
    return text


#: Placeholders for names meanwhile: signs of no script.
_PLACE = 0xF0000
#: Names that typesetting would change, and that people gave.
_GIVEN: ContextVar[re.Pattern[str] | None] = ContextVar("given", default=None)


@contextlib.contextmanager
def names_as_given(names: Iterable[str]) -> Iterator[None]:
    """Show names that people gave as they gave them: "2.5% tin" stays so in every text set meanwhile.

    Parameters
    ----------
    names : iterable of str
        Those without a letter count for nothing: "5%" would be found in a number.

    Yields
    ------
    None

    Examples
    --------
    >>> with names_as_given(["2.5% tin"]):
    ...     print(typeset("2.5% tin: -7%", space=" "))
    2.5% tin: −7 %
    """
    odd = {one for one in names if re.search(r"[^\W\d_]", one) and typeset(one) != one}
    # The longest first: a name may begin another one.
    known = "|".join(map(re.escape, sorted(odd, key=lambda one: (-len(one), one))))
    token = _GIVEN.set(re.compile(rf"(?<!\w)(?:{known})(?!\w)") if odd else None)
    try:
        yield
    finally:
        _GIVEN.reset(token)
