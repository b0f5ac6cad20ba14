"""How many readings show that a bias, or the difference of two gauges, lies inside an allowed margin.

Model: differences of paired readings, or readings of a master less its value, independent and normal. It is shown
where the two-sided 90 % interval of their mean lies inside the margin on both sides, which is how the verdict holds
bias and drift (two one-sided tests at 5 %: Schuirmann, *Journal of Pharmacokinetics and Biopharmaceutics* 15 (1987),
657-680). Of two gauges on the same parts the decision sheet says by the same bound that their mean difference lies within the
margin; where it says that neither within nor beyond is shown, the study was smaller than planned here. Misleads where the difference depends on the size of the part, or where readings follow each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.plan.chances import per_cent_of
from linestudy.plan.sizes import Chance, smallest
from linestudy.results import CannotJudge, Finding, arguments
from linestudy.results.rounding import as_given
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
    masters : int or None
        Masters from limit to limit whose line is read at both limits; None where one mean is.
    """

    n: int
    sd: float
    allowed_bias: float
    true_bias: float
    power: float
    confidence: float
    chances: tuple[Chance, ...]
    masters: int | None = None
    cautions: tuple[str, ...] = (
        "Parts must span what is measured; a difference that grows with the part has to be looked for apart.",
    )
    title: ClassVar[str] = "Sample size for a bias or a difference of gauges"
    picture: ClassVar[str] = "plan:chance_of_success"

    @property
    def statement(self) -> str:
        if self.masters is not None:
            return (
                f"With a standard deviation of {as_given(self.sd, digits=3)} and a true bias of {as_given(self.true_bias)}, {self.n:,} readings of "
                f"{self.masters} masters show in {self.power:.0%} of studies that the bias lies within ±{as_given(self.allowed_bias)} at "
                f"both limits ({self.confidence:.0%} intervals inside)."
            )
        return (
            f"With a standard deviation of {as_given(self.sd, digits=3)} and a true mean of {as_given(self.true_bias)}, {self.n:,} differences show in "
            f"{self.power:.0%} of studies that the mean lies within ±{as_given(self.allowed_bias)} ({self.confidence:.0%} interval inside)."
        )

    def _rows(self) -> Rows:
        return [
            {"differences": one.n, "chance to show it (%)": per_cent_of(one.chance)}
            for one in self.chances
        ]


def equivalence_size(
    *,
    sd: float,
    allowed_bias: float,
    true_bias: float = 0.0,
    masters: int | None = None,
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
    masters : int, optional
        At least two masters, evenly spread from one limit to the other and read equally often, through whose errors a line is
        laid: the verdict reads it at both limits. When absent, the mean of the differences is what has to lie inside.
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
    :math:`|\bar d| + t s/\sqrt{n} \le m`; its chance is integrated over s. Of masters from limit to limit 4,000
    studies are drawn and held as the verdict holds them: the line at both limits, by its own error or by each master's spread,
    whichever is wider. A line costs about three times the readings of a mean.

    References
    ----------
    Schuirmann, *Journal of Pharmacokinetics and Biopharmaceutics* 15 (1987), 657-680.

    Examples
    --------
    >>> equivalence_size(sd=1.0, allowed_bias=0.5).n
    36
    >>> equivalence_size(sd=1.0, allowed_bias=0.5, masters=3).n
    114
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

    if masters is not None:
        arguments.whole("masters", masters, least=2)

    def at(n: int) -> float:
        if masters is None:
            return _chance(n, sd, allowed_bias, true_bias, confidence)
        return _chance_on_line(n // masters, masters, sd, allowed_bias, true_bias, confidence)

    # Each master is read equally often.
    each = 1 if masters is None else masters
    n = each * smallest(lambda size: at(each * size), power, largest // each)
    sizes = sorted({each * -(-size // each) for size in (10, 20, 30, 50, 100)} | {n})
    chances = tuple(Chance(size, at(size)) for size in sizes)
    return EquivalenceSize(n, sd, allowed_bias, true_bias, power, confidence, chances, masters)


def _chance_on_line(
    times: int, masters: int, sd: float, allowed_bias: float, true_bias: float, confidence: float
) -> float:
    """Draw studies of masters read so often each, and hold the line at both limits as the verdict does.

    The interval of the line, or that by each master's own spread, whichever is wider, at 95 % and brought to the
    confidence asked for by the normal ratio.
    """
    from scipy.special import gammaincinv, ndtri, stdtrit

    if times < 2:
        return 0.0
    rng = generator(None, "readings of masters")
    x = np.linspace(-1.0, 1.0, masters)
    level = np.array([1 / masters + end * x / (x @ x) for end in (-1.0, 1.0)])
    means = true_bias + sd / math.sqrt(times) * rng.standard_normal((_DRAWS, masters))
    inner = (times - 1) / 2
    variances = sd**2 * gammaincinv(inner, rng.uniform(size=means.shape)) / inner
    values = means @ level.T
    lines = means.mean(axis=1, keepdims=True) + (means @ x / (x @ x))[:, None] * x
    df = masters * times - 2
    sse = (times - 1) * variances.sum(axis=1) + times * ((means - lines) ** 2).sum(axis=1)
    plain = (
        stdtrit(df, 0.975) * np.sqrt(sse / df / times)[:, None] * np.sqrt((level**2).sum(axis=1))
    )
    half = plain
    if times >= 3:
        terms = (variances / times)[:, None, :] * level**2
        total = terms.sum(axis=2)
        freedom = total**2 / (terms**2 / (times - 1)).sum(axis=2)
        half = np.maximum(plain, stdtrit(freedom, 0.975) * np.sqrt(total))
    half = half * float(ndtri((1 + confidence) / 2) / ndtri(0.975))
    return float((np.abs(values) + half <= allowed_bias).all(axis=1).mean())


#: Studies drawn for a plan of masters; a chance is known to a hundredth.
_DRAWS = 4_000


def _chance(n: int, sd: float, allowed_bias: float, true_bias: float, confidence: float) -> float:
    from scipy.special import ndtr, stdtrit

    from linestudy.plan.chances import seen_spreads

    spreads, weights = seen_spreads(float(n - 1))
    error = sd / math.sqrt(n)
    margin = allowed_bias - float(stdtrit(n - 1, (1 + confidence) / 2)) * error * spreads
    inside = ndtr((margin - true_bias) / error) - ndtr((-margin - true_bias) / error)
    return float((weights * np.where(margin > 0, inside, 0.0)).sum())
