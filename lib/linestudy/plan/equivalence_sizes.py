"""How many readings show that a bias, or the difference of two gauges, lies inside an allowed margin.

Model: differences of paired readings, or readings of a master less its value, independent and normal. It is shown
where the two-sided 90 % interval of their mean lies inside the margin on both sides, which is how the verdict holds
bias and drift (two one-sided tests at 5 %: Schuirmann, *Journal of Pharmacokinetics and Biopharmaceutics* 15 (1987),
657-680). Misleads where the difference depends on the size of the part, or where readings follow each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linestudy.plan.sizes import Chance, smallest
from linestudy.results import CannotJudge, Finding, arguments
from linestudy.results.tables import Rows


@dataclass(frozen=True)
class EquivalenceSize(Finding):
    """How many differences show that their mean lies inside a margin.

    Attributes
    ----------
    n : int
        Parts read by both gauges, or readings of a master.
    sd : float
        [unit of the readings] Standard deviation of one difference.
    allowed_bias : float
        [unit of the readings] What the mean may be off, either way.
    true_bias : float
        [unit of the readings] What it is believed to be off.
    power, confidence : float
        Chance asked for; confidence of the two-sided interval that has to lie inside.
    chances : tuple of Chance
        For several sizes.
    """

    n: int
    sd: float
    allowed_bias: float
    true_bias: float
    power: float
    confidence: float
    chances: tuple[Chance, ...]
    cautions: tuple[str, ...] = (
        "Parts must span what is measured; a difference that grows with the part has to be looked for apart.",
    )
    title: ClassVar[str] = "Sample size for a bias or a difference of gauges"
    picture: ClassVar[str] = "plan:chance_of_success"

    @property
    def statement(self) -> str:
        return (
            f"With a standard deviation of {self.sd:g} and a true mean of {self.true_bias:g}, {self.n:,} differences show in "
            f"{self.power:.0%} of studies that the mean lies within ±{self.allowed_bias:g} ({self.confidence:.0%} interval inside)."
        )

    def _rows(self) -> Rows:
        return [
            {"differences": one.n, "chance to show it (%)": 100 * one.chance}
            for one in self.chances
        ]


def equivalence_size(
    *,
    sd: float,
    allowed_bias: float,
    true_bias: float = 0.0,
    power: float = 0.8,
    confidence: float = 0.90,
    largest: int = 100_000,
) -> EquivalenceSize:
    r"""Find how many differences show that their mean lies inside a margin.

    Parameters
    ----------
    sd : float
        Standard deviation of one difference, in the unit of the readings: of two gauges
        :math:`\sqrt{\sigma_1^2 + \sigma_2^2}`, of one on a master its repeatability.
    allowed_bias : float
        What the mean may be off, in the unit of the readings; ``bias_share`` times the tolerance.
    true_bias : float
        What it is believed to be off.
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the two-sided interval that has to lie inside the margin.
    largest : int
        Number at which the search gives up.

    Returns
    -------
    EquivalenceSize
        With the probability of success of several sizes.

    Raises
    ------
    CannotJudge
        The true bias is not inside the margin, or more would be needed than `largest`.
    ValueError
        An argument outside its range.

    See Also
    --------
    paired_sheet, masters_sheet : Sheets for these studies.

    Notes
    -----
    With s the standard deviation seen and t the quantile of Student's distribution, the study succeeds where
    :math:`|\bar d| + t s/\sqrt{n} \le m`; its chance is integrated over s.

    References
    ----------
    Schuirmann, *Journal of Pharmacokinetics and Biopharmaceutics* 15 (1987), 657-680.

    Examples
    --------
    >>> equivalence_size(sd=1.0, allowed_bias=0.5).n
    36
    """
    arguments.number("sd", sd, above=0)
    arguments.number("allowed_bias", allowed_bias, above=0)
    arguments.number("true_bias", true_bias)
    arguments.share("power", power)
    arguments.share("confidence", confidence)
    arguments.whole("largest", largest, least=2)
    if abs(true_bias) >= allowed_bias:
        raise CannotJudge(
            "No study shows a bias to lie inside a margin that it does not lie inside."
        )

    def at(n: int) -> float:
        return _chance(n, sd, allowed_bias, true_bias, confidence)

    n = smallest(at, power, largest)
    sizes = sorted({10, 20, 30, 50, 100, n})
    chances = tuple(Chance(size, at(size)) for size in sizes)
    return EquivalenceSize(n, sd, allowed_bias, true_bias, power, confidence, chances)


def _chance(n: int, sd: float, allowed_bias: float, true_bias: float, confidence: float) -> float:
    from scipy.special import ndtr, stdtrit

    from linestudy.plan.chances import seen_spreads

    spreads, weights = seen_spreads(float(n - 1))
    error = sd / math.sqrt(n)
    room = allowed_bias - float(stdtrit(n - 1, (1 + confidence) / 2)) * error * spreads
    inside = ndtr((room - true_bias) / error) - ndtr((-room - true_bias) / error)
    return float((weights * np.where(room > 0, inside, 0.0)).sum())
