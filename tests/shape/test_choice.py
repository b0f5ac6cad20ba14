"""Normality against SciPy and statsmodels; the order of choice; goodness of fit."""

from __future__ import annotations

import json

import numpy as np
import pytest

from linestudy.core import Absent, CannotJudge
from linestudy.shape import anderson_darling, bootstrap_p, choose, fit, normality
from linestudy.shape.families import MIXTURE

RNG = np.random.default_rng(12)


def test_normality_tests_are_those_of_the_libraries() -> None:
    from scipy import stats
    from statsmodels.stats.diagnostic import lilliefors, normal_ad

    y = RNG.gamma(8, 1, 120)
    found = {test.test: test for test in normality(y)}
    assert found["Shapiro-Wilk"].statistic == pytest.approx(stats.shapiro(y)[0])
    assert found["D'Agostino-Pearson"].p == pytest.approx(stats.normaltest(y)[1])
    assert found["Anderson-Darling"].p == pytest.approx(normal_ad(y)[1])
    assert found["Lilliefors"].statistic == pytest.approx(lilliefors(y)[0])


def test_anderson_darling_has_its_published_size() -> None:
    # D'Agostino & Stephens (1986): adjusted statistic 0.752 at 5 %, 1.035 at 1 %.
    rng = np.random.default_rng(3)
    statistics = np.array([normality(rng.normal(size=40))[0].statistic for _ in range(1000)])
    assert (statistics > 0.752).mean() == pytest.approx(0.05, abs=3 * np.sqrt(0.05 * 0.95 / 1000))
    assert (statistics > 1.035).mean() == pytest.approx(0.01, abs=3 * np.sqrt(0.01 * 0.99 / 1000))


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
    assert choose(values, refits=0, **settings).chosen.family == expected


def test_skewed_values_are_not_called_normal_and_their_tail_is_found() -> None:
    values = 0.5 + RNG.gamma(4, 0.01, 6000)
    study = choose(values, refits=0)
    assert "threshold" in study.chosen.family
    from scipy.stats import gamma

    truth = 0.5 + gamma(4, scale=0.01).ppf(0.99865)
    assert study.quantiles["0.99865"] == pytest.approx(truth, abs=0.05 * (truth - 0.5))


def test_a_named_family_is_taken() -> None:
    study = choose(RNG.normal(5, 1, 300), family="logistic", refits=0)
    assert study.chosen.family == "logistic"
    assert study.why == "named in study.toml"
    with pytest.raises(CannotJudge, match="known are"):
        choose(RNG.normal(5, 1, 300), family="triangle")


def test_causes_are_named() -> None:
    coarse = choose(RNG.normal(5, 1, 300).round(0), refits=0)
    assert any("steps" in note for note in coarse.cautions)
    far = choose(np.append(RNG.normal(5, 1, 300), 500.0), refits=0)
    assert any("very far" in note for note in far.cautions)
    assert any(
        "correlate" in note for note in choose(RNG.normal(5, 1, 300), lag1=0.6, refits=0).cautions
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
        choose(values, bound=bound)


def test_the_finding_records_states_and_draws() -> None:
    study = choose(np.abs(RNG.normal(0, 1, 400)), bound=0.0, unit="mm", refits=19)
    record = study.record()
    assert json.dumps(record, allow_nan=False)
    assert set(record["quantiles"]) == {"0.00135", "0.5", "0.99865"}
    assert set(record["families"][0]) >= {"family", "parameters", "aic", "ad", "p"}
    own = next(item for item in study.families if item.family == study.chosen.family)
    assert isinstance(own.p, float | Absent)
    assert study.statement.endswith("mm.")
    assert study.figure().alt_text
