"""Choose the distribution that indices rest on.

The order of choice: what study.toml names; else, for a characteristic with a physical bound, the
families that such a magnitude follows by its making (a folded normal for the magnitude of one
error, then half-normal, Rayleigh, Weibull, gamma, lognormal); else normal, as long as it is near
enough; else, of the single families whose corrected AIC is smallest (differences below a
thousandth per value count as none), the one that agrees best in the outer quantiles. "Near enough" is a size: the distribution
functions differ by at most two hundredths and the outer quantiles by at most a tenth of the half
spread (common practice, no source). A p-value alone never decides. The runner-up is the next best
family by AIC; if it leads to another decision the verdict says so.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.core import Absent, CannotJudge, Finding, generator, plain, show
from linestudy.core.samples import as_sample
from linestudy.shape.families import FAMILIES, MIXTURE
from linestudy.shape.fitting import Fitted, fit_counts
from linestudy.shape.goodness import anderson_darling, bootstrap_p
from linestudy.shape.normality import NormalityTest, causes, normality

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

#: The quantiles that indices are made of (ISO 22514-2).
QUANTILES = (0.00135, 0.5, 0.99865)
_BOUNDED = ("folded normal", "half-normal", "Rayleigh", "Weibull", "gamma", "lognormal", "normal")
_FREE = (
    "normal",
    "logistic",
    "largest extreme value",
    "gamma with threshold",
    "lognormal with threshold",
    MIXTURE,
)
#: Near enough to be preferred although another family has the smaller AIC.
NEAR, TAIL = 0.02, 0.10
#: Values that tests are made on, spread evenly over a long run.
TESTED = 250


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
        family that was chosen.
    """

    family: str
    parameters: dict[str, float]
    aic: float
    distance: float
    tail: float
    ad: float
    p: float | Absent


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
    title: ClassVar[str] = "Distribution"

    @property
    def statement(self) -> str:
        q = self.quantiles
        fine = (q["0.99865"] - q["0.00135"]) / 500
        return (
            f"The values are described by the {self.chosen.family} distribution ({self.why}); 99.73 % of "
            f"parts lie between {show(q['0.00135'], fine)} and {show(q['0.99865'], fine)} {self.unit}."
        ).replace(" .", ".")

    def table(self) -> pd.DataFrame:
        import pandas as pd

        best = self.families[0].aic
        return pd.DataFrame(
            {
                "family": [item.family for item in self.families],
                "AIC above best": [show(round(item.aic - best, 1)) for item in self.families],
                "largest difference": [f"{item.distance:.3f}" for item in self.families],
                "outer quantiles off by": [f"{item.tail:.1%}" for item in self.families],
                "Anderson-Darling": [show(item.ad) for item in self.families],
                "p": ["" if isinstance(item.p, Absent) else show(item.p) for item in self.families],
            }
        )

    def tests(self) -> pd.DataFrame:
        """The normality tests as a table.

        Returns
        -------
        pandas.DataFrame
            Columns test, statistic, p.
        """
        import pandas as pd

        return pd.DataFrame([plain(test) for test in self.normality])

    def figure(self) -> Figure:
        from linestudy.figures.shape import probability_plot

        figure = probability_plot(self)
        figure.alt_text = self.alt_text
        return figure

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: n, tested, why, runner_up, statement, cautions."""
        return {
            "n": self.n,
            "tested": self.tested,
            "normality": plain(self.normality),
            "families": plain(self.families),
            "chosen": self.chosen.family,
            "runner_up": self.runner_up.family if self.runner_up else None,
            "why": self.why,
            "quantiles": dict(self.quantiles),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


def choose(
    values: Any,
    family: str = "auto",
    bound: float | None = None,
    mixture_expected: bool = False,
    lag1: float | None = None,
    refits: int = 39,
    seed: int | None = None,
    unit: str = "",
) -> ShapeStudy:
    """Fit all candidate families and choose one.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    family : str
        ``"auto"`` or the family that study.toml names.
    bound : float, optional
        Physical bound below all values.
    mixture_expected : bool
        True where parts come from several stations or cavities.
    lag1 : float, optional
        Correlation of neighbours, for the cautions.
    refits : int
        Refits behind each bootstrap p-value; 0 leaves them out.
    seed : int, optional
    unit : str

    Returns
    -------
    ShapeStudy

    Raises
    ------
    CannotJudge
        Fewer than ten values, all equal, or none of the families fits.

    Examples
    --------
    >>> import numpy as np
    >>> choose(np.random.default_rng(1).normal(5, 1, 300), refits=0).chosen.family
    'normal'
    """
    y = as_sample(values, least=10)
    x, counts = np.unique(y, return_counts=True)
    if x.size < 2:
        raise CannotJudge("All values are the same, so they have no distribution.")
    w = counts.astype(float)
    candidates = _candidates(family, bound, x)
    fits, failures = _fit_all(candidates, x, w, bound)
    if not fits:
        raise CannotJudge(f"No candidate distribution can describe the values ({failures[0]}).")
    tested = _thinned(y)
    measured = {name: _measure(item, x, w, tested) for name, item in fits.items()}
    ranked = sorted(fits, key=lambda name: fits[name].aic)
    chosen, why = _choice(family, ranked, fits, measured, bound, mixture_expected)
    others = [name for name in ranked if name != chosen]
    runner_up = others[0] if others else None
    tests = normality(tested)
    p = _p_values(fits, chosen, tested, refits, tests, seed)
    absent = Absent("computed for the chosen family only")
    families = tuple(
        FamilyFit(name, fits[name].parameters, fits[name].aic, *measured[name], p.get(name, absent))
        for name in ranked
    )
    best = fit_counts(x, w, chosen, bound, uncertainty=True)
    low, middle, high = (float(v) for v in best.ppf(QUANTILES))
    second = MIXTURE in fits and "normal" in fits and fits["normal"].aic - fits[MIXTURE].aic > 20
    notes = causes(y, tested, lag1, second and chosen in ("normal", MIXTURE))
    notes += _cautions(y, x, tested, measured[chosen], best)
    return ShapeStudy(
        n=int(y.size),
        tested=int(tested.size),
        normality=tests,
        families=families,
        chosen=best,
        runner_up=fits[runner_up] if runner_up else None,
        why=why,
        quantiles={"0.00135": low, "0.5": middle, "0.99865": high},
        unit=unit,
        cautions=tuple(notes),
        counts=(x, w),
    )


def _p_values(
    fits: dict[str, Fitted],
    chosen: str,
    tested: Any,
    refits: int,
    tests: tuple[NormalityTest, ...],
    seed: int | None,
) -> dict[str, float | Absent]:
    """p of Anderson-Darling: from its table for the normal, by bootstrap for another choice."""
    found: dict[str, float | Absent] = {"normal": tests[0].p} if tests else {}
    if chosen != "normal" and refits:
        rng = generator(seed, "goodness", chosen)
        found[chosen] = bootstrap_p(fits[chosen], tested, refits, rng)
    return found


def _candidates(family: str, bound: float | None, x: Any) -> tuple[str, ...]:
    if bound is not None and x[0] < bound:
        raise CannotJudge(f"A value lies below the physical bound {bound:g}.")
    usual = _BOUNDED if bound is not None else _FREE
    if family == "auto":
        return usual
    if family != MIXTURE and family not in FAMILIES:
        raise CannotJudge(
            f'study.toml names the family "{family}", which is not known; known are '
            f"{', '.join([*FAMILIES, MIXTURE])}."
        )
    return tuple(dict.fromkeys([family, *usual]))


def _fit_all(
    names: tuple[str, ...], x: Any, w: Any, bound: float | None
) -> tuple[dict[str, Fitted], list[str]]:
    fits, failures = {}, []
    for name in names:
        try:
            fits[name] = fit_counts(x, w, name, bound)
        except CannotJudge as stop:
            failures.append(stop.reason.rstrip("."))
    return fits, failures


def _thinned(y: Any) -> Any:
    if y.size <= TESTED:
        return y
    return y[np.linspace(0, y.size - 1, TESTED).astype(int)]


def _measure(item: Fitted, x: Any, w: Any, tested: Any) -> tuple[float, float, float]:
    """Distance of the distribution functions, of the outer quantiles, and Anderson-Darling."""
    total = w.sum()
    below = np.cumsum(w) / total
    # Readings are rounded: the fitted share up to a value is taken half a step beyond it.
    edges = np.append((x[1:] + x[:-1]) / 2, x[-1] + (x[-1] - x[-2]) / 2)
    distance = float(np.abs(item.cdf(edges) - below).max())
    low, _, high = item.ppf(QUANTILES)
    own = np.interp([QUANTILES[0], QUANTILES[2]], below, edges)
    tail = max(abs(own[0] - low), abs(own[1] - high)) / (high - low) * 2
    if total < 2 / QUANTILES[0]:
        # So far out the sample has nothing to compare with; compare where it has.
        q = 5 / total if total > 20 else 0.25
        own = np.interp([q, 1 - q], below, edges)
        there = item.ppf([q, 1 - q])
        tail = float(np.abs(own - there).max() / (high - low) * 2)
    return distance, float(tail), anderson_darling(item, tested)


def _choice(
    family: str,
    ranked: list[str],
    fits: dict[str, Fitted],
    measured: dict[str, tuple[float, float, float]],
    bound: float | None,
    mixture_expected: bool,
) -> tuple[str, str]:
    if family != "auto":
        if family not in fits:
            raise CannotJudge(
                f"The family named in study.toml, {family}, cannot describe the values."
            )
        return family, "named in study.toml"

    def near(name: str) -> bool:
        n = fits[name].n
        # With few values even the right family differs by chance; allow for that.
        return (
            name in fits
            and measured[name][0] <= max(NEAR, 0.9 / np.sqrt(n))
            and measured[name][1] <= max(TAIL, 3.0 / np.sqrt(n))
        )

    if bound is not None:
        for name in _BOUNDED[:-1]:
            if name in fits and near(name):
                return name, "what a magnitude with this bound follows, and near enough"
        return ranked[0], "smallest AIC; no family that the bound suggests is near enough"
    best = fits[ranked[0]].aic
    if mixture_expected and MIXTURE in fits and fits[MIXTURE].aic - best < 10 and _two_show(fits):
        return MIXTURE, "parts come from several stations, and two components show"
    if "normal" in fits and near("normal"):
        return "normal", "near enough to the values"
    plain_ones = [name for name in ranked if name != MIXTURE]
    if plain_ones:
        # Likelihoods that differ by less than a thousandth per value are equal for any purpose.
        reach = fits[plain_ones[0]].aic + max(2.0, 0.001 * fits[plain_ones[0]].n)
        equal = [name for name in plain_ones if fits[name].aic <= reach]
        closest = min(equal, key=lambda name: measured[name][1])
        if near(closest):
            return closest, "among the single distributions of smallest AIC the best in the tails"
    return ranked[0], "smallest AIC"


def _two_show(fits: dict[str, Fitted]) -> bool:
    return "normal" not in fits or fits["normal"].aic - fits[MIXTURE].aic > 10


def _cautions(
    y: Any, x: Any, tested: Any, measured: tuple[float, float, float], best: Fitted
) -> list[str]:
    notes = []
    if y.size < 100:
        notes.append(
            f"{y.size} values say little about the outer quantiles, which are extrapolated by the family."
        )
    if y.size > tested.size:
        notes.append(f"Tests were made on {tested.size} values spread evenly over the {y.size:,}.")
    if measured[1] > TAIL and y.size >= 1500:
        notes.append(
            f"The outer quantiles of the chosen distribution differ from those of the values by "
            f"{measured[1]:.0%} of the half spread."
        )
    middle, spread = np.median(y), np.subtract(*np.quantile(y, [0.75, 0.25]))
    far = float(np.abs(y - middle).max())
    if spread > 0 and far > 15 * spread:
        notes.append(
            "One value lies very far from the others; look at it before believing any index."
        )
    if x.size < 8:
        notes.append(
            f"The readings take {x.size} different values only; the resolution is too coarse."
        )
    return notes
