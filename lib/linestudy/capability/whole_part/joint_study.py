"""Conformity of a part with all its limits at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.capability.whole_part.copula import failing_any, normal_correlation
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
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: A correlation worth naming (common practice, no source).
_NOTABLE = 0.3


@dataclass(frozen=True, slots=True)
class PairCorrelation:
    """Rank correlation of two characteristics.

    Attributes
    ----------
    first, second : str
        The characteristics.
    correlation : float
        Spearman's rank correlation.
    """

    first: str
    second: str
    correlation: float


@dataclass(frozen=True, slots=True)
class ExpectedJoint:
    """Parts expected outside some limit, from the fitted distributions.

    Attributes
    ----------
    ppm : Interval
        [ppm] Outside some limit, with the correlations (Gaussian copula).
    independent : float
        [ppm] The same without the correlations.
    worst : float
        [ppm] Of the worst characteristic alone: it cannot be less.
    sum : float
        [ppm] Sum of the single rates: it cannot be more.
    characteristics : tuple of str
        Those it is made of.
    """

    ppm: Interval
    independent: float
    worst: float
    sum: float
    characteristics: tuple[str, ...]


@dataclass(frozen=True)
class JointStudy(Finding):
    """Share of parts within all limits at once.

    Attributes
    ----------
    n : int
        Parts with a reading of every characteristic.
    within_all : Interval
        Share of parts counted within all limits.
    product_of_shares : float
        Product of the single counted shares, which it would be if characteristics were independent.
    pairs : tuple of PairCorrelation
        Rank correlation of every pair.
    expected : ExpectedJoint or Absent
        From the fitted distributions and their correlations.
    correlations : pandas.DataFrame
        Rank correlations as a matrix.
    names : mapping of str to str
        What people call the characteristics, for sentence, table and picture.
    """

    n: int
    within_all: Interval
    product_of_shares: float
    pairs: tuple[PairCorrelation, ...]
    expected: ExpectedJoint | Absent
    cautions: tuple[str, ...]
    correlations: pd.DataFrame = field(repr=False, compare=False)
    names: Mapping[str, str] = field(default_factory=dict, repr=False, compare=False)
    title: ClassVar[str] = "All characteristics together"

    def name_of(self, key: str) -> str:
        """Return the name people gave a characteristic."""
        return self.names.get(key, key)

    @property
    def statement(self) -> str:
        bad = self.within_all.mapped(lambda share: 1 - share)
        close = [pair for pair in self.pairs if abs(pair.correlation) >= _NOTABLE]
        named = "; ".join(
            f"{self.name_of(pair.first)} and {self.name_of(pair.second)} ({pair.correlation:.2f})"
            for pair in close
        )
        travel = f" Correlated: {named}." if named else " No pair is correlated."
        return (
            f"Nonconforming in any characteristic: {1e6 * bad.estimate:,.0f} ppm of {self.n:,} parts "
            f"({100 * bad.confidence:.4g} % CI {1e6 * bad.low:,.0f} to {1e6 * bad.high:,.0f}); {1e6 * (1 - self.product_of_shares):,.0f} ppm "
            f"if characteristics were independent.{self._modelled}{travel}"
        )

    @property
    def _modelled(self) -> str:
        if isinstance(self.expected, Absent):
            return ""
        return (
            f" By the fitted distributions, with the correlations, {show_ppm(self.expected.ppm)} ppm are "
            f"expected outside some limit, {show_ppm(self.expected.independent)} ppm were they independent."
        )

    def _rows(self) -> Rows:
        return [
            {
                "first": self.name_of(one.first),
                "second": self.name_of(one.second),
                "rank correlation": one.correlation,
            }
            for one in self.pairs
        ]

    def shown(self) -> pd.DataFrame:
        """Return the table as text, correlations with two decimals.

        Returns
        -------
        pandas.DataFrame
        """
        table = super().shown()
        table["rank correlation"] = [show(one.correlation, 0.05) for one in self.pairs]
        return table

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.capability import correlation_heatmap

        named = self.correlations.rename(index=self.name_of, columns=self.name_of)
        return correlation_heatmap(named, ax=ax)


STREAM_JOINT = Declaration(
    "streams.{stream}.joint",
    JointStudy,
    "All limits at once, one stream",
    of_study=True,
    part="none",
)
JOINT = Declaration("joint", JointStudy, "All limits at once", of_study=True, order=10, picture=60)


def joint_conformity(
    data: pd.DataFrame,
    limits: Mapping[str, tuple[float | None, float | None]],
    *,
    confidence: float = 0.95,
    rates: Mapping[str, Mapping[str, Interval]] | None = None,
    names: Mapping[str, str] | None = None,
) -> JointStudy:
    r"""Count parts that are within all limits at once, and hold it against the fitted distributions.

    Parameters
    ----------
    data : pandas.DataFrame
        One part per row, one column per characteristic, each in its own unit.
    limits : mapping of str to (float or None, float or None)
        Lower and upper limit of each column; a column that is not in the table is passed over.
    confidence : float
        Of the two-sided intervals, between 0 and 1.
    rates : mapping of str to mapping, optional
        For each characteristic the expected rates ``below``, ``above`` and ``total`` (ppm), as
        ``CapabilityStudy.expected_ppm`` has them.
    names : mapping of str to str, optional
        What people call the columns; as they are written when absent.

    Returns
    -------
    JointStudy
        Share within all limits, counted and expected, and the rank correlations of all pairs.

    Raises
    ------
    CannotJudge
        Fewer than two characteristics, or fewer than twenty parts with all readings.
    ValueError, TypeError
        Limits that are not in order, or no table.

    See Also
    --------
    share_failing_any : The model of the expected share.
    process_capability : One characteristic alone.

    Notes
    -----
    Model: counted parts are independent; the expected share is that of a Gaussian copula of the fitted
    distributions. Both are held against the product of the single shares,

    .. math:: \prod_i P\{L_i \le x_i \le U_i\},

    which would be right if characteristics had nothing to do with each other. Pairs are named by their
    rank correlation (Spearman). Misleads where readings hold wrong verdicts of the gauge: the count is
    of readings, not of parts.

    References
    ----------
    Clopper & Pearson, *Biometrika* 26 (1934), 404-413; Nelsen, *An Introduction to Copulas*, 2nd ed. (2006).

    Examples
    --------
    >>> import pandas as pd
    >>> parts = pd.DataFrame({"a": range(40), "b": range(40)})
    >>> print(joint_conformity(parts, {"a": (0, 38), "b": (None, 38)}).within_all)
    0.975 (0.868 to 0.999)
    """
    import pandas as pd

    data_arguments.table(data, "data")
    arguments.share("confidence", confidence)
    for lower, upper in limits.values():
        arguments.limits(lower, upper, needed=False)
    keys = [name for name in limits if name in data]
    if len(keys) < 2:
        raise CannotJudge("Fewer than two characteristics were measured on the same parts.")
    whole = data[keys].dropna()
    n = len(whole)
    if n < 20:
        raise CannotJudge(f"{n} parts have a reading of every characteristic; twenty are needed.")
    inside = pd.DataFrame(
        {name: _inside(whole[name].to_numpy(dtype=float), *limits[name]) for name in keys}
    )
    good = int(inside.all(axis=1).sum())
    matrix: Any = whole.rank().corr()
    pairs = tuple(
        PairCorrelation(a, b, float(matrix.loc[a, b]))
        for i, a in enumerate(keys)
        for b in keys[i + 1 :]
    )
    rates = rates or {}
    lacking = [name for name in keys if name not in rates]
    expected: ExpectedJoint | Absent
    if lacking:
        expected = Absent(f"no expected rates are known for {', '.join(lacking)}")
    else:
        totals = [rates[name]["total"].estimate for name in keys]
        ppm, alone = failing_any([rates[name] for name in keys], normal_correlation(matrix))
        expected = ExpectedJoint(ppm, alone, max(totals), sum(totals), tuple(keys))
    return JointStudy(
        n=n,
        within_all=share_interval(good, n, confidence),
        product_of_shares=float(np.prod(inside.to_numpy().mean(axis=0))),
        pairs=pairs,
        expected=expected,
        cautions=(
            "Counts are of the gauge's readings: wrong verdicts of the gauge are among them.",
        ),
        correlations=matrix,
        names=dict(names or {}),
    )


def _inside(values: Any, lower: float | None, upper: float | None) -> Any:
    good = np.ones(values.size, dtype=bool)
    if lower is not None:
        good &= values >= lower
    if upper is not None:
        good &= values <= upper
    return good
