"""Normality against SciPy and statsmodels; the order of choice; goodness of fit."""

from __future__ import annotations

import json

import numpy as np
import pytest

from linestudy.results import Absent, CannotJudge
from linestudy.shape import anderson_darling, bootstrap_p, fit, normality_tests, select_distribution
from linestudy.shape.families import MIXTURE

RNG = np.random.default_rng(12)


def test_normality_tests_are_those_of_the_libraries() -> None:
    from scipy import stats
    from statsmodels.stats.diagnostic import lilliefors, normal_ad

    y = RNG.gamma(8, 1, 120)
    found = {test.test: test for test in normality_tests(y)}
    assert found["Shapiro-Wilk"].statistic == pytest.approx(stats.shapiro(y)[0])
    assert found["D'Agostino-Pearson"].p == pytest.approx(stats.normaltest(y)[1])
    assert found["Anderson-Darling"].p == pytest.approx(normal_ad(y)[1])
    assert found["Lilliefors"].statistic == pytest.approx(lilliefors(y)[0])


def test_anderson_darling_has_its_published_size() -> None:
    # D'Agostino & Stephens (1986): adjusted statistic 0.752 at 5 %, 1.035 at 1 %.
    rng = np.random.default_rng(3)
    statistics = np.array([normality_tests(rng.normal(size=40))[0].statistic for _ in range(400)])
    assert (statistics > 0.752).mean() == pytest.approx(0.05, abs=3 * np.sqrt(0.05 * 0.95 / 400))
    assert (statistics > 1.035).mean() == pytest.approx(0.01, abs=3 * np.sqrt(0.01 * 0.99 / 400))


def test_our_statistic_is_scipys() -> None:
    from scipy.stats import anderson

    y = RNG.normal(3, 2, 80)
    item = fit(y, "normal")
    # SciPy divides by n - 1; give it our fit by scaling.
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = anderson(y, "norm").statistic
    sd = np.std(y, ddof=1)
    own = fit(y, "normal").with_free([float(np.mean(y)), float(np.log(sd))])
    assert anderson_darling(own, y) == pytest.approx(theirs, rel=1e-9)
    assert anderson_darling(item, y) == pytest.approx(theirs, rel=0.1)


def test_bootstrap_p_is_uniform_under_the_null() -> None:
    rng = np.random.default_rng(4)
    p = [bootstrap_p(fit(y := rng.gamma(3, 1, 60), "gamma", 0.0), y, 29, rng) for _ in range(24)]
    assert 0.32 < np.mean(p) < 0.68


@pytest.mark.parametrize(
    ("values", "settings", "expected"),
    [
        (RNG.normal(5, 1, 4000), {}, "normal"),
        (np.abs(RNG.normal(0.3, 0.4, 4000)), {"bound": 0.0}, "folded normal"),
        (RNG.normal(5, 1, 200).round(1), {}, "normal"),
        (
            np.concatenate([RNG.normal(0, 1, 2000), RNG.normal(3.5, 1, 2000)]),
            {"mixture_expected": True},
            MIXTURE,
        ),
        (RNG.normal(5, 1, 4000), {"mixture_expected": True}, "normal"),
    ],
)
def test_the_order_of_choice(values: np.ndarray, settings: dict, expected: str) -> None:
    assert select_distribution(values, refits=0, **settings).chosen.family == expected


def test_skewed_values_are_not_called_normal_and_their_tail_is_found() -> None:
    values = 0.5 + RNG.gamma(4, 0.01, 6000)
    study = select_distribution(values, refits=0)
    assert "threshold" in study.chosen.family
    from scipy.stats import gamma

    truth = 0.5 + gamma(4, scale=0.01).ppf(0.99865)
    assert study.quantiles["0.99865"] == pytest.approx(truth, abs=0.05 * (truth - 0.5))


def test_a_named_family_is_taken() -> None:
    study = select_distribution(RNG.normal(5, 1, 300), family="logistic", refits=0)
    assert study.chosen.family == "logistic"
    assert study.selection_reason == "named in study.toml"
    with pytest.raises(ValueError, match="Allowed are 'auto'"):
        select_distribution(RNG.normal(5, 1, 300), family="triangle")


def test_causes_are_named() -> None:
    coarse = select_distribution(RNG.normal(5, 1, 300).round(0), refits=0)
    assert any("steps" in note for note in coarse.cautions)
    far = select_distribution(np.append(RNG.normal(5, 1, 300), 500.0), refits=0)
    assert any("very far" in note for note in far.cautions)
    assert any(
        "correlate" in note
        for note in select_distribution(RNG.normal(5, 1, 300), lag1=0.6, refits=0).cautions
    )


@pytest.mark.parametrize(
    ("values", "bound", "words"),
    [
        (np.arange(9.0), None, "at least 10"),
        (np.ones(50), None, "same"),
        (np.linspace(-1, 5, 50), 0.0, "below the physical bound"),
        (np.array([1.0, np.nan] * 10), None, "missing"),
    ],
)
def test_what_cannot_be_judged_is_said(values: np.ndarray, bound: float | None, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        select_distribution(values, bound=bound)


def test_the_finding_records_states_and_draws() -> None:
    study = select_distribution(np.abs(RNG.normal(0, 1, 400)), bound=0.0, unit="mm", refits=19)
    record = study.record()
    assert json.dumps(record, allow_nan=False)
    assert set(record["quantiles"]) == {"0.00135", "0.5", "0.99865"}
    assert set(record["families"][0]) >= {"family", "parameters", "aic", "anderson_darling", "p"}
    own = next(item for item in study.families if item.family == study.chosen.family)
    assert isinstance(own.p, float | Absent)
    assert study.statement.endswith("mm.")
    assert study.figure().alt_text


def test_rounding_is_tried_as_a_cause() -> None:
    study = select_distribution(np.random.default_rng(1).normal(0, 1, 250).round(), refits=0)
    assert any("Rounding is why" in note for note in study.cautions)
    fine = select_distribution(np.random.default_rng(1).gamma(2, 1, 250), refits=0)
    assert not any("Rounding" in note for note in fine.cautions)


def test_a_stray_value_is_named() -> None:
    y = np.append(np.random.default_rng(3).normal(10, 1, 200), 16.5)
    notes = select_distribution(np.random.default_rng(4).permutation(y), refits=0).cautions
    assert any("16.5, is why normality is rejected" in note for note in notes)


def test_copied_readings_are_named() -> None:
    y = np.random.default_rng(5).normal(10, 1, 300).round(2)
    y[1::3] = y[::3]
    assert any("equal the one before" in note for note in select_distribution(y, refits=0).cautions)
    plain = np.random.default_rng(5).normal(10, 1, 300).round(1)
    assert not any(
        "equal the one before" in note for note in select_distribution(plain, refits=0).cautions
    )


def test_tested_values_that_still_correlate_are_named() -> None:
    walk = np.cumsum(np.random.default_rng(6).normal(size=200))
    assert any("still correlate" in note for note in select_distribution(walk, refits=0).cautions)


def test_every_candidate_has_its_ppm_and_departure_is_a_size() -> None:
    y = 0.58 + np.random.default_rng(7).gamma(7, 0.0034, 20_000)
    study = select_distribution(y, lower=0.56, upper=0.66, refits=0, unit="mm")
    from scipy.stats import gamma

    truth = 1e6 * gamma(7, 0.58, 0.0034).sf(0.66)
    ppm = {item.family: item.expected_ppm for item in study.families}
    assert ppm["gamma with threshold"] == pytest.approx(truth, rel=0.5)
    assert "expected (ppm)" in study.shown()
    assert any("in any share of parts" in note and "ppm" in note for note in study.cautions)
    assert study.candidates_figure().alt_text
    assert isinstance(select_distribution(y[:200], refits=0).families[0].expected_ppm, Absent)


def test_families_that_fit_as_well_are_kept_and_only_then() -> None:
    rng = np.random.default_rng(8)
    skewed = select_distribution(
        0.6 + 0.004 * (rng.gamma(5, 1, 600) - 5), lower=0.56, upper=0.66, refits=0
    )
    assert len(skewed.plausible_families) > 1
    assert skewed.plausible_families[0].family == skewed.chosen.family
    assert all(item.covariance is not None for item in skewed.plausible_families)
    assert any("do not tell" in note for note in skewed.cautions)
    # Normal values, a named family and a physical bound leave no such doubt.
    normal = select_distribution(rng.normal(5, 1, 600), refits=0)
    named = select_distribution(
        0.6 + 0.004 * rng.gamma(5, 1, 600), "gamma with threshold", refits=0
    )
    bounded = select_distribution(np.abs(rng.normal(0.3, 0.3, 2000)), bound=0.0, refits=0)
    assert [len(item.plausible_families) for item in (normal, named, bounded)] == [1, 1, 1]
    # Heavy tails pass for nearly normal with few values; the doubt is kept.
    heavy = select_distribution(np.random.default_rng(3).standard_t(4, 300), refits=0)
    assert heavy.chosen.family != "normal" or len(heavy.plausible_families) > 1


def test_left_skewed_values_find_a_family() -> None:
    study = select_distribution(5 - np.random.default_rng(9).lognormal(-1, 0.5, 4000), refits=0)
    assert study.chosen.family in ("Johnson S_L", "Johnson S_U", "Johnson S_B")
    assert study.chosen.ppf(0.00135) == pytest.approx(5 - np.exp(-1 + 0.5 * 3), abs=0.25)


def test_many_different_values_are_gathered_without_harm() -> None:
    y = np.random.default_rng(10).gamma(6, 1, 30_000)
    whole = select_distribution(y, "gamma with threshold", refits=0)
    assert whole.chosen.loglik == pytest.approx(fit(y, "gamma with threshold").loglik, abs=1e-3)
    listed = next(item for item in whole.families if item.family == "gamma with threshold")
    assert list(listed.parameters.values()) == pytest.approx(
        list(whole.chosen.parameters.values()), rel=0.01
    )


def test_negative_values_in_a_box_cox_are_a_sentence() -> None:
    y = np.random.default_rng(11).normal(0, 1, 100)
    with pytest.raises(CannotJudge, match="below the bound"):
        fit(y, "Box-Cox normal")
    with pytest.raises(CannotJudge, match="Box-Cox normal, cannot describe"):
        select_distribution(y, family="Box-Cox normal", refits=0)


@pytest.mark.parametrize("family", ["normal", "gamma with threshold", "Johnson S_U"])
def test_quantile_intervals_shrink_and_follow_the_unit(family: str) -> None:
    from linestudy.shape import quantile_interval

    y = 5 + 0.3 * np.random.default_rng(12).gamma(6, 1, 400)
    one = quantile_interval(fit(y, family, uncertainty=True), 0.99865)
    inch = quantile_interval(fit(y / 25.4, family, uncertainty=True), 0.99865)
    assert [inch.low * 25.4, inch.high * 25.4] == pytest.approx([one.low, one.high], rel=2e-3)
    worth = quantile_interval(fit(y, family, uncertainty=True), 0.99865, n_eff=100)
    assert worth.high - worth.low == pytest.approx(2 * (one.high - one.low), rel=0.5)
    with pytest.raises(CannotJudge, match="no covariance"):
        quantile_interval(fit(y, family), 0.5)


_ODD = np.random.default_rng(0)
ODD: dict[str, tuple[np.ndarray, float | None]] = {
    "one huge outlier": (np.append(_ODD.normal(5, 1, 500), 1e6), None),
    "two values": (np.array([1.0, 2.0] * 50), None),
    "three values": (np.repeat([1.0, 2.0, 3.0], 20), None),
    "ten values": (_ODD.normal(size=10), None),
    "tiny unit": (1e-12 * _ODD.normal(5, 1, 100), None),
    "far from zero": (1e12 + _ODD.normal(5, 1, 100), None),
    "even": (_ODD.random(2000), None),
    "Cauchy": (_ODD.standard_cauchy(1000), None),
    "mostly one value": (np.concatenate([np.zeros(400), _ODD.normal(size=20)]), None),
    "begins at once": (_ODD.exponential(1, 3000), None),
    "readings at the bound": (np.abs(_ODD.normal(0, 0.003, 300)).round(3), 0.0),
    "bound below zero": (_ODD.gamma(2, 1, 100) - 5, -5.0),
}


@pytest.mark.parametrize("name", sorted(ODD))
@pytest.mark.parametrize("limits", ["around", "far outside"])
def test_odd_values_give_a_finding_without_warning_or_nan(name: str, limits: str) -> None:
    import warnings

    y, bound = ODD[name]
    around = limits == "around"
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        study = select_distribution(
            y,
            bound=bound,
            seed=1,
            refits=99,
            lower=float(y.min()) - 1 if around else 1e14,
            upper=float(y.max()) + 1 if around else 2e14,
        )
        assert json.dumps(study.record(), allow_nan=False)
        assert study.statement
        assert not study.shown().empty
        study.figure()
        study.candidates_figure()


def test_candidates_side_by_side_need_limits() -> None:
    with pytest.raises(CannotJudge, match="no limit"):
        select_distribution(RNG.normal(5, 1, 100), refits=0).candidates_figure()
