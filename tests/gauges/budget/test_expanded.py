"""Budgets: the end gauge of the GUM (from memory), Satterthwaite's extremes, and what study.toml adds."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import Contribution, uncertainty_budget
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import CannotJudge, Interval


@pytest.mark.checks(
    "combined uncertainty, effective degrees of freedom",
    source="GUM, JCGM 100:2008, H.1",
    memory=True,
)
def test_the_end_gauge_of_the_gum() -> None:
    # JCGM 100:2008, H.1: 25 nm (18 degrees of freedom), 9.7 (25.6), 2.9 (50), 16.6 (2); combined 32 nm,
    # 16 effective degrees of freedom (truncated). Values from memory.
    study = uncertainty_budget(
        [
            Contribution("calibration", 25.0, 18),
            Contribution("comparison", 9.7, 25.6),
            Contribution("expansion", 2.9, 50),
            Contribution("temperature", 16.6, 2),
        ]
    )
    assert study.u_process.estimate == pytest.approx(32, abs=0.5)
    assert math.floor(study.effective_df) == 16


def test_one_contribution_has_its_exact_interval() -> None:
    study = uncertainty_budget([Contribution("repeatability on parts", 2.0, 12)], 0.0, 100.0)
    exact = sd_interval(2.0, 12)
    assert study.u_process.low == pytest.approx(exact.low, rel=1e-12)
    assert study.u_process.high == pytest.approx(exact.high, rel=1e-12)
    assert isinstance(study.Q_MP, Interval)
    assert study.Q_MP.estimate == pytest.approx(2 * 2 * 2.0 / 100)


def test_only_the_largest_of_resolution_and_repeatabilities_counts() -> None:
    lines = [
        Contribution("resolution", 0.5),
        Contribution("repeatability on a master", 0.3, 24),
        Contribution("repeatability on parts", 0.4, 60),
        Contribution("temperature", 1.2),
    ]
    study = uncertainty_budget(lines, 0.0, 10.0)
    assert study.u_process.estimate == pytest.approx(1.3)
    assert study.u_system.estimate == pytest.approx(0.5)
    counted = {row.source for row in study.budget if row.counted}
    assert counted == {"resolution", "temperature"}
    assert sum(row.share for row in study.budget) == pytest.approx(1.0)


@pytest.mark.checks("guard band", source="ISO 14253-1:2017", memory=True)
def test_the_guard_band_leaves_the_wished_conformance() -> None:
    # ISO 14253-1:2017 (from memory): a reading at the edge conforms with 95 % probability.
    from scipy.stats import norm

    study = uncertainty_budget([Contribution("calibration", 0.01)], 9.9, 10.1)
    low, high = study.acceptance
    assert high is not None
    assert low is not None
    assert norm.cdf(10.1, high, 0.01) == pytest.approx(0.95)
    assert norm.sf(9.9, low, 0.01) == pytest.approx(0.95)
    assert study.rejection == pytest.approx((9.9 - study.guard_band, 10.1 + study.guard_band))


def test_a_hopeless_gauge_is_called_so() -> None:
    study = uncertainty_budget([Contribution("calibration", 1.0)], 0.0, 2.0)
    assert "No reading proves conformity" in study.statement


@pytest.mark.proof
@given(st.floats(0.001, 1000))
def test_units(unit: float) -> None:
    def study(scale: float):
        lines = [
            Contribution("calibration", 0.2 * scale),
            Contribution("appraiser", 0.3 * scale, 2),
        ]
        return uncertainty_budget(lines, 1.0 * scale, 9.0 * scale)

    one, other = study(1.0), study(unit)
    assert other.Q_MP.estimate == pytest.approx(one.Q_MP.estimate, rel=1e-9)
    assert other.Q_MP.high == pytest.approx(one.Q_MP.high, rel=1e-9)
    assert other.effective_df == pytest.approx(one.effective_df, rel=1e-9)


def test_nothing_known_is_said() -> None:
    with pytest.raises(CannotJudge, match="No contribution"):
        uncertainty_budget([])


def test_what_is_missing_and_thin_is_said() -> None:
    study = uncertainty_budget([Contribution("appraiser", 1.0, 2)], 0.0, 100.0)
    text = " ".join(study.cautions)
    assert "calibration" in text
    assert "effective degrees of freedom" in text
    assert study.figure().alt_text.startswith("Measurement uncertainty")


def test_a_named_contribution_makes_a_budget_of_its_characteristic_alone(tmp_path: Path) -> None:
    from linestudy import open_study, read, start_study
    from linestudy.gauges.budget.contributions import gauges_of

    folder = start_study(tmp_path / "study")
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8")
    block = '\n[[gauge]]\nid = "scale"\nname = "Scale"\nresolution = 0.001\n'
    named = '[[budget]]\ngauge = "{}"\nsource = "fixture"\nhalf_width = 0.001\n{}\n'
    study = open_study(folder)
    records, (item, *_) = read(study), study.characteristics
    before = gauges_of(study, records, item)
    assert "scale" not in before
    cases = (
        ("scale", f'characteristic = "{item.id}"', True),
        # Nothing else is known of this gauge on this characteristic.
        ("scale", "", False),
        (before[0], "", True),
    )
    for gauge, of, there in cases:
        toml.write_text(text + block + named.format(gauge, of), encoding="utf-8")
        again = open_study(folder)
        assert (gauge in gauges_of(again, records, item)) == there, (gauge, of)


@pytest.mark.parametrize(
    ("distribution", "divisor"),
    [
        # Standard deviations of distributions of half width 1 (GUM 4.3.7, 4.3.9; the U from memory).
        ("rectangular", math.sqrt(3)),
        ("triangular", math.sqrt(6)),
        ("U", math.sqrt(2)),
        # A half width of a normal contribution is taken as two standard deviations.
        ("normal", 2.0),
    ],
)
def test_half_widths_become_standard_uncertainties(
    distribution: str, divisor: float, tmp_path: Path
) -> None:
    from linestudy import open_study, start_study
    from linestudy.gauges.budget.contributions import budget_of
    from linestudy.results import Findings

    folder = start_study(tmp_path / "study")
    toml = folder / "study.toml"
    entry = f'half_width = 0.006\ndistribution = "{distribution}"\n'
    for unit, lines in ((None, 2), ("mm", 2), ("inch", 1)):
        gauge = '\n[[gauge]]\nid = "scale"\nname = "Scale"\nexpanded_uncertainty = 0.004\n'
        gauge += f'unit = "{unit}"\n' if unit else ""
        budget = f'[[budget]]\ngauge = "scale"\nsource = "fixture"\n{entry}'
        if unit is None:
            text = toml.read_text(encoding="utf-8")
        toml.write_text(text + gauge + budget, encoding="utf-8")
        study = open_study(folder)
        found = budget_of(study, study.characteristics[0], "scale", Findings())
        sizes = {line.source: line.standard_uncertainty for line in found.budget}
        assert sizes["fixture"] == pytest.approx(0.006 / divisor)
        # What a certificate says in another unit is not converted by guess.
        assert len(sizes) == lines, unit


def test_correlated_sources_lend_each_other_no_degrees_of_freedom() -> None:
    # Two estimates of 3 df that add up as they are: their sum has 6. Welch and Satterthwaite's sum of fourth powers gives 24.
    lines = [Contribution("a", 1.0, 3), Contribution("b", 1.0, 3)]
    tied = uncertainty_budget(lines, -9.0, 9.0, correlations={("a", "b"): 1.0})
    assert tied.u_process.estimate == pytest.approx(2.0)
    assert tied.effective_df == pytest.approx(6.0)
    free = uncertainty_budget(lines, -9.0, 9.0)
    assert free.effective_df == pytest.approx(6.0)
    # One known exactly: u = sqrt(2 + 2 r), and only half of what moves it is uncertain.
    half = uncertainty_budget(
        [Contribution("a", 1.0, 3), Contribution("b", 1.0)],
        -9.0,
        9.0,
        correlations={("a", "b"): 0.8},
    )
    assert half.effective_df == pytest.approx(3 * 3.6**2 / 1.8**2)


def test_the_interval_of_correlated_sources_is_that_of_one_source_twice_as_large() -> None:
    # Fully correlated with a source known exactly: u = u_a + u_b, so its ends are those of u_a moved by u_b.
    lines = [Contribution("a", 1.0, 8), Contribution("b", 0.5)]
    both = uncertainty_budget(lines, -9.0, 9.0, correlations={("a", "b"): 1.0}).u_process
    alone = uncertainty_budget(lines[:1], -9.0, 9.0).u_process
    assert both.low == pytest.approx(alone.low + 0.5)
    assert both.high == pytest.approx(alone.high + 0.5)


@pytest.mark.parametrize(
    ("r", "sensitivity", "df", "told"),
    [(-0.5, 1.0, 5, True), (0.5, -1.0, 5, True), (-0.5, 1.0, 300, False), (0.5, 1.0, 5, False)],
)
def test_sources_that_take_from_each_other_are_told(
    r: float, sensitivity: float, df: float, told: bool
) -> None:
    lines = [
        Contribution("a", 1.0, degrees_of_freedom=df),
        Contribution("b", 1.0, degrees_of_freedom=df, sensitivity=sensitivity),
    ]
    found = uncertainty_budget(lines, -9.0, 9.0, correlations={("a", "b"): r})
    assert any("92 of 100" in note for note in found.cautions) == told
