"""REML against R's lme4 (stored, with its script), analysis of variance and brute force."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import grr_anova, nested_components
from linestudy.numerics.reml import reml
from linestudy.results import CannotJudge

FOLDER = Path(__file__).parent / "reference"
EXPECTED = json.loads((FOLDER / "components.json").read_text())
LEVELS = {
    "penicillin": ("part", "appraiser"),
    "pastes": ("batch", "cask"),
    "oxide": ("lot", "wafer"),
}


def table(name: str, kind: str = "whole") -> pd.DataFrame:
    data = pd.read_csv(FOLDER / f"{name}.csv", dtype=dict.fromkeys(LEVELS[name], str))
    if kind == "whole":
        return data
    # As components.R: every seventh reading from the third on is missing.
    return data.drop(index=range(2, len(data), 7)).reset_index(drop=True)


def codes(data: pd.DataFrame, name: str) -> dict[str, np.ndarray]:
    return {level: pd.factorize(data[level])[0] for level in LEVELS[name]}


@pytest.mark.checks("components by REML", source="R: lme4, stored with its script")
@pytest.mark.parametrize("name", list(LEVELS))
@pytest.mark.parametrize("kind", ["whole", "lost"])
def test_against_lme4(name: str, kind: str) -> None:
    data = table(name, kind)
    fit = reml(data["value"], codes(data, name))
    expected = EXPECTED[f"{name}_{kind}"]
    for level in LEVELS[name]:
        assert fit.variance[level] == pytest.approx(expected[level], rel=2e-6)
    assert fit.variance["residual"] == pytest.approx(expected["Residual"], rel=2e-6)
    assert fit.mean == pytest.approx(expected["mean"], rel=1e-9)
    assert fit.mean_se == pytest.approx(expected["mean_se"], rel=1e-5)
    assert fit.deviance == pytest.approx(expected["deviance"], abs=1e-6)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        # Bates, *lme4: Mixed-effects modeling with R*, ch. 2 (from memory): Pastes.
        ("pastes", {"cask": 2.904, "batch": 1.287, "residual": 0.823}),
        # Bates, the same, Penicillin (from memory).
        ("penicillin", {"part": 0.847, "appraiser": 1.932, "residual": 0.550}),
        # Pinheiro & Bates, *Mixed-Effects Models in S and S-PLUS*, 2000, 4.2.3 (from memory).
        ("oxide", {"lot": 11.398, "wafer": 5.989, "residual": 3.545}),
    ],
)
def test_published_standard_deviations(name: str, printed: dict[str, float]) -> None:
    data = table(name)
    fit = reml(data["value"], codes(data, name))
    for source, sd in printed.items():
        assert math.sqrt(fit.variance[source]) == pytest.approx(sd, abs=6e-4)


@pytest.mark.parametrize("name", ["pastes", "oxide"])
@pytest.mark.parametrize("kind", ["whole", "lost"])
def test_nested_study_gives_lme4s_components(name: str, kind: str) -> None:
    study = nested_components(table(name, kind), LEVELS[name], draws=2000)
    expected = EXPECTED[f"{name}_{kind}"]
    assert study.estimator == ("ANOVA" if kind == "whole" else "REML")
    for level in LEVELS[name]:
        assert study.components[level].variance.estimate == pytest.approx(expected[level], rel=1e-5)
    # Whole: mean squares and likelihood agree, for the data are balanced.
    if kind == "whole":
        assert study.other["repeatability"] == pytest.approx(expected["Residual"], rel=1e-5)
    else:
        assert any("unequal size" in note for note in study.cautions)


def test_one_way_equals_analysis_of_variance() -> None:
    # Searle, Casella & McCulloch 1992, ch. 3: balanced and positive, REML equals ANOVA.
    rng = np.random.default_rng(3)
    group = np.repeat(np.arange(6), 5)
    y = rng.normal(0, 2, 6)[group] + rng.normal(0, 1, 30)
    means = y.reshape(6, 5).mean(axis=1)
    within = float(y.reshape(6, 5).var(axis=1, ddof=1).mean())
    between = (5 * float(means.var(ddof=1)) - within) / 5
    fit = reml(y, {"batch": group})
    assert fit.variance["residual"] == pytest.approx(within, rel=1e-6)
    assert fit.variance["batch"] == pytest.approx(between, rel=1e-6)


def test_deviance_by_brute_force() -> None:
    # The restricted likelihood written out with the full covariance of all readings.
    data = table("penicillin", "lost")
    y = data["value"].to_numpy()
    group = codes(data, "penicillin")
    fit = reml(y, group)
    v = fit.variance["residual"] * np.eye(y.size)
    for name, code in group.items():
        v += fit.variance[name] * (code[:, None] == code[None, :])
    one = np.ones(y.size)
    inverse = np.linalg.inv(v)
    info = one @ inverse @ one
    rest = y - (one @ inverse @ y) / info
    expected = (
        np.linalg.slogdet(v)[1]
        + math.log(info)
        + rest @ inverse @ rest
        + (y.size - 1) * math.log(2 * math.pi)
    )
    assert fit.deviance == pytest.approx(expected, abs=1e-9)


@pytest.mark.proof
@given(st.floats(1e-3, 1e3), st.floats(-1e3, 1e3), st.randoms())
def test_units_zero_and_row_order(unit: float, zero: float, shuffle) -> None:
    data = table("pastes", "lost")
    rows = list(range(len(data)))
    shuffle.shuffle(rows)
    one = reml(data["value"], codes(data, "pastes"))
    mixed = data.iloc[rows]
    other = reml(mixed["value"] * unit + zero, codes(mixed, "pastes"))
    for name, value in one.variance.items():
        assert other.variance[name] == pytest.approx(value * unit**2, rel=1e-7)


def two_way(interaction: float) -> tuple[np.ndarray, dict[str, np.ndarray], np.ndarray]:
    """Readings in pairs that never differ, their groups, and the means of the cells."""
    rng = np.random.default_rng(1)
    cell = rng.normal(0, 3, 8)[:, None] + rng.normal(0, 1, 3)
    cell = 50 + cell + interaction * rng.normal(0, 1, (8, 3))
    part, person, _ = np.indices((8, 3, 2)).reshape(3, -1)
    groups = {"part": part, "appraiser": person, "both": part * 3 + person}
    return cell[part, person], groups, cell


def test_no_error_left_equals_analysis_of_variance_of_the_cells() -> None:
    # Searle, Casella & McCulloch 1992, ch. 4.3: balanced two-way, one value in each cell.
    values, groups, cell = two_way(0.5)
    rest = cell - cell.mean(axis=1, keepdims=True) - cell.mean(axis=0) + cell.mean()
    both = float((rest**2).sum()) / (7 * 2)
    fit = reml(values, groups)
    assert fit.variance["residual"] == 0
    assert fit.variance["both"] == pytest.approx(both, rel=1e-9)
    for name, axis, other in (("part", 1, 3), ("appraiser", 0, 8)):
        expected = float(cell.mean(axis=axis).var(ddof=1)) - both / other
        assert fit.variance[name] == pytest.approx(expected, rel=1e-9)
    assert fit.mean == pytest.approx(float(cell.mean()), rel=1e-12)


def test_no_error_and_no_interaction_left_leaves_the_means() -> None:
    # Parts and appraisers add up exactly: what is left is the variance of their means.
    values, groups, cell = two_way(0.0)
    for names in (("part", "appraiser"), ("part", "appraiser", "both")):
        fit = reml(values, {name: groups[name] for name in names})
        assert fit.variance["residual"] == fit.variance.get("both", 0.0) == 0
        for name, axis in (("part", 1), ("appraiser", 0)):
            expected = float(cell.mean(axis=axis).var(ddof=1))
            assert fit.variance[name] == pytest.approx(expected, rel=1e-9)


def test_readings_that_are_those_of_their_part_leave_parts_only() -> None:
    groups = two_way(0.0)[1]
    sizes = np.round(np.random.default_rng(2).normal(50, 3, 8), 2)
    fit = reml(sizes[groups["part"]], groups)
    assert fit.variance["part"] == pytest.approx(float(sizes.var(ddof=1)), rel=1e-9)
    assert fit.variance["appraiser"] == fit.variance["both"] == fit.variance["residual"] == 0


def test_the_slope_at_the_maximum_is_none() -> None:
    # Central differences of the deviance written out with the full covariance of all readings.
    data = table("penicillin", "lost")
    y, group = data["value"].to_numpy(), codes(data, "penicillin")
    fit = reml(y, group)

    def deviance(variance: dict[str, float]) -> float:
        v = variance["residual"] * np.eye(y.size)
        for name, code in group.items():
            v += variance[name] * (code[:, None] == code[None, :])
        inverse, one = np.linalg.inv(v), np.ones(y.size)
        info = float(one @ inverse @ one)
        rest = y - float(one @ inverse @ y) / info
        return float(np.linalg.slogdet(v)[1] + math.log(info) + rest @ inverse @ rest)

    for name, value in fit.variance.items():
        ends = [deviance(fit.variance | {name: value * (1 + side * 1e-4)}) for side in (-1, 1)]
        bend = (ends[0] + ends[1] - 2 * deviance(fit.variance)) / 1e-8
        # Newton's step from here, as a share of the variance.
        assert abs(ends[1] - ends[0]) / 2e-4 / bend < 1e-5


def test_what_cannot_be_judged_is_said() -> None:
    with pytest.raises(CannotJudge, match="repeated"):
        reml([1.0, 2.0, 3.0], {"batch": [0, 1, 2]})
    with pytest.raises(CannotJudge, match="same"):
        reml([1.0, 1.0, 1.0, 1.0], {"batch": [0, 0, 1, 1]})


def test_crossed_study_with_missing_cells_uses_every_reading() -> None:
    # Part b was not measured with sample F at all, and one other reading is missing.
    data = table("penicillin")
    doubled = pd.concat([data, data.assign(value=data["value"] + 0.1)], ignore_index=True)
    fewer = doubled.drop(
        index=doubled.index[(doubled["part"] == "b") & (doubled["appraiser"] == "F")]
    )
    fewer = fewer.drop(index=fewer.index[5])
    study = grr_anova(fewer, trial=None, draws=1000)
    assert study.estimator == "REML"
    assert any("1 of 144 hold none" in note for note in study.cautions)
    groups = {k: pd.factorize(fewer[k])[0] for k in ("part", "appraiser")}
    groups["part:appraiser"] = groups["part"] * 6 + groups["appraiser"]
    fit = reml(fewer["value"], groups)
    found = study.components
    if not study.pooled_interaction:
        assert found["interaction"].variance.estimate == pytest.approx(
            fit.variance["part:appraiser"], rel=1e-5
        )
        assert found["part"].variance.estimate == pytest.approx(fit.variance["part"], rel=1e-5)
