"""Whether two texts differ only in digits that a rounding edge explains.

A number on the edge between two printed digits, 1.3349999 here and 1.3350001 there, is printed as 1.33 by one
processor and as 1.34 by another. Such texts are distinguished from changed ones by the number itself: there must be one that
is recorded on one side of that very edge and recomputed on the other, and agrees within its tolerance. A changed
digit finds no such number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

#: A number as printed, with signs, separators of thousands and exponent.
NUMBER = re.compile(r"[-−]?\d+(?:,\d{3})*(?:\.\d+)?(?:e[-+]?\d+)?")
#: What a printed number may be of a recorded one: itself, per cent, per thousand, per million, and parts of these.
_FACTORS = (1.0, 100.0, 1e3, 1e6, 1e-3, 6.0)


class Edges:
    """Numbers recorded and recomputed otherwise, to be asked for one that lies around an edge.

    Parameters
    ----------
    pairs : iterable of (float, float)
        Recorded and recomputed, within tolerance.

    Examples
    --------
    >>> edges = Edges([(1.33499999999, 1.33500000001)])
    >>> edges.explain("Ppk 1.33", "Ppk 1.34"), edges.explain("Ppk 1.33", "Ppk 1.35")
    (True, False)
    >>> edges.explain("Ppk 1.43", "Ppk 1.44")
    False
    """

    def __init__(self, pairs: Iterable[tuple[float, float]]) -> None:
        self._sides = [
            (min(abs(a), abs(b)) * factor, max(abs(a), abs(b)) * factor)
            for a, b in pairs
            for factor in _FACTORS
        ]

    def explain(self, one: str, other: str) -> bool:
        """Check whether two texts differ only in digits that a rounding edge explains.

        Parameters
        ----------
        one, other : str

        Returns
        -------
        bool
        """
        if one == other:
            return True
        if NUMBER.split(one) != NUMBER.split(other):
            return False
        pairs = zip(NUMBER.findall(one), NUMBER.findall(other), strict=True)
        return all(a == b or self._on_edge(a, b) for a, b in pairs)

    def _on_edge(self, a: str, b: str) -> bool:
        first, second = (_plain(text) for text in (a, b))
        if first is None or second is None or first[1] != second[1]:
            return False
        unit = 10.0 ** first[1]
        if abs(abs(first[0] - second[0]) - unit) > 1e-6 * unit:
            return False
        edge = abs(first[0] + second[0]) / 2
        # Decimal ends such as 1.335 are no doubles: a few of their own last digits are no distance.
        slack = 1e-15 * edge
        return any(low - slack <= edge <= high + slack for low, high in self._sides)


def _plain(text: str) -> tuple[float, int] | None:
    """Read a printed number, and the exponent of its last digit."""
    bare = text.replace(",", "").replace("−", "-")
    mantissa, _, power = bare.partition("e")
    if len(mantissa) > 300:
        return None
    decimals = len(mantissa.partition(".")[2])
    return float(bare), int(power or 0) - decimals
