"""What is found about the distribution of a characteristic."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import Absent, CannotJudge, Finding, Interval, plain, show, show_ppm
from linestudy.results.declared import Declaration
from linestudy.shape.fitting import Fitted
from linestudy.shape.normality import NormalityTest

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class FamilyFit:
    """One candidate.

    Attributes
    ----------
    family : str
    parameters : dict of str to float
    aic : float
        Corrected for sample size.
    distance : float
        Largest difference between the distribution functions.
    tail : float
        Largest difference of the outer quantiles, relative to the half spread.
    ad : float
        Anderson-Darling statistic on the tested values.
    p : float or Absent
        Its p-value: from its table for the normal, by parametric bootstrap for another
        family that was chosen, for its runner-up and for all whose null distribution is known.
    ppm : float or Absent
        Parts per million it expects outside the limits.
    """

    family: str
    parameters: dict[str, float]
    aic: float
    distance: float
    tail: float
    ad: float
    p: float | Absent
    ppm: float | Absent


@dataclass(frozen=True)
class ShapeStudy(Finding):
    """The distribution of a characteristic.

    Attributes
    ----------
    n, tested : int
        Values fitted, and values the tests were made on.
    normality : tuple of NormalityTest
    families : tuple of FamilyFit
        Best first.
    chosen : Fitted
    runner_up : Fitted or None
    why : str
        Why this family.
    quantiles : dict of str to float
        ``0.00135``, ``0.5``, ``0.99865`` of the chosen family.
    quantile_intervals : dict of str to Interval or Absent
        The same quantiles with their intervals, for this family and for independent values or what
        they are worth.
    admissible : tuple of Fitted
        The chosen family first; where nothing but the values chose it, all others that describe
        them about as well. An index that is to hold the doubt between families takes the
        envelope over these.
    band : numpy.ndarray, shape (3, m)
        Quantiles of the chosen family at the plotting positions of the tested values, and the
        simultaneous band for the values there.
    """

    n: int
    tested: int
    normality: tuple[NormalityTest, ...]
    families: tuple[FamilyFit, ...]
    chosen: Fitted
    runner_up: Fitted | None
    why: str
    quantiles: dict[str, float]
    unit: str
    cautions: tuple[str, ...]
    counts: Any = field(repr=False, compare=False)
    admissible: tuple[Fitted, ...] = ()
    quantile_intervals: dict[str, Interval | Absent] = field(default_factory=dict)
    sample: Any = field(default=None, repr=False, compare=False)
    band: Any = field(default=None, repr=False, compare=False)
    title: ClassVar[str] = "Distribution"
    picture: ClassVar[str] = "shape:probability_plot"

    @property
    def statement(self) -> str:
        q = self.quantiles
        fine = (q["0.99865"] - q["0.00135"]) / 500
        return (
            f"The values are described by the {self.chosen.family} distribution ({self.why}); 99.73 % of "
            f"parts lie between {show(q['0.00135'], fine)} and {show(q['0.99865'], fine)} {self.unit}."
        ).replace(" .", ".")

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        best = self.families[0].aic
        content = pd.DataFrame(
            {
                "family": [item.family for item in self.families],
                "AIC above best": [show(round(item.aic - best, 1)) for item in self.families],
                "largest difference": [f"{item.distance:.3f}" for item in self.families],
                "outer quantiles off by": [f"{item.tail:.1%}" for item in self.families],
                "Anderson-Darling": [show(item.ad) for item in self.families],
                "p": ["" if isinstance(item.p, Absent) else show(item.p) for item in self.families],
            }
        )
        if any(not isinstance(item.ppm, Absent) for item in self.families):
            content["expected ppm"] = [
                "" if isinstance(v.ppm, Absent) else show_ppm(v.ppm) for v in self.families
            ]
        return content

    def tests(self) -> pd.DataFrame:
        """The normality tests as a table.

        Returns
        -------
        pandas.DataFrame
            Columns test, statistic, p.
        """
        import pandas as pd

        return pd.DataFrame([plain(test) for test in self.normality])

    def candidates_figure(self) -> Figure:
        """The candidates side by side with the parts per million each expects outside the limits.

        Returns
        -------
        matplotlib.figure.Figure

        Raises
        ------
        CannotJudge
            No limits were given.
        """
        from linestudy.figures.shape import candidates

        if all(isinstance(item.ppm, Absent) for item in self.families):
            raise CannotJudge("There is no limit, so no candidate expects parts outside it.")

        figure = candidates(self)
        figure.alt_text = self.candidates
        return figure

    @property
    def candidates(self) -> str:
        """The candidates and what each expects outside the limits, in words."""
        return "; ".join(
            f"{item.family}: {show_ppm(item.ppm)} ppm"
            for item in self.families
            if not isinstance(item.ppm, Absent)
        )

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: n, tested, why, runner_up, admissible, quantile_intervals, …."""
        return {
            "n": self.n,
            "tested": self.tested,
            "normality": plain(self.normality),
            "families": plain(self.families),
            "chosen": self.chosen.family,
            "runner_up": self.runner_up.family if self.runner_up else None,
            "why": self.why,
            "admissible": [item.family for item in self.admissible],
            "quantiles": dict(self.quantiles),
            "quantile_intervals": plain(self.quantile_intervals),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


DISTRIBUTION = Declaration(
    "shape",
    ShapeStudy,
    "Distribution",
    part="characteristic",
    question="distribution",
    order=10,
    picture=34,
    own="distribution",
)
