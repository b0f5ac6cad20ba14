"""Cp and Cpk by each estimator of the standard deviation within subgroups."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from numpy.typing import ArrayLike

from linestudy.capability.indices import cp, cpk
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import Absent, Finding, Interval, arguments, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.stability import within_subgroup_sds

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: Estimates that differ by more than this share deserve a caution (common practice, no source).
LARGE_DIFFERENCE = 0.10


@dataclass(frozen=True, slots=True)
class WithinEstimate:
    """One estimate of the standard deviation within subgroups, and the indices from it.

    Attributes
    ----------
    method : str
        ``"pooled SD"``, ``"mean SD"``, ``"mean range"`` or ``"moving range"``.
    sd : Interval
        [unit of the values] The standard deviation.
    df : float
        Its degrees of freedom.
    Cp : Interval or Absent
        Formula: ``(U - L) / (6 s_within)``.
    Cpk : Interval or Absent
        Formula: ``min(U - mean, mean - L) / (3 s_within)``.
    """

    method: str
    sd: Interval
    df: float
    Cp: Interval | Absent
    Cpk: Interval | Absent


@dataclass(frozen=True)
class WithinStudy(Finding):
    """Standard deviation within subgroups, and Cp and Cpk from it, by each estimator.

    Attributes
    ----------
    estimates : tuple of WithinEstimate
        One for each estimator.
    unit : str
        Unit of the values; not recorded here.
    """

    estimates: tuple[WithinEstimate, ...]
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Within-subgroup SD, by each estimator"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        named = "; ".join(
            f"{one.method} {show(one.sd)}{unit} ({one.df:,.0f} degrees of freedom)"
            for one in self.estimates
        )
        cpk = [one.Cpk.estimate for one in self.estimates if isinstance(one.Cpk, Interval)]
        between = f"; Cpk lies from {min(cpk):.2f} to {max(cpk):.2f}" if len(cpk) > 1 else ""
        return f"Within-subgroup standard deviation: {named}{between}."

    def _rows(self) -> Rows:
        return [
            {
                "estimator": one.method,
                with_unit("SD", self.unit): one.sd,
                "degrees of freedom": one.df,
                "Cp": one.Cp,
                "Cpk": one.Cpk,
            }
            for one in self.estimates
        ]

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.style import interval_bars, picture

        figure, axes = picture(
            "Does the estimator of the within-subgroup SD matter?", height=1.9, ax=ax
        )
        interval_bars(
            axes, [one.method for one in self.estimates], [one.sd for one in self.estimates]
        )
        axes.set_xlabel(with_unit("standard deviation within subgroups", self.unit))
        return figure


WITHIN = Declaration("capability.within", WithinStudy, "Within-subgroup standard deviation")


@old_keywords(renamed("n_mean", "n_eff_mean", since="0.2.0", removal="0.3.0"))
def within_subgroup_sd(
    values: ArrayLike,
    subgroup: ArrayLike | None = None,
    *,
    lower: float | None = None,
    upper: float | None = None,
    n_eff_mean: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> WithinStudy:
    r"""Estimate the standard deviation within subgroups by each estimator, and Cp and Cpk from it.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order, in any unit.
    subgroup : array_like, shape (n,), optional
        Label of each value; without labels every value is by itself.
    lower, upper : float, optional
        Tolerance limits in the unit of the values; at least one.
    n_eff_mean : float, optional
        Effective sample size for the mean; n when absent.
    confidence : float
        Of the two-sided intervals, between 0 and 1.
    unit : str
        Unit of the values, for texts and pictures.

    Returns
    -------
    WithinStudy
        One estimate for each estimator.

    Raises
    ------
    CannotJudge
        Values that never differ within subgroups, or that are missing.
    ValueError, TypeError
        No limit, limits that are not in order, labels of another length, a table or an array of other
        than one dimension.

    See Also
    --------
    cp, cpk : The indices from one standard deviation.
    linestudy.stability.control_chart : The chart the subgroups come from.

    Notes
    -----
    Model: values are normal within subgroups, with one variance; their estimators are

    .. math:: s_p = \sqrt{\tfrac{\sum (n_j - 1) s_j^2}{\sum (n_j - 1)}}, \qquad
        \bar s / c_4, \qquad \bar R / d_2.

    They agree on such a process; where they do not, single wild values (which the range feels most)
    or subgroups of unequal spread are about. Reported beside Cp and Cpk, never instead. Misleads
    where subgroups hold parts of several stations: the spread within then holds their difference.

    References
    ----------
    ISO 22514-2:2017 for the indices; ISO 7870-2:2013 for the estimators.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(0, 1, 500)
    >>> found = within_subgroup_sd(y, np.repeat(np.arange(100), 5), lower=-4.0, upper=4.0)
    >>> print(found.shown().to_string(index=False))
     estimator                     SD degrees of freedom                     Cp                 Cpk
     pooled SD 0.939 (0.878 to 1.009)              400.0 1.420 (1.321 to 1.518) 1.41 (1.30 to 1.50)
       mean SD 0.931 (0.869 to 1.002)              379.7    1.43 (1.33 to 1.53) 1.42 (1.31 to 1.52)
    mean range 0.935 (0.871 to 1.008)              362.5    1.43 (1.32 to 1.53) 1.41 (1.30 to 1.52)
    """
    y = data_arguments.one_dimensional(values, least=2)
    arguments.same_length(values=y, subgroup=subgroup)
    lower, upper = arguments.limits(lower, upper)
    arguments.share("confidence", confidence)
    if n_eff_mean is not None:
        arguments.number("n_eff_mean", n_eff_mean, above=0)
    mean, n = float(y.mean()), min(n_eff_mean or y.size, y.size)
    estimates = tuple(
        WithinEstimate(
            method=name,
            sd=sd_interval(spread.sd, spread.df, confidence),
            df=spread.df,
            Cp=cp(spread.sd, df=spread.df, lower=lower, upper=upper, confidence=confidence),
            Cpk=cpk(
                mean, spread.sd, n=n, df=spread.df, lower=lower, upper=upper, confidence=confidence
            ),
        )
        for name, spread in within_subgroup_sds(y, subgroup).items()
    )
    sds = [one.sd.estimate for one in estimates]
    notes = []
    if max(sds) > (1 + LARGE_DIFFERENCE) * min(sds):
        notes.append(
            f"The estimators differ by {max(sds) / min(sds) - 1:.0%}: single wild values or subgroups of unequal "
            "spread; look at the chart of the spread before using any of them."
        )
    return WithinStudy(estimates=estimates, unit=unit, cautions=tuple(notes))
