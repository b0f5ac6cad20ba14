"""Equal spread: do the stations of a run scatter alike about their own levels."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.results import (
    CannotJudge,
    Declaration,
    Finding,
    Rows,
    data_arguments,
    p_text,
    with_unit,
)
from linestudy.stability.movement.block_means import correlation_time


@dataclass(frozen=True)
class EqualSpreadStudy(Finding):
    """Fligner and Killeen's test of one spread.

    Attributes
    ----------
    n : dict of str to int
        By station, the parts tested: of correlated neighbours one in each correlation time.
    sd : dict of str to float
        [unit of the values] By station, the standard deviation of its parts.
    statistic : float
        Fligner and Killeen's chi-square.
    p : float
        Of one spread throughout.
    levene_p : float
        The same by Levene's test about medians, for comparison.
    unit : str
        Of the values.
    """

    n: dict[str, int]
    sd: dict[str, float]
    statistic: float
    p: float
    levene_p: float
    unit: str
    distances: dict[str, FloatArray] = field(repr=False, compare=False)
    cautions: tuple[str, ...] = ("Speaks of spread alone, not of levels.",)
    title: ClassVar[str] = "Equal spread of stations"
    picture: ClassVar[str] = "stability:stream_spreads"

    @property
    def statement(self) -> str:
        ratio = max(self.sd.values()) / min(self.sd.values())
        found = "differ" if self.p < 0.05 else "do not differ significantly"
        return (
            f"The standard deviations of the stations {found} (Fligner-Killeen, {p_text(self.p)}); largest to "
            f"smallest {ratio:.2f}."
        )

    def _rows(self) -> Rows:
        sd = with_unit("SD", self.unit)
        return [{"station": k, "parts tested": self.n[k], sd: self.sd[k]} for k in self.sd]


EQUAL_SPREAD = Declaration("stability.equal_spread", EqualSpreadStudy, picture=55)


def equal_spread(values: ArrayLike, station: ArrayLike, *, unit: str = "") -> EqualSpreadStudy:
    r"""Test whether the stations of a run have one spread.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    station : array_like, shape (n,)
        Station of each value; values without one are left out.
    unit : str
        Of the values.

    Returns
    -------
    EqualSpreadStudy
        Test, and the standard deviation of each station.

    Raises
    ------
    CannotJudge
        Fewer than two stations with ten independent parts that differ.
    ValueError, TypeError
        Lengths that differ, or values of more than one dimension.

    See Also
    --------
    compare_streams : Whether their means are one.

    Notes
    -----
    Model: stations have the same distribution but for level and scale. Ranks of the absolute distances from
    the station's median are turned into normal scores :math:`a_i`; with :math:`\bar a_j` their mean in
    station j and :math:`V` their variance,

    .. math:: X^2 = \sum_j n_j (\bar a_j - \bar a)^2 / V \sim \chi^2_{k-1}.

    Tails as heavy as a camera's leave its level as it is. Misleads where neighbours correlate: of them one part
    in each correlation time is tested; and where one station drifts, for drift counts as spread.

    References
    ----------
    Fligner & Killeen, *Journal of the American Statistical Association* 71 (1976), 210-213. Conover, Johnson &
    Johnson, *Technometrics* 23 (1981), 351-361 (why this test).

    Examples
    --------
    >>> y = np.random.default_rng(1).normal(size=400) * np.tile([1.0, 2.0], 200)
    >>> equal_spread(y, np.tile(["a", "b"], 200)).p < 0.001
    True
    """
    import pingouin
    from scipy.stats import fligner

    held = data_arguments.by_label(values, station=station)
    thinned = {k: y[:: round(correlation_time(y - y.mean()))] for k, y in held.items()}
    used = {k: y for k, y in thinned.items() if y.size >= 10 and np.ptp(y) > 0}
    if len(used) < 2:
        raise CannotJudge(
            f"Of {len(held)} stations {len(used)} made ten independent parts that differ; two are needed."
        )
    test = fligner(*used.values())
    levene = pingouin.homoscedasticity(list(used.values()), method="levene", center="median")
    return EqualSpreadStudy(
        n={k: y.size for k, y in used.items()},
        sd={k: float(held[k].std(ddof=1)) for k in used},
        statistic=float(test.statistic),
        p=float(test.pvalue),
        levene_p=float(levene["pval"].iloc[0]),
        unit=unit,
        distances={k: np.abs(y - np.median(y)) for k, y in used.items()},
    )
