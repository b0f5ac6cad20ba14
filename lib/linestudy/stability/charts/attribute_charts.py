"""Charts of counts: p, np, c, u, and the same widened for spread beyond chance (Laney).

Model of p and np: nonconforming parts are binomial with one rate; of c and u: nonconformities are
Poisson with one rate. With the huge samples a camera gives, chance is so small that every real
wobble of the rate signals; the widened charts multiply the limits by sigma_z, the spread of the
standardised points from their moving range (Laney, *Quality Engineering* 14 (2002), 531-537), and never by
less than one. Whether the points spread more than chance at all is tested by their index of dispersion
(chi-square; Cochran, *Biometrics* 10 (1954), 417-451) and by their successive differences (von Neumann,
*Annals of Mathematical Statistics* 12 (1941), 367-395), single points beyond the limits left out, so that
neither one bad day nor one shift of the rate argues for wider limits. The expected number of false signals is exact for the counts of the plain charts (binomial, Poisson), since
three-sigma limits of rare counts are far from 0.27 %. Misleads where counts are so rare that no
lower limit exists: improvement cannot be seen then, and where most points are zero the parts or the time
between events are to be charted instead (g and t charts; Benneyan, *Health Care Management Science* 4
(2001), 305-318, from memory).
Sources: ISO 7870-2:2013, clause 6; Laney (2002).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge, Finding, counted, plain, show
from linestudy.results.declared import Declaration
from linestudy.stability.charts.constants import d2

if TYPE_CHECKING:
    import pandas as pd

#: Charts that can be asked for; the second word says that limits are widened.
COUNT_KINDS = ("p", "np", "c", "u", "p widened", "u widened")


#: Level of the test that points spread more than chance.
SPREADS = 0.01


@dataclass(frozen=True)
class CountStudy(Finding):
    """A chart of counts.

    Attributes
    ----------
    chart : str
        One of :data:`COUNT_KINDS`.
    centre : float
        Rate (p, u) or count (np, c).
    sigma_z : float
        Spread of the standardised points from their moving range; 1 where chance is all.
    dispersion_p : float
        Probability that chance alone spreads the points so much; single points beyond the limits left out.
    n_points : int
    signals : tuple of dict
        ``point``, ``order``, ``value``, ``side``.
    expected_false_signals : float
    """

    chart: str
    centre: float
    sigma_z: float
    dispersion_p: float
    n_points: int
    signals: tuple[dict[str, Any], ...]
    expected_false_signals: float
    cautions: tuple[str, ...]
    points: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Chart of counts"
    picture: ClassVar[str] = "stability:count_chart"

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
            f"{self.n_points} points ({self.chart} chart) about {show(self.centre)} give "
            f"{counted(len(self.signals), 'signal')} where {self.expected_false_signals:.1f} are expected by "
            f"chance.{beyond}"
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        rows = [
            ("centre", show(self.centre)),
            ("spread over that of chance", show(self.sigma_z)),
            ("points", str(self.n_points)),
            ("signals", str(len(self.signals))),
            ("signals expected by chance", f"{self.expected_false_signals:.1f}"),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def record(self) -> dict[str, Any]:
        """Every field, statement and cautions."""
        names = "chart centre sigma_z dispersion_p n_points signals expected_false_signals statement cautions"
        return {name: plain(getattr(self, name)) for name in names.split()}


BIN_CHART = Declaration(
    "bin_chart", CountStudy, "Chart of rejected parts", of_study=True, order=40, picture=60
)


def counts(
    count: Any,
    size: Any = None,
    chart: str = "p",
    order: Any = None,
    sigmas: float = 3.0,
) -> CountStudy:
    """Chart counts of nonconforming parts or of nonconformities.

    Parameters
    ----------
    count : array_like of int, shape (k,)
        Counts, in production order.
    size : array_like of float, shape (k,), or float, optional
        Parts (or area of opportunity) behind each count; not needed for c.
    chart : str
        One of :data:`COUNT_KINDS`.
    order : array_like of float, shape (k,), optional
    sigmas : float

    Returns
    -------
    CountStudy

    Raises
    ------
    CannotJudge
        Fewer than two counts, counts that are not whole or exceed their size, unequal sizes for np
        or c, or a rate of 0 or 1.

    Notes
    -----
    ISO 7870-2:2013 for p, np, c and u; Laney, *Quality Engineering* 14 (2002), 531-537, for the
    corrected ones.

    Examples
    --------
    >>> counts([3, 5, 4, 6, 2, 15], 100, chart="p").signals[0]["point"]
    6
    """
    x = as_sample(count, least=2, name="count")
    if chart not in COUNT_KINDS:
        raise CannotJudge(f"There is no chart {chart!r}; known are {', '.join(COUNT_KINDS)}.")
    if (x < 0).any() or (x != np.floor(x)).any():
        raise CannotJudge("Counts must be whole numbers, not below zero.")
    n = _sizes(x, size, chart)
    binomial = chart in ("p", "np", "p widened")
    rate = float(x.sum() / n.sum())
    if rate == 0 or (binomial and rate == 1):
        what = "No" if rate == 0 else "Every"
        raise CannotJudge(f"{what} part was counted, so there is no rate to chart.")
    error = np.sqrt((rate * (1 - rate) if binomial else rate) / n)
    z = (x / n - rate) / error
    sigma_z = float(np.abs(np.diff(z)).mean()) / d2(2)
    widened = chart.endswith("widened")
    wider = max(sigma_z, 1.0) if widened else 1.0
    half = sigmas * error * wider
    low, high = np.maximum(rate - half, 0.0), rate + half
    scale = n if chart in ("np", "c") else np.ones(x.size)
    y = x / n
    beyond = np.flatnonzero((y < low - 1e-12) | (y > high + 1e-12))
    position = np.arange(1.0, x.size + 1) if order is None else np.asarray(order, dtype=float)
    found = CountStudy(
        chart,
        rate * float(scale[0]) if chart in ("np", "c") else rate,
        sigma_z,
        _dispersion_p(x, n, np.abs(z) > sigmas, binomial),
        int(x.size),
        tuple(
            {
                "point": int(i) + 1,
                "order": float(position[i]),
                "value": float(y[i] * scale[i]),
                "side": "above" if y[i] > rate else "below",
            }
            for i in beyond
        ),
        _false(x.size, n, rate, low, high, binomial, wider > 1, sigmas),
        (),
        {"order": position, "value": y * scale, "low": low * scale, "high": high * scale},
    )
    return replace(found, cautions=_cautions(found, widened, low, rate * n))


def _sizes(x: Any, size: Any, chart: str) -> Any:
    if size is None:
        if chart != "c":
            raise CannotJudge(f"A {chart} chart needs the number of parts behind each count.")
        return np.ones(x.size)
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
    """Probability that chance alone makes points spread as much as these, about their mean and from one to
    the next; the larger of the two, for a rate that only shifts is no reason for wider limits.

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


def _cautions(study: CountStudy, widened: bool, low: Any, expected: Any) -> tuple[str, ...]:
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
            f"(p = {study.dispersion_p:.2g}); the widened chart is the one to read."
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
