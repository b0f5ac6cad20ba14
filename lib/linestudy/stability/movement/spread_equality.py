"""Equal spread: do the stations of a run scatter alike about their own levels."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, Finding, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import show_p
from linestudy.results.tables import Rows
from linestudy.stability.movement.block_means import correlation_time

if TYPE_CHECKING:
    import pandas as pd


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
    points: pd.DataFrame = field(repr=False, compare=False)
    cautions: tuple[str, ...] = (
        "Speaks of spread alone; whether levels differ is another question.",
    )
    title: ClassVar[str] = "Equal spread of stations"
    picture: ClassVar[str] = "stability:stream_spreads"

    @property
    def statement(self) -> str:
        ratio = max(self.sd.values()) / min(self.sd.values())
        shown = show_p(self.p) if self.p < 0.001 else f"= {show_p(self.p)}"
        found = "differs" if self.p < 0.05 else "is not shown to differ"
        return f"The spread {found} between stations (Fligner-Killeen, p {shown}); the largest SD is {ratio:.2f} times the smallest."

    def _rows(self) -> Rows:
        sd = f"SD ({self.unit})" if self.unit else "SD"
        return [
            {"station": name, "parts tested": self.n[name], sd: self.sd[name]} for name in self.sd
        ]


EQUAL_SPREAD = Declaration(
    "stability.equal_spread", EqualSpreadStudy, "Equal spread of stations", picture=55
)


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
    import pandas as pd
    from scipy.stats import fligner, levene

    y = data_arguments.one_dimensional(values, least=2)
    arguments.same_length(values=y, station=station)
    held = {
        str(name): part.to_numpy()
        for name, part in pd.Series(y).groupby(np.asarray(station), sort=False)
    }
    thinned = {k: v[:: round(correlation_time(v - v.mean()))] for k, v in held.items()}
    used = {k: v for k, v in thinned.items() if v.size >= 10 and np.ptp(v) > 0}
    if len(used) < 2:
        raise CannotJudge(
            f"Of {len(held)} stations {len(used)} made ten independent parts that differ; two are needed."
        )
    test, other = fligner(*used.values()), levene(*used.values(), center="median")
    away = pd.concat(
        [pd.DataFrame({"stream": k, "distance": np.abs(v - np.median(v))}) for k, v in used.items()]
    )
    return EqualSpreadStudy(
        {k: int(v.size) for k, v in used.items()},
        {k: float(held[k].std(ddof=1)) for k in used},
        float(test.statistic),
        float(test.pvalue),
        float(other.pvalue),
        unit,
        away,
    )
