"""Families: densities and maximum likelihood against SciPy, recovery of truth, units and bounds."""

from __future__ import annotations

import numpy as np
import pytest
from drawn_families import bound_of, values_of_every_family
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linestudy.results import CannotJudge
from linestudy.shape import fit
from linestudy.shape.families import FAMILIES, MIXTURE

RNG = np.random.default_rng(20)
TRUTH = values_of_every_family(RNG, 400)


def test_every_family_is_tried() -> None:
    assert set(TRUTH) == set(FAMILIES)


# SciPy's distribution of each family, by its parameters; the transforms by SciPy's normal and the
# definition of the transform (Box & Cox 1964; Yeo & Johnson 2000; Johnson 1949).
SCIPYS = {
    "normal": lambda p: stats.norm(p["mean"], p["sd"]),
    "logistic": lambda p: stats.logistic(p["location"], p["scale"]),
    "largest extreme value": lambda p: stats.gumbel_r(p["location"], p["scale"]),
    "half-normal": lambda p: stats.halfnorm(0, p["scale"]),
    "Rayleigh": lambda p: stats.rayleigh(0, p["scale"]),
    "folded normal": lambda p: stats.foldnorm(p["mean"] / p["sd"], scale=p["sd"]),
    "lognormal": lambda p: stats.lognorm(p["log_sd"], scale=np.exp(p["log_mean"])),
    "gamma": lambda p: stats.gamma(p["shape"], scale=p["scale"]),
    "Weibull": lambda p: stats.weibull_min(p["shape"], scale=p["scale"]),
    "gamma with threshold": lambda p: stats.gamma(p["shape"], p["threshold"], p["scale"]),
    "lognormal with threshold": lambda p: stats.lognorm(
        p["log_sd"], p["threshold"], np.exp(p["log_mean"])
    ),
    "Weibull with threshold": lambda p: stats.weibull_min(p["shape"], p["threshold"], p["scale"]),
    "Johnson S_U": lambda p: stats.johnsonsu(p["gamma"], p["delta"], p["xi"], p["lambda"]),
    "Johnson S_B": lambda p: stats.johnsonsb(p["gamma"], p["delta"], p["xi"], p["lambda"]),
}
TAILS = [1e-7, 0.00135, 0.05, 0.3, 0.6, 0.95, 0.99865, 1 - 1e-7]


@pytest.mark.checks("densities, shares and quantiles of families", source="SciPy")
@pytest.mark.parametrize("family", sorted(SCIPYS))
def test_densities_shares_and_quantiles_are_scipys(family: str) -> None:
    item = fit(TRUTH[family], family, bound_of(family))
    theirs = SCIPYS[family](item.parameters)
    x = theirs.ppf(TAILS)
    assert item.ppf(TAILS) == pytest.approx(x, rel=1e-9)
    assert item.logpdf(x) == pytest.approx(theirs.logpdf(x), rel=1e-8, abs=1e-8)
    assert item.cdf(x) == pytest.approx(theirs.cdf(x), rel=1e-7)
    assert item.sf(x) == pytest.approx(theirs.sf(x), rel=1e-7)


@pytest.mark.parametrize("family", ["Box-Cox normal", "Yeo-Johnson normal", "Johnson S_L"])
def test_transforms_are_those_of_their_papers(family: str) -> None:
    item = fit(TRUTH[family], family, bound_of(family))
    p = item.parameters
    x = np.quantile(TRUTH[family], [0.02, 0.3, 0.6, 0.98])
    if family == "Box-Cox normal":
        z = stats.boxcox(x / p["median"], p["power"]) / p["relative_sd"]
        end = -1 / (p["power"] * p["relative_sd"])
        theirs = stats.truncnorm(end, np.inf).cdf(z)
    elif family == "Yeo-Johnson normal":
        theirs = stats.norm.cdf(stats.yeojohnson((x - p["median"]) / p["scale"], p["power"]))
    else:
        z = p["delta"] * np.log((x - p["xi"]) / p["lambda"])
        theirs = stats.norm.cdf(np.sign(p["lambda"]) * z)
    assert item.cdf(x) == pytest.approx(theirs, rel=1e-9)


def test_a_mixture_is_made_of_scipys_normals() -> None:
    item = fit(TRUTH[MIXTURE], MIXTURE)
    p = item.parameters
    x = np.quantile(TRUTH[MIXTURE], [0.02, 0.3, 0.6, 0.98])
    one = stats.norm(p["mean_first"], p["sd_first"])
    other = stats.norm(p["mean_second"], p["sd_second"])
    share = p["share_first"]
    assert item.pdf(x) == pytest.approx(share * one.pdf(x) + (1 - share) * other.pdf(x), rel=1e-10)
    assert item.sf(x) == pytest.approx(share * one.sf(x) + (1 - share) * other.sf(x), rel=1e-10)


@pytest.mark.parametrize("family", FAMILIES)
def test_scores_are_the_slopes_of_the_log_density(family: str) -> None:
    item = fit(TRUTH[family], family, bound_of(family))
    kind, at = FAMILIES[family], item.coordinates
    own = np.array(list(item.parameters.values()))
    assert kind.coordinates(own) == pytest.approx(at, rel=1e-9)
    assert kind.parameters(at) == pytest.approx(own, rel=1e-12)
    x = np.quantile(TRUTH[family], [0.05, 0.3, 0.6, 0.95])
    for index, slope in enumerate(kind.score(x, at)):
        move = np.zeros(at.size)
        move[index] = 1e-5
        numerical = (kind.logpdf(x, at + move) - kind.logpdf(x, at - move)) / 2e-5
        assert np.broadcast_to(slope, 4) == pytest.approx(numerical, abs=1e-7, rel=1e-6)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_maximum_is_the_root_of_the_score(family: str) -> None:
    item = fit(TRUTH[family], family, bound_of(family), with_covariance=True)
    total = np.array([s.sum() for s in FAMILIES[family].score(TRUTH[family], item.free)])
    # In standard errors: what the score leaves costs less than a hundred millionth of one.
    assert np.sqrt(total @ item.covariance @ total) < 1e-9
    assert item.undetermined is None


@pytest.mark.parametrize(
    ("family", "scipy_name", "fixed"),
    [
        ("normal", "norm", {}),
        ("logistic", "logistic", {}),
        ("largest extreme value", "gumbel_r", {}),
        ("half-normal", "halfnorm", {"floc": 0}),
        ("Rayleigh", "rayleigh", {"floc": 0}),
        ("folded normal", "foldnorm", {"floc": 0}),
        ("lognormal", "lognorm", {"floc": 0}),
        ("gamma", "gamma", {"floc": 0}),
        ("Weibull", "weibull_min", {"floc": 0}),
    ],
)
def test_maximum_likelihood_is_scipys(family: str, scipy_name: str, fixed: dict) -> None:
    from scipy import stats

    y = TRUTH[family]
    distribution = getattr(stats, scipy_name)
    theirs = distribution(*distribution.fit(y, **fixed)).logpdf(y).sum()
    ours = fit(y, family, bound_of(family)).loglik
    # Never below SciPy's maximum, and not above it by more than the search tolerance.
    assert ours >= theirs - 1e-5
    assert ours == pytest.approx(theirs, rel=1e-3)


@pytest.mark.proof
@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("n", [40, 300])
def test_the_maximum_is_found_from_elsewhere_too(family: str, n: int) -> None:
    # Second derivation: SciPy's BFGS from several other starts finds nothing better.
    from scipy.optimize import minimize

    item = FAMILIES[family]
    for seed in range(4):
        y = np.random.default_rng(seed).choice(TRUTH[family], n, replace=False)
        ours = fit(y, family, bound_of(family))

        def minus(u, y=y):
            with np.errstate(all="ignore"):
                value = -item.logpdf(y, item.in_range(u)).sum()
            return value if np.isfinite(value) else 1e10

        for shift in (-0.3, 0.0, 0.4):
            best = minimize(
                minus,
                ours.free + shift,
                method="Nelder-Mead",
                options={"xatol": 1e-7, "fatol": 1e-9, "maxiter": 2000},
            )
            assert -best.fun <= ours.loglik + 0.02, (family, seed, shift)


@pytest.mark.parametrize("family", FAMILIES)
def test_distribution_functions_fit_together(family: str) -> None:
    item = fit(TRUTH[family], family, bound_of(family))
    q = np.array([0.00135, 0.2, 0.5, 0.9, 0.99865])
    x = item.ppf(q)
    assert item.cdf(x) == pytest.approx(q, rel=1e-6)
    assert item.sf(x) == pytest.approx(1 - q, rel=1e-6)
    # The density is the slope of the distribution function.
    h = 1e-5 * (x[-1] - x[0])
    slope = (item.cdf(x[1:4] + h) - item.cdf(x[1:4] - h)) / (2 * h)
    assert item.pdf(x[1:4]) == pytest.approx(slope, rel=1e-4)
    # Log likelihood is the sum of log densities.
    assert item.loglik == pytest.approx(
        item.logpdf(np.maximum(TRUTH[family], 1e-9)).sum(), rel=1e-6
    )


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(("unit", "zero"), [(25.4, 0.0), (0.001, 0.0), (1.0, 100.0)])
def test_another_unit_and_another_zero(family: str, unit: float, zero: float) -> None:
    bound = bound_of(family)
    one = fit(TRUTH[family], family, bound)
    other = fit(TRUTH[family] * unit + zero, family, None if bound is None else bound * unit + zero)
    q = [0.01, 0.5, 0.99]
    # A threshold may lie far below on a flat likelihood; quantiles are what is compared.
    assert other.ppf(q) == pytest.approx(one.ppf(q) * unit + zero, rel=2e-3)
    assert other.loglik + one.n * np.log(unit) == pytest.approx(one.loglik, abs=0.05)


@pytest.mark.parametrize("family", FAMILIES)
def test_row_order_and_doubling(family: str) -> None:
    y = TRUTH[family]
    one = fit(y, family, bound_of(family))
    shuffled = fit(np.random.default_rng(1).permutation(y), family, bound_of(family))
    assert shuffled == one
    twice = fit(np.concatenate([y, y]), family, bound_of(family))
    assert twice.loglik == pytest.approx(2 * one.loglik, rel=1e-6)


@pytest.mark.parametrize("family", FAMILIES)
def test_uncertainty_of_a_known_fit_needs_no_search(family: str) -> None:
    from linestudy.shape.fitting import fit_counts

    x, w = np.unique(TRUTH[family], return_counts=True)
    one = fit(TRUTH[family], family, bound_of(family), with_covariance=True)
    found = fit(TRUTH[family], family, bound_of(family))
    other = fit_counts(x, w.astype(float), family, bound_of(family), uncertainty=True, at=found)
    assert other.loglik == pytest.approx(one.loglik, abs=1e-4)
    assert list(other.parameters.values()) == pytest.approx(list(one.parameters.values()), rel=5e-3)
    assert np.diag(other.covariance) == pytest.approx(np.diag(one.covariance), rel=0.05)


@settings(max_examples=10)
@given(st.lists(st.floats(-5, 5), min_size=5, max_size=40))
def test_any_values_are_fitted_or_refused_in_a_sentence(values: list[float]) -> None:
    import warnings

    for family in FAMILIES:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            said = None
            try:
                item = fit(np.round(values, 3), family, bound_of(family))
            except CannotJudge as stop:
                said = stop.reason
            else:
                assert np.isfinite(item.loglik) or item.loglik == np.inf
            assert said is None or said.endswith(".")


@pytest.mark.parametrize(
    ("values", "family", "words"),
    [
        ([1.0] * 20, "normal", "same"),
        ([1.0, 2.0], "normal", "at least 5"),
        ([-0.1, 0.2, 0.3, 0.4, 0.5], "gamma", "below the bound"),
        ([1.0, 2.0, 1.0, 2.0, 1.0], MIXTURE, "five different"),
    ],
)
def test_what_cannot_be_fitted_is_said(values: list[float], family: str, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        fit(values, family, 0.0)


def test_an_unknown_family_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="family = 'triangle' is not known"):
        fit([1, 2, 3, 4, 5], "triangle")


def test_one_value_repeated_has_no_distribution() -> None:
    with pytest.raises(CannotJudge, match="All values are the same"):
        fit([2.0] * 6, "normal")


def test_near_enough_is_a_fiftieth_of_the_distribution_and_a_tenth_of_the_tails() -> None:
    from types import SimpleNamespace

    from linestudy.shape.selection import _near

    fits: dict = {"normal": SimpleNamespace(n=10_000)}
    for distance, tail, near in ((0.019, 0.09, True), (0.021, 0.09, False), (0.019, 0.11, False)):
        assert _near("normal", fits, {"normal": (distance, tail, 0.0)}) == near
    # A hundred values of the family itself differ from it by as much as nine hundredths.
    few: dict = {"normal": SimpleNamespace(n=100)}
    assert _near("normal", few, {"normal": (0.08, 0.29, 0.0)})
    assert not _near("normal", few, {"normal": (0.1, 0.29, 0.0)})


@pytest.mark.parametrize("family", ["gamma", "lognormal", "Weibull"])
def test_a_reading_at_the_bound_stands_a_quarter_of_a_step_above_it(family: str) -> None:
    y = np.round(np.random.default_rng(5).gamma(1.5, 0.01, 300), 3)
    assert (y == 0).any()
    moved = np.where(y == 0, 0.001 / 4, y)
    at, above = fit(y, family, 0.0), fit(moved, family, 0.0)
    assert at.parameters == pytest.approx(above.parameters, rel=1e-9)


@pytest.mark.proof
@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(seed, marks=pytest.mark.proof) for seed in (1, 2, 3, 4, 5))]
)
def test_four_parameters_on_normal_values_say_what_the_normal_says(seed: int) -> None:
    from linestudy.capability import quantile_intervals

    # True index 5/3. The likelihood is nearly flat along the bend, but not for the index.
    y = np.random.default_rng(seed).normal(2.0, 0.01, 3000)
    for family in ("Johnson S_B", "Johnson S_U"):
        item = fit(y, family, with_covariance=True)
        found = quantile_intervals(item, 1.95, 2.05, n_eff_mean=3000, n_eff_sd=3000, values=y)[
            "Ppk"
        ]
        assert 1.3 < found.low < found.high < 2.2, (family, item.undetermined)


@pytest.mark.proof
def test_overlapping_stations_leave_the_index_well_known() -> None:
    from linestudy.capability import quantile_intervals

    # Three stations and one shifted by 1.2 standard deviations: two components that hardly part.
    rng = np.random.default_rng(9)
    y = np.round(np.concatenate([rng.normal(0, 1, 15_000), rng.normal(1.2, 1, 5000)]), 2)
    item = fit(y, MIXTURE, with_covariance=True)
    found = quantile_intervals(item, -5.5, 6.1, n_eff_mean=20_000, n_eff_sd=20_000, values=y)["Ppk"]
    assert found.high - found.low < 0.2 * found.estimate
