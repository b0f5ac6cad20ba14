"""Select the distribution that indices rest on."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics import generator
from linestudy.results import Absent, CannotJudge, Interval, arguments, data_arguments
from linestudy.results.rounding import as_given
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.running.threads import one_thread
from linestudy.shape import cautions
from linestudy.shape.cautions import TAIL, causes_of_rejection, expected_ppm
from linestudy.shape.families import FAMILIES, MIXTURE
from linestudy.shape.finding import FamilyFit, ShapeStudy
from linestudy.shape.fitting import FittedDistribution, fit_counts
from linestudy.shape.goodness import anderson_darling, band, bootstrap_p, null_is_known
from linestudy.shape.normality import NormalityTest, normality_tests
from linestudy.shape.quantiles import quantile_interval

#: The quantiles that indices are made of (ISO 22514-2).
QUANTILES = (0.00135, 0.5, 0.99865)
_PHYSICAL = ("folded normal", "half-normal", "Rayleigh", "Weibull", "gamma", "lognormal")
_BOUNDED = (*_PHYSICAL, "Box-Cox normal", "normal")
_FREE = (
    "normal",
    "logistic",
    "largest extreme value",
    "gamma with threshold",
    "lognormal with threshold",
    "Weibull with threshold",
    "Yeo-Johnson normal",
    "Johnson S_L",
    "Johnson S_U",
    "Johnson S_B",
    MIXTURE,
)
#: Families of four parameters are not tried on fewer values (common practice, no source).
_FOUR = 100
#: More different values than this are gathered in steps for the comparison of families.
_MANY = 4000
#: Simulated samples behind the band of a probability plot.
_BAND_DRAWS = 400
#: Near enough to be preferred although another family has the smaller AIC.
NEAR = 0.02
_NEAR_NORMAL = "not rejected by its distance to the values"
#: A difference of AIC that leaves the larger "considerably less support" (Burnham & Anderson).
_LESS_SUPPORT = 6.0
#: Differences of AIC per value that mean nothing for a distribution's use (no source; by the proof).
_SIZE = 0.005
#: Differences of AIC, or of a share, that only rounding can make.
_EQUAL = 1e-7
#: Values that tests are made on, spread evenly over a long run.
TESTED = 250


@one_thread()
@old_keywords(renamed("worth", "n_eff", since="0.2.0", removal="0.3.0"))
def select_distribution(
    values: ArrayLike,
    family: str = "auto",
    *,
    bound: float | None = None,
    mixture_expected: bool = False,
    lag1: float | None = None,
    refits: int = 199,
    seed: int | None = None,
    unit: str = "",
    lower: float | None = None,
    upper: float | None = None,
    n_eff: float | None = None,
) -> ShapeStudy:
    r"""Fit all candidate families and select one.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order, in any unit; at least ten.
    family : str
        ``"auto"``, or the family that is known to describe the process (``family`` in study.toml).
    bound : float, optional
        Physical bound below all values, in their unit.
    mixture_expected : bool
        True where parts come from several stations or cavities.
    lag1 : float, optional
        Autocorrelation of neighbours, for the cautions.
    refits : int
        Refits behind each bootstrap p-value; 0 leaves them out.
    seed : int, optional
        Of the simulations; the kit's own when absent, so that a second call gives the same numbers.
    unit : str
        Unit of the values, for texts and pictures.
    lower, upper : float, optional
        Tolerance limits, for the parts per million that each candidate expects outside.
    n_eff : float, optional
        Effective sample size where neighbours are correlated; n when absent.

    Returns
    -------
    ShapeStudy
        The chosen family, all candidates, tests of normality, quantiles with intervals.

    Raises
    ------
    CannotJudge
        Fewer than ten values, all equal, or none of the families fits.
    ValueError
        An unknown family, limits in the wrong order, or an array of other than one dimension.
    TypeError
        A table in place of values.

    See Also
    --------
    fit : One family alone.
    normality_tests : Only the tests.

    Notes
    -----
    The order of choice: the family that is named; else, for a characteristic with a physical bound, the
    families that such a magnitude follows by its making (a folded normal for the magnitude of one
    error, then half-normal, Rayleigh, Weibull, gamma, lognormal); else normal, as long as it is not rejected by
    size; else, of the single families whose corrected AIC

    .. math:: -2 \ell + 2k + \frac{2k(k+1)}{n-k-1}

    is smallest (differences below a thousandth per value count as none), the one that agrees best in the
    outer quantiles. A family is near enough where the distribution functions differ by at most two hundredths
    and the outer quantiles by at most a tenth of the half spread (common practice, no source). A p-value
    alone never decides. The runner-up is the next best family by AIC; if it leads to another decision the
    verdict says so. A family whose likelihood has no maximum of its own is no candidate.

    Where nothing but the values chose, the choice is itself uncertain: no family need be the true one,
    and families that agree where the values are differ where the index looks. ``plausible_families`` holds
    all single families near enough to the values whose AIC is within ten of the smallest (beyond ten a model
    has essentially no support: Burnham & Anderson), counted in independent values where neighbours
    correlate, or within a thousandth per value.

    Misleads where parts were sorted, where the process moved while the values were taken (a mixture over
    time is no distribution), and with fewer than some hundred values, which say little of the outer
    quantiles.

    References
    ----------
    ISO 22514-2:2017; Burnham & Anderson, *Model Selection and Multimodel Inference* (2002), section 2.6;
    Hurvich & Tsai, *Biometrika* 76 (1989), 297-307.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(5, 1, 300)
    >>> print(select_distribution(y, refits=0, unit="mm").statement)
    All values together: normal distribution (not rejected by its distance to the values); 0.135 % and 99.865 %
    quantiles 2.13 and 7.66 mm.
    """
    y = data_arguments.one_dimensional(values, least=10)
    lower, upper = arguments.limits(lower, upper, needed=False)
    arguments.one_of("family", family, ("auto", *FAMILIES))
    arguments.whole("refits", refits, least=0)
    arguments.positive(n_eff=n_eff)
    if lag1 is not None:
        arguments.number("lag1", lag1, least=-1, most=1)
    if bound is not None:
        bound = arguments.number("bound", bound)
    x, counts = np.unique(y, return_counts=True)
    if x.size < 2:
        raise CannotJudge("All values are the same, so they have no distribution.")
    w = counts.astype(float)
    candidates = _candidates(family, bound, x, w)
    xs, ws = _gathered(x, w)
    fits, failures = _fit_all(candidates, xs, ws, bound, family)
    if not fits:
        raise CannotJudge(f"No candidate distribution can describe the values ({failures[0]}).")
    tested = _thinned(y)
    measured = {name: _measure(item, xs, ws, tested) for name, item in fits.items()}
    ranked = _in_order(list(fits), lambda name: fits[name].aic)
    # Correlated neighbours say less: differences of AIC count by the effective sample size.
    per_value = max(min(n_eff or y.size, y.size), 1.0) / y.size
    chosen, why, doubt = _choice(family, ranked, fits, measured, bound, mixture_expected)
    if why == _NEAR_NORMAL:
        doubt = (fits[chosen].aic - fits[ranked[0]].aic) * per_value > _LESS_SUPPORT
    others = [name for name in ranked if name != chosen]
    runner_up = others[0] if others else None
    tests = normality_tests(tested)
    p = _p_values(fits, (chosen, runner_up), tested, refits, tests, seed)
    absent = Absent("computed for the chosen family and its runner-up")
    families = tuple(
        FamilyFit(
            name,
            fits[name].parameters,
            fits[name].aic,
            *measured[name],
            p.get(name, absent),
            expected_ppm(fits[name], lower, upper),
        )
        for name in ranked
    )
    best = fit_counts(x, w, chosen, bound, uncertainty=True, at=fits[chosen])
    plausible = [best]
    if doubt:
        reach = max(10 / per_value, _SIZE * y.size)
        for name in others:
            near_by = fits[name].aic <= fits[ranked[0]].aic + reach
            if near_by and name != MIXTURE and _near(name, fits, measured):
                again = fit_counts(xs, ws, name, bound, uncertainty=True, at=fits[name])
                plausible.append(again)
    low, middle, high = (float(v) for v in best.ppf(QUANTILES))
    second = MIXTURE in fits and "normal" in fits and fits["normal"].aic - fits[MIXTURE].aic > 20
    notes = causes_of_rejection(
        y, tested, tests, lag1, second and chosen in ("normal", MIXTURE), seed, unit
    )
    notes += cautions.size_of_departure(fits, measured, chosen, tests, lower, upper)
    notes += cautions.doubt_between_families(plausible, lower, upper)
    notes += cautions.of_values(y, x, tested, measured[chosen], best)
    notes += cautions.few_values_for_four(chosen, per_value * y.size)
    drawn = _band(best, tested.size, seed) if refits else None
    return ShapeStudy(
        n=int(y.size),
        n_tested=int(tested.size),
        normality=tests,
        families=families,
        chosen=best,
        runner_up=fits[runner_up] if runner_up else None,
        selection_reason=why,
        quantiles={"0.00135": low, "0.5": middle, "0.99865": high},
        unit=unit,
        cautions=tuple(notes),
        counts=(x, w),
        plausible_families=tuple(plausible),
        quantile_intervals={f"{q:g}": _quantile(best, q, n_eff, y) for q in QUANTILES},
        sample=np.sort(tested),
        band=drawn,
    )


def _band(item: FittedDistribution, n: int, seed: int | None) -> Any:
    try:
        return band(item, n, _BAND_DRAWS, generator(seed, "band"))
    except CannotJudge:
        return None


def _quantile(item: FittedDistribution, q: float, n_eff: float | None, y: Any) -> Interval | Absent:
    try:
        return quantile_interval(item, q, n_eff=n_eff, values=y)
    except CannotJudge as stop:
        return Absent(stop.reason.rstrip("."))


def _p_values(
    fits: dict[str, FittedDistribution],
    wanted: tuple[str | None, ...],
    tested: Any,
    refits: int,
    tests: tuple[NormalityTest, ...],
    seed: int | None,
) -> dict[str, float | Absent]:
    """Compute p of Anderson-Darling: from its table for the normal, from its null where that is known."""
    found: dict[str, float | Absent] = {"normal": tests[0].p} if tests else {}
    if not refits:
        return found
    for name, item in fits.items():
        if name not in found and (name in wanted or null_is_known(item, tested)):
            rng = generator(seed, "goodness", name)
            found[name] = bootstrap_p(item, tested, refits=refits, rng=rng)
    return found


def _gathered(x: Any, w: Any) -> tuple[Any, Any]:
    """Group many different values in steps far finer than any family could distinguish."""
    if x.size <= _MANY:
        return x, w
    mean = float(w @ x / w.sum())
    step = float(np.sqrt(w @ (x - mean) ** 2 / w.sum())) / 300
    cell = np.rint((x - mean) / step).astype(np.int64)
    _, where = np.unique(cell, return_inverse=True)
    total = np.bincount(where, w)
    return np.bincount(where, w * x) / total, total


def _candidates(family: str, bound: float | None, x: Any, w: Any) -> tuple[str, ...]:
    if bound is not None and x[0] < bound:
        raise CannotJudge(f"A value lies below the physical bound {as_given(bound)}.")
    usual: tuple[str, ...] = _BOUNDED if bound is not None else _FREE
    mean = float(w @ x / w.sum())
    third = float(w @ (x - mean) ** 3)
    # The sign of values as good as symmetric is that of a rounding error.
    left = third < -1e-9 * float(w @ np.abs(x - mean) ** 3)
    # To the right Johnson's S_L is the lognormal with threshold.
    idle = {"lognormal with threshold", "gamma with threshold"} if left else {"Johnson S_L"}
    if w.sum() < _FOUR:
        idle |= {"Johnson S_U", "Johnson S_B"}
    usual = tuple(name for name in usual if name not in idle)
    if family == "auto":
        return usual
    return tuple(dict.fromkeys([family, *usual]))


def _fit_all(
    names: tuple[str, ...], x: Any, w: Any, bound: float | None, named: str
) -> tuple[dict[str, FittedDistribution], list[str]]:
    fits, failures = {}, []
    for name in names:
        try:
            found = fit_counts(x, w, name, bound)
        except CannotJudge as stop:
            failures.append(stop.reason.rstrip("."))
            continue
        if found.undetermined is None or name == named:
            fits[name] = found
        else:
            failures.append(f"of the {name} distribution {found.undetermined}")
    return fits, failures


def _in_order(names: list[str], number: Callable[[str], float]) -> list[str]:
    """Sort names by a number, ascending; where numbers differ by less than could matter, keep their order."""
    rest, out = list(names), []
    while rest:
        least = min(number(name) for name in rest)
        first = next(name for name in rest if number(name) <= least + _EQUAL)
        out.append(first)
        rest.remove(first)
    return out


def _thinned(y: Any) -> Any:
    if y.size <= TESTED:
        return y
    return y[np.linspace(0, y.size - 1, TESTED).astype(int)]


def _measure(item: FittedDistribution, x: Any, w: Any, tested: Any) -> tuple[float, float, float]:
    """Compute the distances of the distribution functions and of the outer quantiles, and Anderson-Darling."""
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


def _near(
    name: str, fits: dict[str, FittedDistribution], measured: dict[str, tuple[float, float, float]]
) -> bool:
    if name not in fits:
        return False
    n = fits[name].n
    # With few values even the right family differs by chance; allow for that.
    return measured[name][0] <= max(NEAR, 0.9 / math.sqrt(n)) and measured[name][1] <= max(
        TAIL, 3.0 / math.sqrt(n)
    )


def _choice(
    family: str,
    ranked: list[str],
    fits: dict[str, FittedDistribution],
    measured: dict[str, tuple[float, float, float]],
    bound: float | None,
    mixture_expected: bool,
) -> tuple[str, str, bool]:
    """Choose the family; say why, and whether nothing but the values chose it."""
    if family != "auto":
        if family not in fits:
            raise CannotJudge(
                f"The family named in study.toml, {family}, cannot describe the values."
            )
        return family, "named by the author of the study", False

    def near(name: str) -> bool:
        return _near(name, fits, measured)

    if bound is not None:
        for name in _PHYSICAL:
            if name in fits and near(name):
                return name, "suggested by the bound, and not rejected", False
        why = "smallest AIC; the families that the bound suggests are rejected"
        return ranked[0], why, True
    best = fits[ranked[0]].aic
    if mixture_expected and MIXTURE in fits and fits[MIXTURE].aic - best < 10 and _two_show(fits):
        return MIXTURE, "parts come from several stations, and two components show", False
    if "normal" in fits and near("normal"):
        return "normal", _NEAR_NORMAL, False
    plain_ones = [name for name in ranked if name != MIXTURE]
    if plain_ones:
        # Likelihoods that differ by less than a thousandth per value are equal for any purpose.
        reach = fits[plain_ones[0]].aic + max(2.0, 0.001 * fits[plain_ones[0]].n)
        equal = [name for name in plain_ones if fits[name].aic <= reach]
        closest = _in_order(equal, lambda name: measured[name][1])[0]
        if near(closest):
            why = "among the single distributions of smallest AIC the best in the tails"
            return closest, why, True
    return ranked[0], "smallest AIC", True


def _two_show(fits: dict[str, FittedDistribution]) -> bool:
    return "normal" not in fits or fits["normal"].aic - fits[MIXTURE].aic > 10
