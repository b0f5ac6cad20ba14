"""Which rows and values of a file are not measurements, and why; nothing is changed silently."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Characteristic, Data, Gauge

NO_READING = "no reading"
BELOW_BOUND = "below the physical bound"
IMPLAUSIBLE = "outside what this part can measure (plausible, study.toml)"
OUT_OF_RANGE = "outside the gauge's range (range, study.toml)"
REPEATED = "repeated row: same order number, same content"
REUSED = "order number used again with other content"
NOTHING_USABLE = "no usable value in the row"


class Reasons:
    """Why each of `n` rows or values is set aside: a small number each, for a day has many of them.

    Parameters
    ----------
    n : int
    """

    def __init__(self, n: int) -> None:
        self._words: list[str] = []
        self._code = np.zeros(n, dtype=np.int16)

    def __len__(self) -> int:
        return self._code.size

    @property
    def unset(self) -> NDArray[np.bool_]:
        """Where no reason has been found yet."""
        return self._code == 0

    def give(self, where: NDArray[np.bool_], reason: str) -> None:
        """A reason for those that have none yet."""
        where = where & (self._code == 0)
        if where.any():
            if reason not in self._words:
                self._words.append(reason)
            self._code[where] = self._words.index(reason) + 1

    def are(self, *reasons: str) -> NDArray[np.bool_]:
        """Where one of these is the reason."""
        codes = [self._words.index(reason) + 1 for reason in reasons if reason in self._words]
        found = np.zeros(self._code.size, dtype=bool)
        for code in codes:
            found |= self._code == code
        return found

    def counted(self, among: NDArray[np.bool_] | None = None) -> dict[str, int]:
        """How often each reason occurs, in the order in which they first do."""
        if not self._words:
            return {}
        code = self._code if among is None else self._code[among]
        found, first, counts = np.unique(code[code > 0], return_index=True, return_counts=True)
        return {self._words[found[at] - 1]: int(counts[at]) for at in np.argsort(first)}


def judge_values(
    reasons: Reasons,
    values: NDArray[np.float64],
    no_reading: NDArray[np.bool_],
    characteristic: Characteristic,
    gauge: Gauge | None,
) -> None:
    """Add a reason for each value that cannot be a measurement.

    Parameters
    ----------
    reasons : Reasons
        Of n values.
    values : numpy.ndarray of float, shape (n,)
        In the characteristic's unit.
    no_reading : numpy.ndarray of bool, shape (n,)
    characteristic : Characteristic
        Its ``bound`` and ``plausible``.
    gauge : Gauge or None
        Its ``range``.
    """
    reasons.give(no_reading, NO_READING)
    if characteristic.bound is not None:
        # A bound above the limits is one that parts cannot exceed.
        if characteristic.upper is not None and characteristic.bound >= characteristic.upper:
            reasons.give(values > characteristic.bound, BELOW_BOUND)
        else:
            reasons.give(values < characteristic.bound, BELOW_BOUND)
    if characteristic.plausible is not None:
        low, high = characteristic.plausible
        reasons.give((values < low) | (values > high), IMPLAUSIBLE)
    if gauge is not None and gauge.range is not None:
        reasons.give((values < gauge.range[0]) | (values > gauge.range[1]), OUT_OF_RANGE)


def repeated_rows(
    order: NDArray[np.float64], content: pd.DataFrame, owner: pd.Series | None = None
) -> Reasons:
    """Reasons for the rows whose order number has been seen before.

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
    Reasons
    """
    import pandas as pd

    reasons = Reasons(order.size)
    if owner is None and bool((np.diff(order) > 0).all()):
        return reasons
    key = pd.DataFrame({"order": order})
    if owner is not None:
        key["owner"] = owner.to_numpy()
    again = key.duplicated().to_numpy()
    if again.any():
        same = content.assign(**{"\x00order": order}).duplicated().to_numpy()
        reasons.give(again & same, REPEATED)
        reasons.give(again, REUSED)
    return reasons


def judge_verdicts(reasons: Reasons, verdict: pd.Series, data: Data) -> None:
    """Add a reason for each row whose verdict study.toml sets aside."""
    text = verdict.str.strip().to_numpy()
    for word, reason in data.set_aside_verdict.items():
        reasons.give(text == word, f"verdict {word}: {reason}")
