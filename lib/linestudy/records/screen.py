"""Which rows and values of a file are not measurements, and why; nothing is changed silently."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Characteristic, Data, Gauge

Reasons = NDArray[np.object_]

NO_READING = "no reading"
BELOW_BOUND = "below the physical bound"
IMPLAUSIBLE = "outside what this part can measure (plausible, study.toml)"
OUT_OF_RANGE = "outside the gauge's range (range, study.toml)"
REPEATED = "repeated row: same order number, same content"
REUSED = "order number used again with other content"
NOTHING_USABLE = "no usable value in the row"


def value_reasons(
    values: NDArray[np.float64],
    no_reading: NDArray[np.bool_],
    characteristic: Characteristic,
    gauge: Gauge | None,
) -> Reasons:
    """Reason for each value that cannot be a measurement, None for the others.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
        In the characteristic's unit.
    no_reading : numpy.ndarray of bool, shape (n,)
    characteristic : Characteristic
        Its ``bound`` and ``plausible``.
    gauge : Gauge or None
        Its ``range``.

    Returns
    -------
    numpy.ndarray of object, shape (n,)
    """
    reasons: Reasons = np.full(values.shape, None, dtype=object)
    if gauge is not None and gauge.range is not None:
        reasons[(values < gauge.range[0]) | (values > gauge.range[1])] = OUT_OF_RANGE
    if characteristic.plausible is not None:
        low, high = characteristic.plausible
        reasons[(values < low) | (values > high)] = IMPLAUSIBLE
    if characteristic.bound is not None:
        below = values < characteristic.bound
        # A bound above the limits is one that parts cannot exceed.
        if characteristic.upper is not None and characteristic.bound >= characteristic.upper:
            below = values > characteristic.bound
        reasons[below] = BELOW_BOUND
    reasons[no_reading] = NO_READING
    return reasons


def repeated_rows(order: NDArray[np.float64], content: pd.DataFrame) -> Reasons:
    """Reason for each row whose order number has been seen before, None for the others.

    Parameters
    ----------
    order : numpy.ndarray of float, shape (n,)
    content : pandas.DataFrame, n rows
        The cells that tell two rows apart.

    Returns
    -------
    numpy.ndarray of object, shape (n,)
    """
    import pandas as pd

    reasons: Reasons = np.full(order.shape, None, dtype=object)
    again = pd.Series(order).duplicated().to_numpy()
    if again.any():
        same = content.assign(**{"\x00order": order}).duplicated().to_numpy()
        reasons[again] = REUSED
        reasons[again & same] = REPEATED
    return reasons


def verdict_reasons(verdict: pd.Series, data: Data) -> Reasons:
    """Reason for each row whose verdict study.toml sets aside, None for the others."""
    reasons: Reasons = np.full(len(verdict), None, dtype=object)
    text = verdict.str.strip().to_numpy()
    for word, reason in data.set_aside_verdict.items():
        reasons[text == word] = f"verdict {word}: {reason}"
    return reasons


def counted(reasons: Reasons) -> dict[str, int]:
    """How often each reason occurs."""
    return dict(Counter(reason for reason in reasons.tolist() if reason is not None))


def run_notes(order: NDArray[np.float64], times: Any) -> list[str]:
    """What was noticed about order and clock of a run and left as it is.

    Parameters
    ----------
    order : numpy.ndarray of float, shape (n,)
        Order numbers as the file has them, repeated rows taken out.
    times : pandas.Series of datetime64 or None

    Returns
    -------
    list of str
        Sentences.
    """
    notes = []
    steps = np.diff(order)
    backwards = int((steps < 0).sum())
    if backwards:
        notes.append(
            f"The order numbers go back {backwards} time(s); rows were put in production order."
        )
    gaps = steps[steps > 1] - 1
    if gaps.size:
        notes.append(
            f"{int(gaps.sum()):,} order numbers are missing in {gaps.size:,} gap(s), "
            f"the longest {int(gaps.max()):,}."
        )
    if times is not None and len(times) > 2:
        seconds = times.diff().dt.total_seconds().to_numpy()[1:]
        back = seconds < 0
        if back.any():
            notes.append(
                f"The clock goes back {int(back.sum())} time(s), by "
                f"{abs(np.nanmin(seconds)) / 60:.0f} minutes at most; order numbers are trusted instead."
            )
    return notes
