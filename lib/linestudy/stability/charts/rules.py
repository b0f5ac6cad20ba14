"""Rules that name a pattern on a chart: what each looks for, who published it, how often chance does it.

Model of the rates: points are independent, normal, with known centre and standard error. The
rate of a rule is the probability that its pattern is complete at a given point. Rates of
several rules overlap; what a set does together is in ``run_length``. With limits estimated
from few subgroups, or points that correlate, chance does more than this.

Sources: Western Electric Co., *Statistical Quality Control Handbook*, 1956, part B, 25-28;
Nelson, *Journal of Quality Technology* 16 (1984), 237-239; ISO 7870-2:2013, clause 8 (numbers of
points from memory). Rate of an alternating sequence: André's zigzag numbers over n!.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.results import arguments


@dataclass(frozen=True)
class Rule:
    """One pattern.

    Attributes
    ----------
    key : str
        What it is asked for by.
    words : str
        What it looks for, for a reader.
    source : str
        Who published it.
    k, m : int
        At least k of m consecutive points, the last among them, lie in the zone. For a trend or
        an alternation, m points.
    low, high : float
        The zone, in standard errors from the centre.
    sides : str
        ``"same"`` (all on one side), ``"either"`` (side does not matter), ``"trend"`` or
        ``"alternation"``.
    """

    key: str
    words: str
    source: str
    k: int
    m: int
    low: float = 0.0
    high: float = math.inf
    sides: str = "same"

    @property
    def has_zones(self) -> bool:
        """True where the pattern depends on zones only, so that a Markov chain describes it."""
        return self.sides in ("same", "either")

    @property
    def rate(self) -> float:
        """Probability that the pattern is complete at a point although nothing has changed."""
        if self.sides == "trend":
            return 2 / math.factorial(self.m)
        if self.sides == "alternation":
            return 2 * _zigzag(self.m) / math.factorial(self.m)
        from scipy.special import ndtr
        from scipy.stats import binom

        p = float(ndtr(-self.low) - ndtr(-self.high))
        if self.sides == "either":
            p *= 2
        once = p * float(binom.sf(self.k - 2, self.m - 1, p))
        return once if self.sides == "either" else 2 * once


def _zigzag(n: int) -> int:
    """Count the alternating permutations of n that begin with a rise (André 1879)."""
    row = [1]
    for _ in range(n):
        total, sums = 0, [0]
        for number in reversed(row):
            total += number
            sums.append(total)
        row = sums
    return row[-1]


_WE, _NELSON, _ISO = "Western Electric 1956", "Nelson 1984", "ISO 7870-2"

#: Every rule by its key.
RULES: dict[str, Rule] = {
    rule.key: rule
    for rule in (
        Rule("beyond", "a point beyond three standard errors", f"{_WE}; {_NELSON}; {_ISO}", 1, 1, 3.0),
        Rule("2 of 3", "two of three points beyond two, same side", f"{_WE}; {_NELSON}", 2, 3, 2.0),
        Rule("4 of 5", "four of five points beyond one, same side", f"{_WE}; {_NELSON}", 4, 5, 1.0),
        Rule("run of 7", "seven points on one side of the centre", _ISO, 7, 7),
        Rule("run of 8", "eight points on one side of the centre", _WE, 8, 8),
        Rule("run of 9", "nine points on one side of the centre", _NELSON, 9, 9),
        Rule("trend of 6", "six points that all rise or all fall", _NELSON, 6, 6, sides="trend"),
        Rule("trend of 7", "seven points that all rise or all fall", _ISO, 7, 7, sides="trend"),
        Rule("alternation of 14", "fourteen points up and down in turn", _NELSON, 14, 14,
             sides="alternation"),
        Rule("15 within one", "fifteen points within one standard error", _NELSON, 15, 15, 0.0, 1.0,
             "either"),
        Rule("8 outside one", "eight points outside one, both sides", _NELSON, 8, 8, 1.0,
             math.inf, "either"),
    )
}  # fmt: skip

#: Published sets of rules by name.
RULE_SETS: dict[str, tuple[str, ...]] = {
    "three sigma": ("beyond",),
    "Western Electric 1956": ("beyond", "2 of 3", "4 of 5", "run of 8"),
    "Nelson 1984": (
        "beyond",
        "run of 9",
        "trend of 6",
        "alternation of 14",
        "2 of 3",
        "4 of 5",
        "15 within one",
        "8 outside one",
    ),
    "ISO 7870-2": ("beyond", "run of 7", "trend of 7"),
}


def select_rules(rules: str | Iterable[str]) -> tuple[Rule, ...]:
    """Select rules by the name of a published set, or by their keys.

    Parameters
    ----------
    rules : str or iterable of str
        A key of :data:`RULE_SETS`, a key of :data:`RULES`, or several of the latter.

    Returns
    -------
    tuple of Rule

    Raises
    ------
    ValueError
        A name that is neither, or no rule at all.

    See Also
    --------
    complete_at : Where the pattern of a rule is complete.

    Examples
    --------
    >>> len(select_rules("Nelson 1984"))
    8
    """
    keys = RULE_SETS.get(rules, (rules,)) if isinstance(rules, str) else tuple(rules)
    if not keys:
        raise ValueError("rules is empty; a chart needs at least one rule.")
    for key in keys:
        arguments.one_of(
            "rules", key, (*RULE_SETS, *RULES) if isinstance(rules, str) else tuple(RULES)
        )
    return tuple(RULES[key] for key in dict.fromkeys(keys))


def complete_at(rule: Rule, z: Any) -> Any:
    """Find where the pattern of a rule is complete.

    Parameters
    ----------
    rule : Rule
    z : array_like of float, shape (..., n)
        Points in standard errors from the centre, in order along the last axis.

    Returns
    -------
    numpy.ndarray of bool, shape (..., n)
        True at the last point of a pattern.

    Examples
    --------
    >>> complete_at(RULES["2 of 3"], [2.5, 0.0, 2.1, 0.0]).tolist()
    [False, False, True, False]
    """
    z = np.asarray(z, dtype=float)
    if rule.sides == "trend":
        step = np.sign(np.diff(z))
        return _padded(_full(step > 0, rule.m - 1) | _full(step < 0, rule.m - 1), z)
    if rule.sides == "alternation":
        step = np.sign(np.diff(z))
        turns = step[..., 1:] * step[..., :-1] < 0
        return _padded(_full(turns, rule.m - 2), z)
    if rule.sides == "either":
        size = np.abs(z)
        # The centre itself counts as inside the inner zone, as "within" says.
        inside = (size > rule.low) & (size < rule.high) if rule.low > 0 else size < rule.high
        return inside & (_count(inside, rule.m) >= rule.k)
    above, below = z > rule.low, z < -rule.low
    return (above & (_count(above, rule.m) >= rule.k)) | (below & (_count(below, rule.m) >= rule.k))


def _count(hits: Any, m: int) -> Any:
    """Count hits among the last m points (fewer at the beginning)."""
    total = np.cumsum(hits, axis=-1, dtype=np.int32)
    before = np.zeros_like(total)
    before[..., m:] = total[..., :-m]
    return total - before


def _full(hits: Any, m: int) -> Any:
    return _count(hits, m) >= m


def _padded(found: Any, z: Any) -> Any:
    """Move patterns of differences to the point that completes them."""
    out = np.zeros(z.shape, dtype=bool)
    if found.shape[-1]:
        out[..., z.shape[-1] - found.shape[-1] :] = found
    return out
