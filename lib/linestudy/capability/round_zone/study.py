"""Position: two deviations at once against a round tolerance zone, with and without a bonus of size."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.capability.round_zone.geometry import ellipse_index, grouped, pivots, ppm_outside
from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.shares import share_interval
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show,
    show_ppm,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given, p_text
from linestudy.results.tables import Quantity, Rows
from linestudy.running.deprecation import old_keywords, renamed

if TYPE_CHECKING:
    import pandas as pd

#: Whether the bonus of size grows with a larger hole or with a smaller pin.
Feature = Literal["hole", "pin"]
_NO_BONUS = Absent("no size is given that would widen the zone")


@dataclass(frozen=True, slots=True)
class ObservedOutside:
    """Parts counted outside a zone.

    Attributes
    ----------
    outside : int
        Parts outside.
    n : int
        All parts.
    ppm : Interval
        [ppm] Share outside, with the interval of Clopper and Pearson.
    """

    outside: int
    n: int
    ppm: Interval


@dataclass(frozen=True, slots=True)
class PositionBonus:
    """What the maximum-material condition adds: the zone widened part by part.

    Attributes
    ----------
    mean_bonus : float
        [unit of the values] Mean by which the diameter of the zone grows.
    expected_ppm : Interval
        [ppm] Parts expected outside the widened zone.
    observed : ObservedOutside
        Parts counted outside the widened zone.
    """

    mean_bonus: float
    expected_ppm: Interval
    observed: ObservedOutside


@dataclass(frozen=True, slots=True, eq=False)
class PositionPoints:
    """What the picture of a position shows.

    Attributes
    ----------
    deviations : numpy.ndarray of float, shape (n, 2)
        Of each part.
    mean : numpy.ndarray of float, shape (2,)
        Of the deviations.
    covariance : numpy.ndarray of float, shape (2, 2)
        Of the deviations.
    radius : float
        Of the zone.
    """

    deviations: FloatArray
    mean: FloatArray
    covariance: FloatArray
    radius: float


@dataclass(frozen=True)
class PositionStudy(Finding):
    """Position of one feature against a round zone.

    Attributes
    ----------
    n : int
        Parts.
    mean_x, mean_y : float
        [unit of the values] Mean deviations.
    sd_x, sd_y : float
        [unit of the values] Standard deviations of the deviations.
    correlation : float
        Of x and y.
    diameter : float
        [unit of the values] Of the tolerance zone without bonus.
    Pp : Interval
        As Ppk, with the mean at the true position.
    Ppk : Interval
        By the share of the largest ellipse that the zone holds. Formula: ``Phi^-1(1 - exp(-k²/2)/2) / 3``, k the
        Mahalanobis distance of the nearest point of the zone's edge.
    expected_ppm : Interval
        [ppm] Parts expected outside the zone, integrated.
    observed : ObservedOutside
        Parts counted outside the zone.
    with_bonus : PositionBonus or Absent
        The same with the zone widened part by part.
    unit : str
        Unit of the deviations; not recorded here.
    points : tuple
        Deviations, their mean and covariance, radius of the zone; not recorded.
    """

    n: int
    mean_x: float
    mean_y: float
    sd_x: float
    sd_y: float
    correlation: float
    diameter: float
    Pp: Interval
    Ppk: Interval
    expected_ppm: Interval
    observed: ObservedOutside
    with_bonus: PositionBonus | Absent
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    points: PositionPoints = field(repr=False, compare=False)
    title: ClassVar[str] = "Position"
    picture: ClassVar[str] = "capability:position_plot"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        off = math.hypot(self.mean_x, self.mean_y)
        text = (
            f"The axis lies {show(off, max(self.sd_x, self.sd_y) / math.sqrt(self.n))}{unit} off the "
            f"true position on average; Ppk = {show(self.Ppk)} against a zone of diameter "
            f"{as_given(self.diameter)}{unit}, and {show_ppm(self.expected_ppm)} ppm are expected "
            "outside."
        )
        if isinstance(self.with_bonus, Absent):
            return text
        return (
            f"{text} With the bonus of size (on average {show(self.with_bonus.mean_bonus)}{unit}) "
            f"it is {show_ppm(self.with_bonus.expected_ppm)}."
        )

    def _rows(self) -> Rows:
        rows = [
            Quantity("mean of x", self.mean_x, self.unit),
            Quantity("mean of y", self.mean_y, self.unit),
            Quantity("standard deviation of x", self.sd_x, self.unit),
            Quantity("standard deviation of y", self.sd_y, self.unit),
            Quantity("correlation of x and y", self.correlation),
            Quantity("Pp", self.Pp),
            Quantity("Ppk", self.Ppk),
            Quantity("expected outside", self.expected_ppm, "ppm"),
            Quantity("observed outside", self.observed.ppm, "ppm"),
        ]
        if not isinstance(self.with_bonus, Absent):
            rows += [
                Quantity("expected outside with bonus", self.with_bonus.expected_ppm, "ppm"),
                Quantity("observed outside with bonus", self.with_bonus.observed.ppm, "ppm"),
            ]
        return rows

    def shown(self) -> pd.DataFrame:
        """Return the table as text, means and correlation rounded by their standard errors.

        Returns
        -------
        pandas.DataFrame
        """
        table = super().shown()
        root = math.sqrt(self.n)
        for row, value, error in (
            (0, self.mean_x, self.sd_x / root),
            (1, self.mean_y, self.sd_y / root),
            (4, self.correlation, 1 / root),
        ):
            table.loc[row, "value"] = show(value, error)
        return table


POSITION = Declaration(
    "capability.position",
    PositionStudy,
    part="characteristic",
    question="further",
    order=10,
)


@old_keywords(
    renamed("size", "feature_size", since="0.3.0", removal="0.4.0"),
    renamed("n_mean", "n_eff_mean", since="0.2.0", removal="0.3.0"),
    renamed("n_spread", "n_eff_sd", since="0.2.0", removal="0.3.0"),
)
def position_capability(
    x: ArrayLike,
    y: ArrayLike,
    diameter: float,
    *,
    feature_size: ArrayLike | None = None,
    most_material: float | None = None,
    feature: Feature = "hole",
    n_eff_mean: float | None = None,
    n_eff_sd: float | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> PositionStudy:
    r"""Judge deviations of an axis against a round tolerance zone.

    Parameters
    ----------
    x, y : array_like of float, shape (n,)
        Deviations from the true position, part by part, in one unit; a part with one of them missing
        is left out.
    diameter : float
        Of the tolerance zone, in the unit of the deviations.
    feature_size : array_like of float, shape (n,), optional
        Size of the feature, for the bonus of the maximum-material condition.
    most_material : float, optional
        Maximum-material size: the smallest hole, the largest pin.
    feature : {"hole", "pin"}
        What the bonus grows with: a larger hole, a smaller pin.
    n_eff_mean, n_eff_sd : float, optional
        Effective sample sizes for the mean and for the covariance where parts are serially correlated; n
        when absent.
    confidence : float
        Of the two-sided intervals, between 0 and 1.
    seed : int, optional
        Of the draws behind intervals; the kit's own when absent.
    unit : str
        Unit of the deviations, for texts and pictures.

    Returns
    -------
    PositionStudy
        Indices and shares outside the zone, with intervals.

    Raises
    ------
    CannotJudge
        Fewer than ten parts with both deviations, or deviations that do not spread in two directions.
    ValueError, TypeError
        Deviations or sizes of different lengths, sizes without a maximum-material size, a zone of no
        width, or an unknown feature.

    See Also
    --------
    process_capability : One deviation against its limits.

    Notes
    -----
    Model: the deviations of a feature's axis from its true position are bivariate normal; a part
    is good where the axis lies inside a circle of diameter T. With the maximum-material condition the
    diameter of the zone grows by what the feature departs from its maximum-material size, part by part;
    sizes are taken as seen, independent of the deviations. The largest ellipse of equal density around
    the mean that the zone holds, at Mahalanobis distance k, contains a share of parts, and Ppk is the index
    that a normal characteristic with both limits equally far would have with that share,

    .. math:: P_{pk} = \tfrac13 \Phi^{-1}\!\left(1 - \tfrac12 e^{-k^2/2}\right)

    (formula from memory, not checked against the standard's text). The share outside is integrated over
    the zone. Intervals are generalized pivots: an inverse Wishart matrix in place of the covariance.
    Misleads where deviations are not normal (two stations, two cavities), which fill the zone otherwise,
    and where the bonus goes with the deviation. Judging the distance alone as if it were a normal value hides
    in which direction the die is off.

    References
    ----------
    ISO 22514-6:2013 (from memory); ISO 2692:2021 and ASME Y14.5 for the bonus; Gamage, Mathew &
    Weerahandi, *Journal of Multivariate Analysis* 88 (2004), 177-189, for the pivots; Henze & Zirkler,
    *Communications in Statistics - Theory and Methods* 19 (1990), 3595-3617, for the test of bivariate
    normality, by pingouin.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> found = position_capability(*rng.normal(0, 0.01, (2, 2000)), diameter=0.1, unit="mm")
    >>> print(found.statement)
    The axis lies 0.00015 mm off the true position on average; Ppk = 1.509 (1.446 to 1.543) against a zone of
    diameter 0.1 mm, and 4.2 (2.5 to 7.5) ppm are expected outside.
    """
    a, b = _deviations("x", x), _deviations("y", y)
    arguments.same_length(x=a, y=b, feature_size=feature_size)
    arguments.number("diameter", diameter, above=0)
    arguments.one_of("feature", feature, get_args(Feature))
    arguments.share("confidence", confidence)
    if feature_size is not None and most_material is None:
        raise ValueError(
            "feature_size is given without most_material; a bonus needs the maximum-material size."
        )
    here = np.isfinite(a) & np.isfinite(b)
    if feature_size is not None:
        sizes = _deviations("feature_size", feature_size)
        here &= np.isfinite(sizes)
    points = np.stack([a[here], b[here]], axis=1)
    n = len(points)
    if n < 10:
        raise CannotJudge(f"{n} parts have both deviations; ten are needed.")
    mean = points.mean(axis=0)
    covariance = np.cov(points.T)
    if np.linalg.det(covariance) <= 1e-12 * np.trace(covariance) ** 2:
        raise CannotJudge(
            "The deviations do not spread in two directions, so no ellipse describes them."
        )
    arguments.positive(n_eff_mean=n_eff_mean, n_eff_sd=n_eff_sd)
    for_mean, for_sd = min(n_eff_mean or n, n), max(min(n_eff_sd or n, n), 4.0)
    radius = diameter / 2
    means, covariances = pivots(mean, covariance, for_mean, for_sd, generator(seed, "position"))

    def around(estimate: float, sample: NDArray[np.float64]) -> Interval:
        low, high = np.quantile(sample, [(1 - confidence) / 2, (1 + confidence) / 2])
        return Interval(
            estimate,
            min(float(low), estimate),
            max(float(high), estimate),
            confidence,
            "generalized pivot",
        )

    one = mean[None], covariance[None]
    still = np.zeros_like(means)
    outside = np.hypot(*points.T) > radius
    bonus: PositionBonus | Absent = _NO_BONUS
    if feature_size is not None and most_material is not None:
        gained = sizes[here] - most_material if feature == "hole" else most_material - sizes[here]
        gained = np.maximum(gained, 0.0)
        radii, weights = grouped(radius + gained / 2)
        bonus = PositionBonus(
            mean_bonus=float(gained.mean()),
            expected_ppm=around(
                float(ppm_outside(*one, radii, weights)[0]),
                ppm_outside(means, covariances, radii, weights),
            ),
            observed=_counted(np.hypot(*points.T) > radius + gained / 2, confidence),
        )
    alone = np.array([radius]), np.ones(1)
    return PositionStudy(
        n=n,
        mean_x=float(mean[0]),
        mean_y=float(mean[1]),
        sd_x=math.sqrt(covariance[0, 0]),
        sd_y=math.sqrt(covariance[1, 1]),
        correlation=float(covariance[0, 1] / math.sqrt(covariance[0, 0] * covariance[1, 1])),
        diameter=float(diameter),
        Pp=around(
            float(ellipse_index(still[:1], one[1], radius)[0]),
            ellipse_index(still, covariances, radius),
        ),
        Ppk=around(
            float(ellipse_index(*one, radius)[0]), ellipse_index(means, covariances, radius)
        ),
        expected_ppm=around(
            float(ppm_outside(*one, *alone)[0]), ppm_outside(means, covariances, *alone)
        ),
        observed=_counted(outside, confidence),
        with_bonus=bonus,
        unit=unit,
        cautions=_cautions(points, sizes[here] if feature_size is not None else None, for_mean),
        points=PositionPoints(points, mean, covariance, radius),
    )


def _counted(outside: NDArray[np.bool_], confidence: float) -> ObservedOutside:
    count, n = int(outside.sum()), int(outside.size)
    return ObservedOutside(count, n, share_interval(count, n, confidence).times(1e6))


def _deviations(name: str, values: ArrayLike) -> NDArray[np.float64]:
    """Return one number for each part; some may be missing."""
    import pandas as pd

    if isinstance(values, pd.DataFrame):
        raise TypeError(f"{name} is a table; give the one column that holds the readings.")
    return data_arguments.numbers(values, 1, name=name)


def _bivariate_normal(points: FloatArray, n_eff: float) -> float:
    """Return the p-value of Henze and Zirkler's test on nearly independent parts, a thousand at most."""
    import pingouin

    step = max(math.ceil(len(points) / min(max(n_eff, 10.0), 1000.0)), 1)
    return float(pingouin.multivariate_normality(points[::step]).pval)


def _cautions(points: FloatArray, sizes: Any, n_eff: float) -> tuple[str, ...]:
    from scipy.stats import spearmanr

    notes = []
    n = len(points)
    if n < 100:
        notes.append(f"{n} parts are few for two directions; see how wide the intervals are.")
    if n_eff < 0.5 * n:
        notes.append(
            f"Parts are not independent: their effective sample size is {n_eff:,.0f} of {n:,}; intervals use that."
        )
    p = _bivariate_normal(points, n_eff)
    if p < 0.01:
        notes.append(
            f"The deviations are not bivariate normal (Henze-Zirkler, {p_text(p)}); the counted share is "
            "the safer number, and the expected one an extrapolation of the wrong form."
        )
    if sizes is not None and np.ptp(sizes) > 0:
        rank = float(spearmanr(sizes, np.hypot(*points.T)).statistic)
        if abs(rank) > 0.2:
            notes.append(
                f"Size and deviation go together (rank correlation {rank:.2f}), which the expected "
                "share with bonus does not know."
            )
    return tuple(notes)
