"""The order of choice, plausible families, odd values, what cannot be judged."""

from __future__ import annotations

import json

import numpy as np
import pytest

from linestudy.results import CannotJudge
from linestudy.shape import fit, select_distribution
from linestudy.shape.families import MIXTURE

RNG = np.random.default_rng(12)


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
    values = 0.5 + np.random.default_rng(1).gamma(4, 0.01, 6000)
    study = select_distribution(values, refits=0)
    assert "threshold" in study.chosen.family
    from scipy.stats import gamma

    truth = 0.5 + gamma(4, scale=0.01).ppf(0.99865)
    assert study.quantiles["0.99865"] == pytest.approx(truth, abs=0.05 * (truth - 0.5))


def test_a_named_family_is_taken() -> None:
    study = select_distribution(RNG.normal(5, 1, 300), family="logistic", refits=0)
    assert study.chosen.family == "logistic"
    assert study.selection_reason == "named by the author of the study"
    with pytest.raises(ValueError, match="Allowed are 'auto'"):
        select_distribution(RNG.normal(5, 1, 300), family="triangle")


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


@pytest.mark.proof
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
        0.6 + 0.004 * rng.gamma(5, 1, 600), family="gamma with threshold", refits=0
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
    whole = select_distribution(y, family="gamma with threshold", refits=0)
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


@pytest.mark.proof
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
