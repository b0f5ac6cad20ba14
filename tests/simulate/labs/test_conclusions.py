"""What the labs about conclusions from data say, against other libraries and against studies drawn from scratch."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.inter_rater import cohens_kappa

from linestudy.simulate import labs


def test_a_test_of_normality_keeps_its_level_and_sees_with_many_parts_what_it_does_not_with_few() -> (
    None
):
    # A level of 5 % in 200 studies: three standard errors.
    assert 0.005 < labs.normality_and_size(300, 0.0).numbers["rejected"] < 0.1
    few, many = (labs.normality_and_size(n, 0.2).numbers["rejected"] for n in (30, 30_000))
    assert few < 0.2
    assert many > 0.95
    # Another test than the lab's says the same.
    draw = np.random.default_rng(1).gamma(100.0, size=(100, 30))
    assert np.mean([stats.shapiro(row).pvalue < 0.05 for row in draw]) < 0.2


@pytest.mark.parametrize("skewness", [0.2, 0.6, 1.0])
def test_the_true_index_by_brute_force(skewness: float) -> None:
    shape = 4 / skewness**2
    draw = (np.random.default_rng(2).gamma(shape, size=2_000_000) - shape) / np.sqrt(shape)
    upper = draw.mean() + 3 * 1.33 * draw.std()
    low, high = np.quantile(draw, [0.5, 0.99865])
    found = labs.normality_and_size(30, skewness).numbers["true index"]
    assert found == pytest.approx((upper - low) / (high - low), rel=0.01)


def test_ndc_hangs_on_the_parts_and_percent_tolerance_does_not() -> None:
    found = labs.parts_that_do_not_span(0.2, 0.1).numbers
    # Tolerance 6 · 1.33 SD of the process, a tenth of it six SD of the gauge; 1.41 as printed in AIAG MSA.
    gauge = 0.1 * 6 * 1.33 / 6
    assert found["ndc"] == pytest.approx(1.41 * 0.2 / gauge)
    assert found["ndc of the process"] == pytest.approx(1.41 / gauge)
    assert found["total variation"] == pytest.approx(100 * gauge / np.hypot(gauge, 0.2))


@pytest.mark.parametrize(("band", "share", "index"), [(0.0, 0.2, 1.0), (1.0, 0.3, 0.8)])
def test_risks_with_a_guard_band_by_counting(band: float, share: float, index: float) -> None:
    found = labs.guard_band(band, share, index).numbers
    rng, half, gauge = np.random.default_rng(3), 3 * index, share * index
    true = rng.standard_normal(4_000_000)
    taken = np.abs(true + gauge * rng.standard_normal(true.size)) <= half - band * gauge
    bad = np.abs(true) > half
    for name, count in (("consumer", (bad & taken).sum()), ("producer", (~bad & ~taken).sum())):
        assert found[name] * 4 == pytest.approx(float(count), abs=5 * np.sqrt(count) + 5)


@pytest.mark.parametrize("decide_on", ["estimate", "lower bound"])
def test_operating_characteristic_by_simulated_studies(decide_on: str) -> None:
    n, required = 50, 1.67
    found = labs.operating_characteristic(n, required, decide_on).numbers
    values = np.random.default_rng(4).standard_normal((6_000, n))
    for true in (1.5, 2.0):
        index = (3 * true - values.mean(axis=1)) / (3 * values.std(axis=1, ddof=1))
        seen = float(np.mean(index >= found["least"]))
        assert found[f"at {true:g}"] == pytest.approx(seen, abs=0.025)
    if decide_on == "lower bound":
        assert found["at required"] == pytest.approx(0.05, abs=1e-6)


def test_the_old_name_of_the_operating_characteristic_still_works() -> None:
    with pytest.warns(DeprecationWarning, match="'operating_characteristic'"):
        assert labs.what_meets_is_worth is labs.operating_characteristic  # type: ignore[attr-defined]


@pytest.mark.parametrize("bad", [0.02, 0.1, 0.5])
def test_kappa_against_statsmodels(bad: float) -> None:
    error = 0.02
    right = 1 - error
    both = np.array(
        [
            [bad * right**2 + (1 - bad) * error**2, right * error],
            [right * error, bad * error**2 + (1 - bad) * right**2],
        ]
    )
    found = labs.kappa_of_rare_defects(bad, error).numbers
    assert found["kappa"] == pytest.approx(cohens_kappa(both).kappa)


@pytest.mark.parametrize(("wild", "n"), [(0.0, 10_000), (0.002, 3_000), (0.01, 1_000)])
def test_parts_outside_by_counting_studies(wild: float, n: int) -> None:
    found = labs.observed_against_expected(wild, n).numbers
    rng, studies = np.random.default_rng(9), 400
    sd = np.where(rng.random((studies, n)) < wild, 4.0, 1.0)
    limit = 3 * 1.33 * np.sqrt(1 - wild + 16 * wild)
    counts = np.sum(np.abs(sd * rng.standard_normal((studies, n))) > limit, axis=1)
    assert found["counted"] == pytest.approx(
        counts.mean(), abs=4 * np.sqrt(counts.mean() / studies) + 0.02
    )
    seen = float(np.mean(counts >= found["least"]))
    assert found["noticed"] == pytest.approx(seen, abs=0.1)
    assert found["expected"] == pytest.approx(2 * n * stats.norm.sf(3.99))
