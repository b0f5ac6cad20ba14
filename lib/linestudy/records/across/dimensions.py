"""A layout: every characteristic of the drawing, measured once or a few times, one in each row.

What is judged here is whether each reading lies within its limits, and nothing about the process: a few parts
show no capability.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records import exclusions
from linestudy.records.across.specs import around, spec_of
from linestudy.records.conversions import to_numbers
from linestudy.records.files import column, line_of
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.ledger import ValueCount
    from linestudy.records.screening import Seen
    from linestudy.study.model import Data

#: What a dimension is found to be.
CONFORMS, OUTSIDE, NOT_MEASURED, NOT_JUDGED = (
    "conforms",
    "does not conform",
    "not measured",
    "no limits",
)


@dataclass(frozen=True)
class Dimension:
    """One characteristic of the drawing as the layout holds it.

    Attributes
    ----------
    number, name, unit, gauge : str
        As the file has them; empty where it does not say. The unit is then that of the file, where study.toml names one.
    nominal, lower, upper : float or None
        [unit of the row]
    values : tuple of float
        [unit of the row] The readings.
    words : tuple of str
        Judgements, where the row holds words instead of numbers.
    accepted : bool or None
        Whether every judgement accepts; None where the row holds numbers.
    """

    number: str
    name: str
    unit: str
    gauge: str
    nominal: float | None
    lower: float | None
    upper: float | None
    values: tuple[float, ...]
    words: tuple[str, ...] = ()
    accepted: bool | None = None

    @property
    def outside(self) -> int:
        """Readings beyond a limit."""
        return sum(
            (self.lower is not None and value < self.lower)
            or (self.upper is not None and value > self.upper)
            for value in self.values
        )

    @property
    def result(self) -> str:
        """What the row says: conforms, does not conform, not measured, no limits."""
        if self.accepted is not None:
            return CONFORMS if self.accepted else OUTSIDE
        if not self.values:
            return NOT_MEASURED
        if self.lower is None and self.upper is None:
            return NOT_JUDGED
        return OUTSIDE if self.outside else CONFORMS


def laid_out(
    data: Data, text: pd.DataFrame
) -> tuple[pd.DataFrame, dict[str, int], dict[str, ValueCount], list[Seen]]:
    """Make the table of a layout: a row for each characteristic, with its :class:`Dimension`.

    Parameters
    ----------
    data : linestudy.study.model.Data
        Its `layout` says what the columns are.
    text : pandas.DataFrame of str
        The file as it came.

    Returns
    -------
    frame : pandas.DataFrame
        Column ``dimension``.
    reasons : dict of str to int
        Rows excluded, by reason.
    values : dict of str to ValueCount
        Empty: the readings are those of no characteristic of the study.
    seen : list of Seen

    Raises
    ------
    InputError
        A limit or reading is no number, or limits are swapped.
    """
    import pandas as pd

    named = data.layout
    assert named is not None
    rows = exclusions.Reasons(len(text))
    words = {
        key: _words(data, text, getattr(named, key))
        for key in ("number", "name", "unit", "gauge", "spec")
    }
    limits = {
        key: _limits(data, text, getattr(named, key)) for key in ("nominal", "lower", "upper")
    }
    cells = [column(text, name, data).astype(str).str.strip() for name in named.values]
    rows.give(
        np.array(
            [
                not number and not name
                for number, name in zip(words["number"], words["name"], strict=True)
            ]
        ),
        "no number and no name",
    )
    readings = [_readings(data, text, one) for one in cells]
    dimensions = []
    for row in range(len(text)):
        nominal, lower, upper = (limits[key][row] for key in ("nominal", "lower", "upper"))
        lower, upper = limits_around(nominal, lower, upper)
        spec = spec_of(words["spec"][row])
        if spec is not None and lower is None and upper is None:
            nominal = spec.nominal if nominal is None else nominal
            lower, upper = spec.lower, spec.upper
        elif nominal is not None and lower is None and upper is None:
            lower, upper = around(nominal, words["spec"][row])
        if lower is not None and upper is not None and lower >= upper:
            raise InputError(
                f"{data.file} line {line_of(data, int(text.index[row]))}",
                f"lower limit {lower:g} is not below upper limit {upper:g}",
                "mend the row",
            )
        said = tuple(one.iloc[row] for one in cells if _is_judgement(data, one.iloc[row]))
        found = tuple(float(one[row]) for one in readings if np.isfinite(one[row]))
        dimensions.append(
            Dimension(
                number=words["number"][row],
                name=words["name"][row],
                unit=words["unit"][row] or (data.unit or "" if found else ""),
                gauge=words["gauge"][row],
                nominal=nominal,
                lower=lower,
                upper=upper,
                values=found,
                words=said,
                accepted=all(word in (data.accept or ()) for word in said) if said else None,
            )
        )
    used = rows.unset
    if not used.any():
        raise InputError(data.file, "has no row with a number or a name", "mend it or take it out")
    frame = pd.DataFrame({"dimension": pd.Series(dimensions, dtype=object)})
    frame = frame if used.all() else frame[used].reset_index(drop=True)
    frame.attrs = {"characteristics": [], "tags": list(frame)}
    return frame, rows.counted(), {}, []


def limits_around(
    nominal: float | None, lower: float | None, upper: float | None
) -> tuple[float | None, float | None]:
    """Give limits where a list has deviations: a nominal beyond small numbers is what these are counted from.

    Parameters
    ----------
    nominal, lower, upper : float or None
        As written there; "minus 0.05" may be without its sign.

    Returns
    -------
    (float or None, float or None)

    Examples
    --------
    >>> limits_around(2.8, 0.05, 0.1), limits_around(2.8, 2.7, 2.9)
    ((2.75, 2.9), (2.7, 2.9))
    """
    there = [each for each in (lower, upper) if each is not None]
    if not nominal or not there or any(abs(each) >= abs(nominal) / 2 for each in there):
        return lower, upper
    if (lower is None or lower <= nominal) and (upper is None or nominal <= upper):
        return lower, upper
    if lower is not None and lower > 0 and (upper is None or upper >= 0):
        lower = -lower
    low, high = (
        # As decimals are added by hand: 6.3 and 0.05 make 6.35.
        None if each is None else float(f"{nominal + each:.12g}")
        for each in (lower, upper)
    )
    return low, high


def _words(data: Data, text: pd.DataFrame, name: str | None) -> list[str]:
    if name is None:
        return [""] * len(text)
    return [str(cell).strip() for cell in column(text, name, data)]


def _limits(data: Data, text: pd.DataFrame, name: str | None) -> list[float | None]:
    """Read numbers of a column that may be blank; refuse anything else, naming its line."""
    if name is None:
        return [None] * len(text)
    cells = column(text, name, data)
    numbers, missing, odd = to_numbers(cells, data)
    _refuse(data, text, cells, odd)
    return [None if gone else float(number) for number, gone in zip(numbers, missing, strict=True)]


def _readings(data: Data, text: pd.DataFrame, cells: pd.Series) -> Any:
    """Read numbers of a column of readings; NaN where nothing was measured or a judgement is given."""
    judged = cells.map(lambda word: _is_judgement(data, word)).to_numpy(dtype=bool)
    numbers, missing, odd = to_numbers(cells.where(~judged, ""), data)
    _refuse(data, text, cells, odd)
    return np.where(missing, np.nan, numbers)


def _is_judgement(data: Data, word: str) -> bool:
    return word in (data.accept or ()) or word in (data.reject or ())


def _refuse(data: Data, text: pd.DataFrame, cells: pd.Series, odd: Any) -> None:
    if odd.any():
        row = int(np.flatnonzero(odd)[0])
        raise InputError(
            f"{data.file} line {line_of(data, int(text.index[row]))}",
            f'"{str(cells.iloc[row])[:40]}" in column "{cells.name}" is no number',
            "mend it, or name it in missing, accept or reject",
        )
