"""Position: two deviations at once against a round tolerance zone, with and without a bonus of size.

Model: the deviations x and y of a feature's axis from its true position are bivariate normal; a part
is good where the axis lies inside a circle of diameter T. With the maximum-material condition the
diameter of the zone grows by what the feature departs from its maximum-material size (ISO 2692; ASME
Y14.5), part by part; sizes are taken as seen, independent of the deviations. The index follows the
idea of ISO 22514-6:2013: the largest ellipse of equal density around the mean that the zone holds
contains a share P of parts, and ``Ppk`` is the index that a normal characteristic with both limits
equally far would have with that share; ``Pp`` is the same with the mean at the true position (formula
from memory, not checked against the standard's text). The share outside is integrated over the zone.

When it misleads: deviations that are not normal (two stations, two cavities) fill the zone otherwise
than the model; a bonus that goes with the deviation is not what the model assumes. Judging the
distance alone as if it were a normal value hides in which direction the die is off.

Intervals: generalized pivots (an inverse Wishart matrix in place of the covariance; Gamage, Mathew &
Weerahandi, *Journal of Multivariate Analysis* 88 (2004), 177-189, for the pivots of a bivariate
normal), with effective numbers where parts are serially correlated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.capability.round_zone.geometry import ellipse_index, grouped, pivots, ppm_outside
from linestudy.numerics import generator
from linestudy.numerics.shares import share_interval
from linestudy.results import Absent, CannotJudge, Finding, Interval, plain, show, show_ppm
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd

_NO_BONUS = Absent("no size is given that would widen the zone")


@dataclass(frozen=True)
class PositionStudy(Finding):
    """Position of one feature against a round zone.

    Attributes
    ----------
    n : int
        Parts.
    mean_x, mean_y, sd_x, sd_y : float
        Of the deviations, in their unit.
    correlation : float
        Of x and y.
    diameter : float
        Of the tolerance zone without bonus.
    Pp, Ppk : Interval
        By the share of the largest ellipse that the zone holds.
    expected_ppm : Interval
        Outside the zone, integrated.
    observed : dict
        ``outside``, ``n``, ``ppm`` (Interval).
    with_bonus : dict or Absent
        ``expected_ppm`` (Interval), ``observed`` and ``mean_bonus``, the zone widened part by part.
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
    observed: dict[str, Any]
    with_bonus: dict[str, Any] | Absent
    unit: str
    cautions: tuple[str, ...]
    points: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Position"
    picture: ClassVar[str] = "capability:where_the_axis_lies"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        off = math.hypot(self.mean_x, self.mean_y)
        text = (
            f"The axis lies {show(off, max(self.sd_x, self.sd_y) / math.sqrt(self.n))}{unit} off the "
            f"true position on average; Ppk = {show(self.Ppk)} against a zone of diameter "
            f"{self.diameter:g}{unit}, and {show_ppm(self.expected_ppm)} parts per million are expected "
            "outside."
        )
        if isinstance(self.with_bonus, Absent):
            return text
        return (
            f"{text} With the bonus of size (on average {show(self.with_bonus['mean_bonus'])}{unit}) "
            f"it is {show_ppm(self.with_bonus['expected_ppm'])}."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            (f"mean of x{unit}", show(self.mean_x, self.sd_x / math.sqrt(self.n))),
            (f"mean of y{unit}", show(self.mean_y, self.sd_y / math.sqrt(self.n))),
            (f"standard deviation of x{unit}", show(self.sd_x)),
            (f"standard deviation of y{unit}", show(self.sd_y)),
            ("correlation of x and y", show(self.correlation, 0.05)),
            ("Pp", show(self.Pp)),
            ("Ppk", show(self.Ppk)),
            ("expected outside (ppm)", show_ppm(self.expected_ppm)),
            ("observed outside (ppm)", show_ppm(self.observed["ppm"])),
        ]
        if not isinstance(self.with_bonus, Absent):
            rows += [
                ("expected outside with bonus (ppm)", show_ppm(self.with_bonus["expected_ppm"])),
                ("observed outside with bonus (ppm)", show_ppm(self.with_bonus["observed"]["ppm"])),
            ]
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def record(self) -> dict[str, Any]:
        """The attributes without the points, statement and cautions."""
        names = (
            "n",
            "mean_x",
            "mean_y",
            "sd_x",
            "sd_y",
            "correlation",
            "diameter",
            "Pp",
            "Ppk",
            "expected_ppm",
            "observed",
            "with_bonus",
        )
        content = {name: plain(getattr(self, name)) for name in names}
        return content | {"statement": self.statement, "cautions": list(self.cautions)}


POSITION = Declaration(
    "capability.position",
    PositionStudy,
    "Position",
    part="characteristic",
    question="further",
    order=10,
)


def position(
    x: Any,
    y: Any,
    diameter: float,
    size: Any = None,
    most_material: float | None = None,
    feature: str = "hole",
    n_mean: float | None = None,
    n_spread: float | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> PositionStudy:
    """Judge deviations of an axis against a round tolerance zone.

    Parameters
    ----------
    x, y : array_like of float, shape (n,)
        Deviations from the true position, part by part.
    diameter : float
        Of the tolerance zone, in the unit of the deviations.
    size : array_like of float, shape (n,), optional
        Size of the feature, for the bonus of the maximum-material condition.
    most_material : float, optional
        Maximum-material size: the smallest hole, the largest pin.
    feature : {"hole", "pin"}
    n_mean, n_spread : float, optional
        Effective numbers of parts where they are serially correlated; n when absent.
    confidence : float
    seed : int, optional
    unit : str

    Returns
    -------
    PositionStudy

    Raises
    ------
    CannotJudge
        Fewer than ten parts, a zone of no width, deviations that never differ, or sizes without
        a maximum-material size.

    Notes
    -----
    ISO 22514-6:2013 (from memory); ISO 2692:2021 for the bonus.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> found = position(*rng.normal(0, 0.01, (2, 2000)), diameter=0.1)
    >>> round(found.Ppk.estimate, 1)
    1.5
    """
    a, b = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if a.shape != b.shape or a.ndim != 1:
        raise CannotJudge("Every part needs one deviation in x and one in y.")
    here = np.isfinite(a) & np.isfinite(b)
    if size is not None:
        sizes = np.asarray(size, dtype=float)
        if sizes.shape != a.shape or most_material is None:
            raise CannotJudge("A bonus needs the size of every part and the maximum-material size.")
        here &= np.isfinite(sizes)
    if not diameter > 0:
        raise CannotJudge("The tolerance zone has no width.")
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
    worth_mean, worth = min(n_mean or n, n), max(min(n_spread or n, n), 4.0)
    radius = diameter / 2
    means, covariances = pivots(mean, covariance, worth_mean, worth, generator(seed, "position"))

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
    bonus: dict[str, Any] | Absent = _NO_BONUS
    if size is not None and most_material is not None:
        gained = sizes[here] - most_material if feature == "hole" else most_material - sizes[here]
        gained = np.maximum(gained, 0.0)
        radii, weights = grouped(radius + gained / 2)
        bonus = {
            "mean_bonus": float(gained.mean()),
            "expected_ppm": around(
                float(ppm_outside(*one, radii, weights)[0]),
                ppm_outside(means, covariances, radii, weights),
            ),
            "observed": _counted(np.hypot(*points.T) > radius + gained / 2, confidence),
        }
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
        cautions=_cautions(points, sizes[here] if size is not None else None, worth_mean),
        points=(points, mean, covariance, radius),
    )


def _counted(outside: NDArray[np.bool_], confidence: float) -> dict[str, Any]:
    count, n = int(outside.sum()), int(outside.size)
    return {"outside": count, "n": n, "ppm": share_interval(count, n, confidence).times(1e6)}


def _cautions(points: Any, sizes: Any, worth: float) -> tuple[str, ...]:
    from scipy.stats import kstest, spearmanr

    notes = []
    n = len(points)
    if n < 100:
        notes.append(f"{n} parts are few for two directions; see how wide the intervals are.")
    if worth < 0.5 * n:
        notes.append(
            f"Parts are not independent: {n:,} are worth {worth:,.0f}; intervals use that."
        )
    # Squared distances of a bivariate normal are exponential; strong departures matter for tails.
    centred = points - points.mean(axis=0)
    squared = np.einsum("ij,jk,ik->i", centred, np.linalg.inv(np.cov(points.T)), centred)
    gap = float(kstest(squared, "expon", args=(0, 2)).statistic)
    if gap > 1.36 / math.sqrt(n) and gap > 0.03:
        notes.append(
            f"The deviations are not bivariate normal (largest gap {gap:.2f}); the counted share is "
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
