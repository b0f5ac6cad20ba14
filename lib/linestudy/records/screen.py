"""Which rows and values of a file are not measurements, and why; nothing is changed silently."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

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


def repeated_rows(
    order: NDArray[np.float64], content: pd.DataFrame, owner: pd.Series | None = None
) -> Reasons:
    """Reason for each row whose order number has been seen before, None for the others.

    Parameters
    ----------
    order : numpy.ndarray of float, shape (n,)
    content : pandas.DataFrame, n rows
        The cells that tell two rows apart.
    owner : pandas.Series of str, optional
        Whose value a row holds, in a file with one value per row: an order number
        then stands once per owner.

    Returns
    -------
    numpy.ndarray of object, shape (n,)
    """
    import pandas as pd

    reasons: Reasons = np.full(order.shape, None, dtype=object)
    key = pd.DataFrame({"order": order})
    if owner is not None:
        key["owner"] = owner.to_numpy()
    again = key.duplicated().to_numpy()
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


def unset(reasons: Reasons) -> NDArray[np.bool_]:
    """Where no reason has been found yet."""
    return np.asarray(reasons == None, dtype=bool)  # noqa: E711 (elementwise)


def counted(reasons: Reasons) -> dict[str, int]:
    """How often each reason occurs."""
    return dict(Counter(reasons[~unset(reasons)].tolist()))
