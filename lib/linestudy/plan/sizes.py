"""How many parts, before anyone measures.

Model: independent normal parts, a one-sided index. The study succeeds when the one-sided lower
confidence bound of the index lies above what is required; the chance of that follows from the
noncentral t distribution (Owen, *Technometrics* 10 (1968)). For two-sided limits it is nearly the
same unless the mean lies in the middle. Misleads when parts are serially correlated: then it is
the number of independent parts that counts, and more must be taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from linestudy.results import CannotJudge, Finding, arguments
from linestudy.results.tables import Rows


@dataclass(frozen=True, slots=True)
class Chance:
    """What one sample size can show.

    Attributes
    ----------
    n : int
        Independent parts.
    chance : float
        Probability that the study succeeds.
    """

    n: int
    chance: float


@dataclass(frozen=True)
class SampleSize(Finding):
    """How many parts show an index, and what smaller samples could.

    Attributes
    ----------
    n : int
        Independent parts needed.
    true_index : float
        What the index is believed to be.
    required : float
        What it must be shown to exceed.
    power : float
        Probability of success that is asked for.
    confidence : float
        Of the one-sided lower bound.
    chances : tuple of Chance
        Sample sizes and the probability of success with each.
    """

    n: int
    true_index: float
    required: float
    power: float
    confidence: float
    chances: tuple[Chance, ...]
    cautions: tuple[str, ...] = (
        "Parts must be independent: on a fast line take them far enough apart.",
    )
    title: ClassVar[str] = "Sample size"
    picture: ClassVar[str] = "plan:chance_of_success"

    @property
    def statement(self) -> str:
        return (
            f"If the index is truly {self.true_index:g}, {self.n:,} independent parts show it above "
            f"{self.required:g} at {self.confidence:.0%} confidence in {self.power:.0%} of studies."
        )

    def _rows(self) -> Rows:
        return [{"parts": one.n, "chance to show it (%)": 100 * one.chance} for one in self.chances]


def chance_to_show(
    n: int, true_index: float, required: float, *, confidence: float = 0.95
) -> float:
    r"""Compute the probability that n parts show an index above what is required.

    Parameters
    ----------
    n : int
        Independent parts, at least 2.
    true_index : float
        True value of the one-sided index (Cpk or Ppk with one limit that decides).
    required : float
        Value that its lower confidence bound must exceed.
    confidence : float
        Of the one-sided lower bound, between 0 and 1.

    Returns
    -------
    float
        Between 0 and 1.

    Raises
    ------
    ValueError
        An argument outside its range.

    See Also
    --------
    sample_size : The smallest sample with a given probability.

    Notes
    -----
    Model: independent values of one normal distribution and one limit that decides. With
    :math:`t_{n-1}(\delta)` the noncentral t distribution and :math:`c` its quantile at the
    confidence under :math:`\delta = 3\sqrt{n}\,C_0`, the probability is

    .. math:: P\{t_{n-1}(3\sqrt{n}\,C) > c\}

    for a true index :math:`C` and a required :math:`C_0`. Misleads where parts are serially
    correlated (count effective parts), and where both limits are equally near.

    References
    ----------
    Owen, *Technometrics* 10 (1968), 445-478, section 3.

    Examples
    --------
    >>> print(f"{chance_to_show(100, 2.0, 1.67):.2f}")
    0.77
    """
    from scipy.stats import nct

    arguments.whole("n", n, least=2)
    arguments.number("true_index", true_index)
    arguments.number("required", required)
    arguments.share("confidence", confidence)
    root = 3 * math.sqrt(n)
    # The bound exceeds `required` where the observed t exceeds this quantile under `required`.
    critical = nct.ppf(confidence, n - 1, root * required)
    return float(nct.sf(critical, n - 1, root * true_index))


def sample_size(
    *,
    true_index: float = 2.0,
    required: float = 1.67,
    power: float = 0.8,
    confidence: float = 0.95,
    largest: int = 100_000,
) -> SampleSize:
    """Find the smallest number of parts that shows an index above what is required.

    Parameters
    ----------
    true_index : float
        What the index is believed to be.
    required : float
        What it must be shown to exceed.
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the one-sided lower bound, between 0 and 1.
    largest : int
        Number of parts at which the search gives up.

    Returns
    -------
    SampleSize
        With the probability of success of several sample sizes.

    Raises
    ------
    CannotJudge
        The true index is not above what is required, or the sample would be too large.
    ValueError
        An argument outside its range.

    See Also
    --------
    chance_to_show : The probability for one sample size, with model and formula.
    interval_size : Parts for an interval of a given width.

    Notes
    -----
    Bisection over :func:`chance_to_show`, which grows with the number of parts.

    References
    ----------
    Owen, *Technometrics* 10 (1968), 445-478.

    Examples
    --------
    >>> print(sample_size(true_index=2.0, required=1.33).statement)
    If the index is truly 2, 24 independent parts show it above 1.33 at 95% confidence in 80% of studies.
    """
    arguments.share("power", power)
    arguments.whole("largest", largest, least=2)
    if true_index <= required:
        raise CannotJudge("No sample shows an index above a value that it does not exceed.")

    def chance(n: int) -> float:
        return chance_to_show(n, true_index, required, confidence=confidence)

    low, high = 2, 4
    while chance(high) < power:
        low, high = high, high * 2
        if high > largest:
            raise CannotJudge(f"More than {largest:,} parts would be needed.")
    while high - low > 1:
        middle = (low + high) // 2
        if chance(middle) < power:
            low = middle
        else:
            high = middle
    sizes = sorted({10, 30, 50, 100, 125, 200, 300, high})
    chances = tuple(Chance(n, chance(n)) for n in sizes)
    return SampleSize(high, true_index, required, power, confidence, chances)
