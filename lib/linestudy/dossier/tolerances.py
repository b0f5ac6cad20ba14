"""How far a number of results.json may lie from the same number computed again on another machine.

A dossier is written on one processor and recomputed on another, whose sums round otherwise in the last digits.
Each kind of number has its tolerance, written into results.json under ``tolerances`` for whoever compares with
a program of his own. ``recompute`` takes the table of the kit it runs in, never that of the file it reads.

Nearly all are finer than a millionth of a number's own interval, ten thousand times finer than a printed digit: of
an interval's half-width two digits are shown. The ends of a mixture's interval, whose likelihood may have several
tops, and of one of a family with a threshold, whose likelihood bends sharply where that runs into the smallest value,
are held to a thousandth of it, and so is an end so far out that the interval says next to nothing. Where a number within its tolerance still rounds otherwise, because
it lies on the edge between two printed digits, the report says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import Any

#: Relative difference of a number that a formula gives: sums in another order differ by some 1e-15.
FORMULA = 1e-9
#: Of a number's own interval where a search or draws lead to it; and of the number itself.
OF_INTERVAL, SEARCHED = 1e-6, 1e-7
#: Of the interval of a mixture's number: its likelihood may have several tops, and where an interval ends among
#: them is known no better; and of one of a family with a threshold (two of 1,296 fits differed so between processors).
OF_MIXTURE = OF_THRESHOLD = 1e-3
#: Of a likelihood interval that ends beyond five times its estimate: the likelihood hardly falls there (three lots of a worn tool
#: differed by 7e-5 of it between processors); and, of itself, of the number that the draws from such intervals lead to.
OF_UNINFORMATIVE, OF_SELECTION = 1e-3, 1e-3
_BEYOND = 5
#: Of a one-sided bound, which is given without its interval.
OF_BOUND = 1e-5
#: Of a p-value: in the tail it moves by several times what its statistic does.
P_VALUE = 1e-6
#: What cancels in a difference of two readings, as a share of the limits (at least of 1): of a number that is
#: hardly more than what cancels, and of any other.
CANCELLED, LAST_DIGITS = 1e-12, 1e-14

#: Places of numbers that a search leads to: the best fit of a family, a likelihood interval, a root, sorted draws.
SEARCHED_AT = (
    "characteristics.*.shape.*",
    "characteristics.*.capability.*",
    "characteristics.*.verdict.*",
    "characteristics.*.gauges.*.crossed.*",
    "characteristics.*.gauges.*.nested.*",
    "characteristics.*.gauges.*.left_out.*",
    "characteristics.*.gauges.*.average_and_range.*",
    "characteristics.*.gauges.*.uncertainty.*",
    "characteristics.*.gauges.*.risk.*",
    "characteristics.*.gauges.*.linearity.*",
    "characteristics.*.gauges.*.rounded_repeatability.*",
    "characteristics.*.gauges.*.strength.*",
    "characteristics.*.gauges.*.laboratories.*",
    "characteristics.*.attribute.*",
    "characteristics.*.agreement.*",
    "characteristics.*.systems.*",
    "characteristics.*.gauges.*.over_time.*",
    "characteristics.*.gauges.*.by_factor.*",
    "characteristics.*.stability.*",
    "joint.*",
    "rejects.*",
    "biases.*",
    "bin_chart.*",
)


@dataclass(frozen=True, slots=True)
class Allowed:
    """What one number may differ by.

    Attributes
    ----------
    kind : str
        "whole", "formula" or "searched".
    by : float
        In the unit of the number.
    """

    kind: str
    by: float


def table() -> dict[str, Any]:
    """Return the tolerances as results.json declares them.

    Returns
    -------
    dict
        By kind of number: what it may differ by, and what the kind means.

    Examples
    --------
    >>> table()["formula"]["relative"]
    1e-09
    """
    return {
        "whole": {
            "meaning": "counts, words and truth values: equal",
            "relative": 0.0,
        },
        "formula": {
            "meaning": "what a formula gives: relative to the number",
            "relative": FORMULA,
        },
        "searched": {
            "meaning": "what a search or draws lead to, and every p-value (as sharp: shares of the gauge among the facts of a verdict): relative to its own interval, or to the "
            "number, whichever is more",
            "of_interval": OF_INTERVAL,
            "of_interval_of_a_mixture": OF_MIXTURE,
            "of_interval_with_a_threshold": OF_THRESHOLD,
            "of_likelihood_interval_beyond_five_estimates": OF_UNINFORMATIVE,
            "relative_of_selection_among_streams": OF_SELECTION,
            "relative": SEARCHED,
            "relative_of_p_values": P_VALUE,
            "relative_of_one_sided_bounds": OF_BOUND,
            "places": list(SEARCHED_AT),
        },
        "cancelled": {
            "meaning": "any number with decimals: at least this share of the characteristic's limits, "
            "or of 1 where that is more",
            "absolute": LAST_DIGITS,
            "absolute_below_1e-9": CANCELLED,
        },
    }


def allowed(place: str, value: float, beside: Any = None, scale: float = 1.0) -> Allowed:
    """Return how much a number at a place may differ when it is recomputed.

    Parameters
    ----------
    place : str
        Path in results.json, keys joined by dots.
    value : float
        As recomputed.
    beside : dict, optional
        The table it lies in, as recomputed; if that is an interval, its width counts.
    scale : float
        Largest of the characteristic's limits.

    Returns
    -------
    Allowed

    Examples
    --------
    >>> allowed("study.seed", 7).by
    0.0
    >>> allowed("characteristics.a.shape.x.estimate", 2.0, {"estimate": 2.0, "low": 1.0, "high": 9.0}).by
    8e-06
    """
    if isinstance(value, int):
        return Allowed("whole", 0.0)
    unit = max(scale, 1.0)
    least = unit * (CANCELLED if abs(value) <= 1e3 * CANCELLED * unit else LAST_DIGITS)
    last = place.rpartition(".")[2]
    tail = last == "p" or last.endswith("_p")
    if not tail and not any(fnmatchcase(place, pattern) for pattern in SEARCHED_AT):
        return Allowed("formula", max(FORMULA * abs(value), least))
    # A fact of the gauge is a ratio of several numbers, each of which may move.
    tail = tail or (last.endswith("_share") and ".verdict.facts.gauge." in place)
    share = P_VALUE if tail else OF_BOUND if ".lower_bound" in place else SEARCHED
    if place.endswith(".streams.selection"):
        share = OF_SELECTION
    return Allowed(
        "searched", max(share * abs(value), _of_interval(beside) * _width(place, beside), least)
    )


def _of_interval(beside: Any) -> float:
    """Return the share of its interval's width by which a number may differ."""
    method = str(beside.get("method", "")) if isinstance(beside, dict) else ""
    if "of a mixture" in method:
        return OF_MIXTURE
    if "profile likelihood" in method:
        best, high = beside.get("estimate"), beside.get("high")
        # An open end is None.
        if isinstance(best, float) and isinstance(high, float) and high > _BEYOND * best > 0:
            return OF_UNINFORMATIVE
    return OF_THRESHOLD if "with a threshold" in method else OF_INTERVAL


def _width(place: str, beside: Any) -> float:
    """Return the width of a number's interval; twice its one side where the other is open."""
    if not isinstance(beside, dict) or not {"estimate", "low", "high"} <= beside.keys():
        return 0.0
    if place.rpartition(".")[2] not in ("estimate", "low", "high"):
        return 0.0
    best, low, high = (beside[key] for key in ("estimate", "low", "high"))
    ends = [end for end in (low, high) if isinstance(end, float)]
    if len(ends) == 2:
        return abs(ends[1] - ends[0])
    return 2 * abs(ends[0] - best) if ends and isinstance(best, float) else 0.0
