"""Attribute charts: p, np, c, u, and p and u widened for spread beyond chance."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, Finding, arguments, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import p_text
from linestudy.results.tables import Quantity, Rows
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.stability.charts.chart_study import Course
from linestudy.stability.charts.constants import d2

#: Charts that can be asked for; the second word says that limits are widened.
ATTRIBUTE_CHARTS = ("p", "np", "c", "u", "p widened", "u widened")


#: Level of the test that points spread more than chance.
SPREADS = 0.01


@dataclass(frozen=True, slots=True)
class AttributeSignal:
    """One signal of an attribute chart.

    Attributes
    ----------
    point : int
        Number of the point, from 1.
    order : float
        Its order number.
    value : float
        Rate (p, u) or count (np, c).
    side : str
        ``"above"`` or ``"below"``.
    """

    point: int
    order: float
    value: float
    side: str


@dataclass(frozen=True)
class AttributeChartStudy(Finding):
    """A chart of nonconforming parts or of nonconformities.

    Attributes
    ----------
    chart : str
        One of :data:`ATTRIBUTE_CHARTS`.
    centre : float
        Rate (p, u) or count (np, c).
    sigma_z : float
        Standard deviation of the standardised points from their moving range; 1 where chance is all.
    dispersion_p : float
        Probability that chance alone spreads the points so much; single points beyond the limits left out.
    n_points : int
        Points on the chart.
    signals : tuple of AttributeSignal
        In the order of points.
    expected_false_signals : float
        How many a constant rate would give; exact for the counts of the plain charts.
    centre_error : float
        Standard error of the centre were chance all, by which it is rounded; not recorded.
    """

    chart: str
    centre: float
    sigma_z: float
    dispersion_p: float
    n_points: int
    signals: tuple[AttributeSignal, ...]
    expected_false_signals: float
    cautions: tuple[str, ...]
    centre_error: float = field(repr=False, compare=False)
    points: Course = field(repr=False, compare=False)
    title: ClassVar[str] = "Attribute chart"
    picture: ClassVar[str] = "stability:attribute_chart"

    @property
    def spreads_more(self) -> bool:
        """Whether the points spread more than chance, so that the widened chart is the one to read."""
        return self.dispersion_p < SPREADS and self.sigma_z > 1

    @property
    def statement(self) -> str:
        beyond = (
            f" The rate varies {self.sigma_z:.1f} times as much as chance alone would make it."
            if self.spreads_more
            else ""
        )
        return (
            f"{len(self.signals):,} of {self.n_points} points out of control "
            f"({self.expected_false_signals:.1f} false alarms expected; {self.chart} chart, CL {show(self.centre, self.centre_error)}).{beyond}"
        )

    def _rows(self) -> Rows:
        return [
            Quantity("centre", self.centre, "", self.centre_error),
            Quantity("spread over that of chance (sigma z)", self.sigma_z),
            Quantity("p of no spread beyond chance", self.dispersion_p, "p"),
            Quantity("points", self.n_points),
            Quantity("signals", len(self.signals)),
            Quantity("signals expected by chance", self.expected_false_signals, "", 1.0),
        ]


BIN_CHART = Declaration(
    "bin_chart",
    AttributeChartStudy,
    "Chart of rejected parts",
    of_study=True,
    order=40,
    picture=60,
)


@old_keywords(
    renamed("chart", "kind", since="0.3.0", removal="0.4.0"),
    renamed("count", "counts", since="0.3.0", removal="0.4.0"),
)
def attribute_chart(
    counts: ArrayLike,
    size: ArrayLike | None = None,
    *,
    kind: str = "p",
    order: ArrayLike | None = None,
    sigmas: float = 3.0,
) -> AttributeChartStudy:
    r"""Chart counts of nonconforming parts or of nonconformities.

    Parameters
    ----------
    counts : array_like of int, shape (k,)
        Counts, in production order.
    size : array_like of float, shape (k,), or float, optional
        Parts (or area of opportunity) behind each count; not needed for c.
    kind : str
        One of :data:`ATTRIBUTE_CHARTS`.
    order : array_like of float, shape (k,), optional
        Order number of each count; 1, 2, … when absent.
    sigmas : float
        Distance of the limits in standard errors, above 0.

    Returns
    -------
    AttributeChartStudy
        Limits, signals, and whether points spread more than chance.

    Raises
    ------
    CannotJudge
        Fewer than two counts, counts that are not whole or exceed their size, unequal sizes for np
        or c, or a rate of 0 or 1.
    ValueError, TypeError
        An unknown chart, sizes that are absent or do not fit the counts, another argument outside its range.

    See Also
    --------
    control_chart : For measured values.
    reject_balance : What the parts measured let expect of the bins.

    Notes
    -----
    Model of p and np: nonconforming parts are binomial with one rate; of c and u: nonconformities are
    Poisson with one rate,

    .. math:: \bar p \pm 3\sqrt{\bar p(1-\bar p)/n_i}, \qquad \bar u \pm 3\sqrt{\bar u/n_i}.

    With the huge samples a camera gives, chance is so small that every real
    movement of the rate signals; the widened charts multiply the limits by :math:`\sigma_z`, the standard
    deviation of the standardised points from their moving range, and never by
    less than one. Whether points spread more than chance is tested by their index of dispersion
    (chi-square) and by their successive differences, single points beyond the limits left out, so that
    neither one bad day nor one shift of the rate argues for wider limits. Misleads where counts are so
    rare that no lower limit exists: an improvement cannot be seen then; where most points are zero, the parts
    or the time between events are to be charted instead (g and t charts).

    References
    ----------
    ISO 7870-2:2013, clause 6. Laney, *Quality Engineering* 14 (2002), 531-537 (widened). Cochran,
    *Biometrics* 10 (1954), 417-451 (dispersion). Von Neumann, *Annals of Mathematical Statistics* 12 (1941),
    367-395 (successive differences). Benneyan, *Health Care Management Science* 4 (2001), 305-318 (g and t
    charts, from memory).

    Examples
    --------
    >>> study = attribute_chart([3, 5, 4, 6, 2, 15], 100, kind="p")
    >>> study.signals[0].point
    6
    """
    arguments.one_of("kind", kind, ATTRIBUTE_CHARTS)
    arguments.number("sigmas", sigmas, above=0)
    x = data_arguments.one_dimensional(counts, name="counts", least=2, what="count")
    if (x < 0).any() or (x != np.floor(x)).any():
        raise CannotJudge("Counts must be whole numbers, not below zero.")
    n = _sizes(x, size, kind)
    binomial = kind in ("p", "np", "p widened")
    rate = float(x.sum() / n.sum())
    if rate == 0 or (binomial and rate == 1):
        what = "All counts are nought" if rate == 0 else "Every part was counted"
        raise CannotJudge(f"{what}, so there is no rate to chart.")
    error = np.sqrt((rate * (1 - rate) if binomial else rate) / n)
    z = (x / n - rate) / error
    sigma_z = float(np.abs(np.diff(z)).mean()) / d2(2)
    widened = kind.endswith("widened")
    wider = max(sigma_z, 1.0) if widened else 1.0
    half = sigmas * error * wider
    low, high = np.maximum(rate - half, 0.0), rate + half
    scale = n if kind in ("np", "c") else np.ones(x.size)
    y = x / n
    beyond = np.flatnonzero((y < low - 1e-12) | (y > high + 1e-12))
    position = np.arange(1.0, x.size + 1)
    if order is not None:
        position = data_arguments.one_dimensional(order, name="order", what="order number")
        arguments.same_length(counts=x, order=position)
    found = AttributeChartStudy(
        chart=kind,
        centre=rate * float(scale[0]) if kind in ("np", "c") else rate,
        centre_error=float(error[0] * scale[0] * math.sqrt(n[0] / n.sum())),
        sigma_z=sigma_z,
        dispersion_p=_dispersion_p(x, n, np.abs(z) > sigmas, binomial),
        n_points=int(x.size),
        signals=tuple(
            AttributeSignal(
                int(i) + 1,
                float(position[i]),
                float(y[i] * scale[i]),
                "above" if y[i] > rate else "below",
            )
            for i in beyond
        ),
        expected_false_signals=_false(x.size, n, rate, low, high, binomial, wider > 1, sigmas),
        cautions=(),
        points=Course(
            "count" if kind in ("np", "c") else "rate",
            position,
            y * scale,
            low * scale,
            high * scale,
        ),
    )
    return replace(found, cautions=_cautions(found, widened, low, rate * n))


def _sizes(x: Any, size: Any, chart: str) -> Any:
    if size is None:
        if chart != "c":
            raise ValueError(
                f"size is absent; a {chart} chart needs the number of parts behind each count."
            )
        return np.ones(x.size)
    if np.ndim(size):
        arguments.same_length(counts=x, size=size)
    n = np.broadcast_to(np.asarray(size, dtype=float), x.shape).copy()
    if not np.isfinite(n).all() or (n <= 0).any():
        raise CannotJudge("The number of parts behind a count must be above zero.")
    if chart in ("np", "c") and np.ptp(n) > 0:
        other = "p" if chart == "np" else "u"
        raise CannotJudge(f"Sizes differ, so counts cannot be compared; use a {other} chart.")
    if chart in ("p", "np", "p widened") and (x > n).any():
        raise CannotJudge("More parts were counted as nonconforming than were looked at.")
    return n


def _false(
    points: int,
    n: Any,
    rate: float,
    low: Any,
    high: Any,
    binomial: bool,
    widened: bool,
    sigmas: float,
) -> float:
    from scipy.special import ndtr
    from scipy.stats import binom, poisson

    if widened:
        return points * 2 * float(ndtr(-sigmas))
    top, bottom = np.floor(high * n + 1e-9), np.ceil(low * n - 1e-9) - 1
    if binomial and (n == np.floor(n)).all():
        return float((binom.sf(top, n, rate) + binom.cdf(bottom, n, rate)).sum())
    return float((poisson.sf(top, rate * n) + poisson.cdf(bottom, rate * n)).sum())


def _dispersion_p(x: Any, n: Any, beyond: Any, binomial: bool) -> float:
    """Compute the probability that chance alone spreads points as much, about their mean or from one to the next.

    Points beyond the limits are left out where they are a fifth of all at most: few are special causes,
    many are how the rate usually moves (common practice, no source).
    """
    from scipy.special import chdtrc

    inside = ~beyond if beyond.mean() <= 0.2 else np.ones(x.size, dtype=bool)
    x, n = x[inside], n[inside]
    rate = float(x.sum() / n.sum())
    if x.size < 3 or rate == 0 or (binomial and rate == 1):
        return 1.0
    z = (x - n * rate) / np.sqrt(n * rate * (1 - rate) if binomial else n * rate)
    k = z.size
    about_mean = float(chdtrc(k - 1, float((z**2).sum())))
    # The mean square successive difference over two has variance (3k - 4) / (k - 1)**2 (von Neumann 1941).
    successive, df = float((np.diff(z) ** 2).sum()) / (2 * (k - 1)), 2 * (k - 1) ** 2 / (3 * k - 4)
    return max(about_mean, float(chdtrc(df, successive * df)))


def _cautions(
    study: AttributeChartStudy, widened: bool, low: Any, expected: Any
) -> tuple[str, ...]:
    notes = []
    if study.n_points < 25:
        notes.append(f"{study.n_points} points are few to set limits by; 25 are usual.")
    if widened and study.sigma_z <= 1:
        notes.append(
            "The points spread no more than chance, so the limits are those of the plain chart, not narrower."
        )
    if not widened and study.spreads_more:
        notes.append(
            f"The points spread {study.sigma_z:.1f} times as much as chance, more than chance itself explains "
            f"({p_text(study.dispersion_p)}); the widened chart is the one to read."
        )
    if float(np.mean(expected)) < 1:
        notes.append(
            "On average a point expects less than one count, so most are zero: chart the parts (g chart) or the "
            "time (t chart) between events instead."
        )
    elif float(expected.min()) < 5:
        notes.append(
            "Some points expect fewer than five counts; the limits of such points are coarse."
        )
    if (low <= 0).all():
        notes.append("There is no lower limit, so an improvement cannot signal.")
    return tuple(notes)
