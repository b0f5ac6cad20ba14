"""Attribute charts by hand, against SciPy and statsmodels."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom, chi2, poisson

from linestudy.results import CannotJudge
from linestudy.stability import attribute_chart


def test_p_chart_by_hand() -> None:
    # Montgomery, table 7.1 (orange juice cans, n = 50), first ten of thirty samples, from memory.
    bad = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10]
    study = attribute_chart(bad, 50)
    p = sum(bad) / 500
    half = 3 * math.sqrt(p * (1 - p) / 50)
    assert study.centre == pytest.approx(p)
    assert study.points.high[0] == pytest.approx(p + half)
    assert study.points.low[0] == pytest.approx(max(p - half, 0))
    assert attribute_chart(bad, 50, kind="np").points.high[0] == pytest.approx(50 * (p + half))


def test_c_and_u_by_hand() -> None:
    found = [21, 24, 16, 12, 15, 5, 28, 20]
    study = attribute_chart(found, kind="c")
    mean = sum(found) / 8
    assert study.centre == pytest.approx(mean)
    assert study.points.high[0] == pytest.approx(mean + 3 * math.sqrt(mean))
    sizes = [1.0, 2.0, 1.0, 1.0, 1.0, 0.5, 2.0, 1.0]
    u = attribute_chart(found, sizes, kind="u")
    assert u.centre == pytest.approx(sum(found) / sum(sizes))
    assert u.points.high[1] == pytest.approx(u.centre + 3 * math.sqrt(u.centre / 2))


def test_false_signals_are_exact_binomial_and_poisson() -> None:
    bad = [3, 5, 4, 6, 2, 4, 5, 3]
    study = attribute_chart(bad, 100)
    p = 0.04
    high = p + 3 * math.sqrt(p * (1 - p) / 100)
    expected = 8 * binom.sf(math.floor(100 * high), 100, p)
    assert study.expected_false_signals == pytest.approx(expected, rel=1e-9)
    c = attribute_chart(bad, kind="c")
    assert c.expected_false_signals == pytest.approx(8 * poisson.sf(math.floor(4 + 6), 4), rel=1e-9)


def test_widened_limits_hold_where_plain_ones_cry_wolf() -> None:
    rng = np.random.default_rng(1)
    rate = rng.normal(0.02, 0.003, 400)
    bad = rng.binomial(50_000, rate)
    plain, wide = attribute_chart(bad, 50_000), attribute_chart(bad, 50_000, kind="p widened")
    assert len(plain.signals) > 100
    assert len(wide.signals) <= 6
    # sigma_z is the spread of the standardised points (Laney 2002).
    error = math.sqrt(0.02 * 0.98 / 50_000)
    assert wide.sigma_z == pytest.approx(math.sqrt(error**2 + 0.003**2) / error, rel=0.1)
    assert any("widened" in text for text in plain.cautions)
    chance = attribute_chart(rng.binomial(500, 0.02, 400), 500)
    assert chance.sigma_z == pytest.approx(1, abs=0.1)
    assert wide.figure().alt_text == wide.alt_text
    assert not wide.shown().empty
    assert "points" not in wide.record()


#: Defective chips on 30 wafers of 50 (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2).
WAFERS = [
    12,
    15,
    8,
    10,
    4,
    7,
    16,
    9,
    14,
    10,
    5,
    6,
    17,
    12,
    22,
    8,
    10,
    5,
    13,
    11,
    20,
    18,
    24,
    15,
    9,
    12,
    7,
    13,
    9,
    6,
]


def test_two_bad_wafers_are_no_reason_for_wider_limits() -> None:
    # Centre 0.2313, limits 0.0524 and 0.4102, as printed; two wafers signal.
    study = attribute_chart(WAFERS, 50)
    assert study.centre == pytest.approx(0.2313, abs=5e-5)
    assert study.points.low[0] == pytest.approx(0.0524, abs=2e-4)
    assert study.points.high[0] == pytest.approx(0.4102, abs=2e-4)
    assert [signal.point for signal in study.signals] == [15, 23]
    assert study.sigma_z > 1.2
    assert not any("widened" in text for text in study.cautions)
    assert "chance alone" not in study.statement


def test_dispersion_by_statsmodels_and_by_hand() -> None:
    # Nobody beyond the limits: the dispersion about the mean is Pearson's chi-square of a logit with one mean.
    import statsmodels.api as sm

    bad = np.array([40, 61, 39, 60, 41, 58, 44, 57, 43, 56])
    study = attribute_chart(bad, 400)
    assert not study.signals
    model = sm.GLM(np.column_stack([bad, 400 - bad]), np.ones((10, 1)), sm.families.Binomial())
    pearson = float(model.fit().pearson_chi2)
    z = (bad / 400 - bad.mean() / 400) / math.sqrt(bad.mean() / 400 * (1 - bad.mean() / 400) / 400)
    assert pearson == pytest.approx(float((z**2).sum()), rel=1e-9)
    successive = float((np.diff(z) ** 2).sum()) / 18
    wanted = max(chi2.sf(pearson, 9), chi2.sf(successive * 2 * 81 / 26, 2 * 81 / 26))
    assert study.dispersion_p == pytest.approx(wanted, rel=1e-9)


def test_chance_seldom_argues_for_wider_limits() -> None:
    # At one in a hundred, both tests together less; where the rate really moves it is found.
    rng = np.random.default_rng(7)
    chance = [attribute_chart(rng.binomial(400, 0.05, 25), 400).spreads_more for _ in range(500)]
    assert np.mean(chance) < 0.02
    rate = [np.clip(rng.normal(0.01, 0.003, 25), 1e-4, 1) for _ in range(100)]
    moving = [attribute_chart(rng.binomial(20_000, r), 20_000).spreads_more for r in rate]
    assert np.mean(moving) > 0.95


def test_a_widened_chart_never_narrows_and_rare_events_want_another() -> None:
    x = np.random.default_rng(3).poisson(0.05, 200)
    plain, wide = attribute_chart(x, 1, kind="u"), attribute_chart(x, 1, kind="u widened")
    assert wide.sigma_z < 1
    assert wide.points.high == pytest.approx(plain.points.high)
    assert wide.expected_false_signals == pytest.approx(plain.expected_false_signals)
    assert any("not narrower" in text for text in wide.cautions)
    assert any("g chart" in text and "t chart" in text for text in plain.cautions)


@pytest.mark.parametrize(
    ("bad", "size", "kind"),
    [
        ([1], 10, "p"),
        ([1, 2], [10, 0], "p"),
        ([1, 20], 10, "p"),
        ([1.5, 2], 10, "p"),
        ([-1, 2], 10, "p"),
        ([1, 2], [10, 11], "np"),
        ([1, 2], [10, 11], "c"),
        ([0, 0], 10, "p"),
        ([10, 10], 10, "p"),
    ],
)
def test_count_refusals(bad: list[float], size: object, kind: str) -> None:
    with pytest.raises(CannotJudge):
        attribute_chart(bad, size, kind=kind)


def test_misuse_is_told_by_name() -> None:
    with pytest.raises(ValueError, match="size is absent"):
        attribute_chart([1, 2], kind="p")
    with pytest.raises(ValueError, match="Allowed are 'p', 'np'"):
        attribute_chart([1, 2], 10, kind="other")
    with pytest.raises(ValueError, match="counts has 2 entries and size 3"):
        attribute_chart([1, 2], [10, 10, 10])
    with pytest.raises(ValueError, match="one dimension"):
        attribute_chart([[1, 2], [3, 4]], 10)


def test_the_centre_has_the_digits_that_its_error_allows() -> None:
    study = attribute_chart([2, 3, 4, 2, 3, 2, 4, 2], 1000)
    # 22 of 8,000: 0.00275 with a standard error of sqrt(p (1 - p) / 8,000) = 0.00059.
    assert study.centre_error == pytest.approx(math.sqrt(0.00275 * 0.99725 / 8000))
    assert "CL 0.00275)" in study.statement
