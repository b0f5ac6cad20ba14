"""All characteristics of a part at once.

Joint share: counted, parts taken as independent for its interval, and beside it expected from the
fitted distributions and how they travel together (`copula`). Both are held against the product of the
single shares, which would be right if characteristics had nothing to do with each other. Pairs that
travel together are named by their rank correlation (Spearman).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.capability.whole_part.copula import failing_any, normal_correlation
from linestudy.numerics.shares import share_interval
from linestudy.results import Absent, CannotJudge, Finding, Interval, show, show_ppm
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: A correlation worth naming (common practice, no source).
_NOTABLE = 0.3


@dataclass(frozen=True)
class JointStudy(Finding):
    """Share of parts within all limits at once.

    Attributes
    ----------
    n : int
        Parts with a reading of every characteristic.
    within_all : Interval
        Counted share.
    product : float
        Product of the single shares.
    pairs : tuple of dict
        ``first``, ``second``, ``correlation`` for every pair.
    expected : dict or Absent
        From the fitted distributions: ``ppm`` outside some limit (Interval), ``independent`` (the
        same without the correlations), ``worst`` and ``sum`` of the single rates, between which it
        must lie, in ppm, and ``of``, the characteristics it is made of.
    """

    n: int
    within_all: Interval
    product: float
    pairs: tuple[dict[str, Any], ...]
    expected: dict[str, Any] | Absent
    cautions: tuple[str, ...]
    correlations: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "All characteristics together"

    @property
    def statement(self) -> str:
        bad = Interval(
            1 - self.within_all.estimate,
            1 - self.within_all.high,
            1 - self.within_all.low,
            self.within_all.confidence,
            self.within_all.method,
        )
        close = [p for p in self.pairs if abs(p["correlation"]) >= _NOTABLE]
        named = "; ".join(f"{p['first']} and {p['second']} ({p['correlation']:.2f})" for p in close)
        travel = f" Travelling together: {named}." if named else " No pair travels together."
        return (
            f"Of {self.n:,} parts {1e6 * bad.estimate:,.0f} per million "
            f"({1e6 * bad.low:,.0f} to {1e6 * bad.high:,.0f}) are outside some limit; if characteristics were "
            f"independent it would be {1e6 * (1 - self.product):,.0f}.{self._modelled}{travel}"
        )

    @property
    def _modelled(self) -> str:
        if isinstance(self.expected, Absent):
            return ""
        ppm = self.expected["ppm"]
        return (
            f" The fitted distributions, with the correlations, let {show_ppm(ppm)} per million be "
            f"expected outside some limit, and {show_ppm(self.expected['independent'])} were they independent."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "first": [p["first"] for p in self.pairs],
                "second": [p["second"] for p in self.pairs],
                "rank correlation": [show(p["correlation"], 0.05) for p in self.pairs],
            }
        )

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.capability import which_travel_together

        return which_travel_together(self.correlations, ax=ax)


JOINT = Declaration("joint", JointStudy, "All limits at once", of_study=True, order=10, picture=60)


def joint(
    table: pd.DataFrame,
    limits: dict[str, tuple[float | None, float | None]],
    confidence: float = 0.95,
    rates: dict[str, dict[str, Interval]] | None = None,
) -> JointStudy:
    """Count parts that are within all limits at once.

    Parameters
    ----------
    table : pandas.DataFrame
        One part per row, one column per characteristic.
    limits : dict of str to (float or None, float or None)
        Lower and upper limit per column.
    confidence : float
    rates : dict of str to dict, optional
        For each characteristic the expected rates ``below``, ``above`` and ``total`` (ppm), as
        `CapabilityStudy.expected_ppm` has them.

    Returns
    -------
    JointStudy

    Raises
    ------
    CannotJudge
        Fewer than two characteristics, or fewer than twenty parts with all readings.

    Notes
    -----
    Counts: Clopper & Pearson (1934); expected share: a Gaussian copula, see
    :mod:`linestudy.capability.whole_part.copula`.

    Examples
    --------
    >>> import pandas as pd
    >>> parts = pd.DataFrame({"a": range(40), "b": range(40)})
    >>> joint(parts, {"a": (0, 38), "b": (None, 38)}).within_all.estimate
    0.975
    """
    import pandas as pd

    names = [name for name in limits if name in table]
    if len(names) < 2:
        raise CannotJudge("Fewer than two characteristics were measured on the same parts.")
    whole = table[names].dropna()
    n = len(whole)
    if n < 20:
        raise CannotJudge(f"{n} parts have a reading of every characteristic; twenty are needed.")
    inside = pd.DataFrame(
        {name: _inside(whole[name].to_numpy(dtype=float), *limits[name]) for name in names}
    )
    good = int(inside.all(axis=1).sum())
    matrix: Any = whole.rank().corr()
    pairs = tuple(
        {"first": a, "second": b, "correlation": float(matrix.loc[a, b])}
        for i, a in enumerate(names)
        for b in names[i + 1 :]
    )
    rates = rates or {}
    lacking = [name for name in names if name not in rates]
    expected: dict[str, Any] | Absent
    if lacking:
        expected = Absent(f"no expected rates are known for {', '.join(lacking)}")
    else:
        totals = [rates[name]["total"].estimate for name in names]
        ppm, alone = failing_any([rates[name] for name in names], normal_correlation(matrix))
        expected = {
            "ppm": ppm,
            "independent": alone,
            "worst": max(totals),
            "sum": sum(totals),
            "of": tuple(names),
        }
    return JointStudy(
        n=n,
        within_all=share_interval(good, n, confidence),
        product=float(np.prod(inside.to_numpy().mean(axis=0))),
        pairs=pairs,
        expected=expected,
        cautions=(
            "Counts are of the gauge's readings: wrong verdicts of the gauge are among them.",
        ),
        correlations=matrix,
    )


def _inside(values: Any, lower: float | None, upper: float | None) -> Any:
    good = np.ones(values.size, dtype=bool)
    if lower is not None:
        good &= values >= lower
    if upper is not None:
        good &= values <= upper
    return good
