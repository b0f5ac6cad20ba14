"""What is found about the distribution of a characteristic."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import Absent, CannotJudge, Finding, Interval, plain, show, show_ppm
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.normality import NormalityTest

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.results.picture import Picture


#: Families that the trade knows under another name than their key.
_TRADE = {
    "largest extreme value": "Gumbel (maximum)",
    "smallest extreme value": "Gumbel (minimum)",
    "Johnson S_B": "Johnson SB",
    "Johnson S_L": "Johnson SL",
    "Johnson S_U": "Johnson SU",
}


def in_the_trade(family: str) -> str:
    """Name a family of distributions as the trade does.

    Parameters
    ----------
    family : str

    Returns
    -------
    str

    Examples
    --------
    >>> in_the_trade("largest extreme value")
    'Gumbel (maximum)'
    """
    return _TRADE.get(family, family)


@dataclass(frozen=True, slots=True)
class FamilyFit:
    """One candidate family, fitted.

    Attributes
    ----------
    family : str
        Its name.
    parameters : dict of str to float
        By name; positions and scales in the unit of the values.
    aic : float
        Akaike's criterion, corrected for sample size. Formula: ``-2 log L + 2 k n / (n - k - 1)``.
    cdf_difference : float
        Largest difference between the fitted and the empirical distribution function (a share of
        parts).
    tail_difference : float
        Larger difference of the two outer quantiles, relative to half of the fitted spread
        x99.865 - x0.135.
    anderson_darling : float
        Anderson-Darling statistic on the tested values.
    p : float or Absent
        Its p-value: from its table for the normal, by parametric bootstrap for another
        family that was chosen, for its runner-up and for all whose null distribution is known.
    expected_ppm : float or Absent
        [ppm] Parts it expects outside the limits.
    """

    family: str
    parameters: dict[str, float]
    aic: float
    cdf_difference: float
    tail_difference: float
    anderson_darling: float
    p: float | Absent
    expected_ppm: float | Absent


@dataclass(frozen=True)
class ShapeStudy(Finding):
    """The distribution of a characteristic.

    Attributes
    ----------
    n : int
        Values fitted.
    n_tested : int
        Values the tests were made on, spread evenly over the run.
    normality : tuple of NormalityTest
        Tests of normality.
    families : tuple of FamilyFit
        Candidates, the smallest AIC first.
    chosen : FittedDistribution
        The distribution that indices rest on; recorded by the name of its family.
    runner_up : FittedDistribution or None
        The next best family by AIC; recorded by its name.
    selection_reason : str
        Why this family was chosen.
    plausible_families : tuple of FittedDistribution
        The chosen family first; where nothing but the values chose it, all others that describe
        them about as well. An index that is to hold the doubt between families takes the
        envelope over these. Recorded by their names.
    quantiles : dict of str to float
        [unit of the values] ``0.00135``, ``0.5``, ``0.99865`` of the chosen family.
    quantile_intervals : dict of str to Interval or Absent
        [unit of the values] The same quantiles with their intervals, for this family and for
        independent values or their effective number.
    unit : str
        Unit of the values; not recorded here.
    counts : (numpy.ndarray, numpy.ndarray)
        Distinct values and how often each occurs; not recorded.
    sample : numpy.ndarray, shape (n_tested,)
        The tested values, sorted; not recorded.
    band : numpy.ndarray, shape (3, n_tested)
        Quantiles of the chosen family at the plotting positions of the tested values, and the
        simultaneous band for the values there; not recorded.
    """

    n: int
    n_tested: int
    normality: tuple[NormalityTest, ...]
    families: tuple[FamilyFit, ...]
    chosen: FittedDistribution
    runner_up: FittedDistribution | None
    selection_reason: str
    plausible_families: tuple[FittedDistribution, ...]
    quantiles: dict[str, float]
    quantile_intervals: dict[str, Interval | Absent]
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    counts: tuple[NDArray[np.float64], NDArray[np.float64]] = field(repr=False, compare=False)
    sample: NDArray[np.float64] | None = field(default=None, repr=False, compare=False)
    band: NDArray[np.float64] | None = field(default=None, repr=False, compare=False)
    title: ClassVar[str] = "Distribution"
    picture: ClassVar[str] = "shape:probability_plot"

    @property
    def family(self) -> str:
        """Name of the chosen family, as the trade says it."""
        return in_the_trade(self.chosen.family)

    @property
    def statement(self) -> str:
        q = self.quantiles
        fine = (q["0.99865"] - q["0.00135"]) / 20
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"All values together: {self.family} distribution ({self.selection_reason}); 0.135 % and 99.865 % "
            f"quantiles {show(q['0.00135'], fine)} and {show(q['0.99865'], fine)}{unit}."
        )

    def _rows(self) -> Rows:
        best = self.families[0].aic
        rates = any(not isinstance(item.expected_ppm, Absent) for item in self.families)
        rows: list[Mapping[str, Any]] = []
        for item in self.families:
            rows.append(
                {
                    "family": in_the_trade(item.family),
                    "ΔAIC": item.aic - best,
                    "Kolmogorov distance (%)": 100 * item.cdf_difference,
                    "deviation of outer quantiles (%)": 100 * item.tail_difference,
                    "Anderson-Darling": item.anderson_darling,
                    "p": None if isinstance(item.p, Absent) else item.p,
                }
                | ({"expected (ppm)": item.expected_ppm} if rates else {})
            )
        return rows

    def shown(self) -> pd.DataFrame:
        """Return the table as text, differences between families with one decimal.

        Returns
        -------
        pandas.DataFrame
        """
        table, best = super().shown(), self.families[0].aic
        table["ΔAIC"] = [f"{item.aic - best:,.1f}" for item in self.families]
        for name, field_ in zip(
            [column for column in table.columns if "(%" in column],
            ("cdf_difference", "tail_difference"),
            strict=True,
        ):
            table[name] = [f"{100 * getattr(item, field_):.1f}" for item in self.families]
        return table

    def tests(self) -> pd.DataFrame:
        """Return the normality tests as a table.

        Returns
        -------
        pandas.DataFrame
            Columns test, statistic, p.
        """
        import pandas as pd

        return pd.DataFrame([plain(test) for test in self.normality])

    def candidates_figure(self) -> Picture:
        """Draw the candidates side by side with the parts per million each expects outside the limits.

        Returns
        -------
        matplotlib.figure.Figure

        Raises
        ------
        CannotJudge
            No limits were given.
        """
        from linestudy.figures.shape import candidates

        if all(isinstance(item.expected_ppm, Absent) for item in self.families):
            raise CannotJudge("There is no limit, so no candidate expects parts outside it.")

        figure = candidates(self)
        figure.alt_text = self.candidates
        return figure

    @property
    def candidates(self) -> str:
        """The candidates and what each expects outside the limits, in words."""
        return "; ".join(
            f"{in_the_trade(item.family)}: {show_ppm(item.expected_ppm)} ppm"
            for item in self.families
            if not isinstance(item.expected_ppm, Absent)
        )


DISTRIBUTION = Declaration(
    "shape",
    ShapeStudy,
    part="characteristic",
    question="distribution",
    order=10,
    picture=34,
    own="distribution",
)
