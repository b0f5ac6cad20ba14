"""Leaving out: against the crossed study run without it, and statsmodels' studentized residuals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from crossed_readings import crossed_readings
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.gauges import grr_anova, influence
from linestudy.results import CannotJudge


@pytest.fixture(scope="module")
def aiag(request: pytest.FixtureRequest) -> pd.DataFrame:
    folder = request.config.rootpath / "sample_data" / "published"
    return pd.read_csv(folder / "aiag_crossed" / "data" / "crossed.csv")


def test_rows_equal_the_study_without_them(aiag: pd.DataFrame) -> None:
    study = influence(aiag)
    for row in study.rows:
        if row.kind == "reading":
            continue
        rest = aiag[aiag[row.kind].astype(str) != row.name]
        expected = grr_anova(rest, draws=0, method="mls").components["grr"].sd.estimate
        assert row.grr_sd == pytest.approx(expected, rel=1e-9)
    assert {row.kind for row in study.rows} == {"part", "appraiser", "reading"}


def test_odd_readings_against_statsmodels(aiag: pd.DataFrame) -> None:
    # statsmodels: externally studentized residuals of the model with a mean for every cell.
    from statsmodels.formula.api import ols

    fit = ols("value ~ C(part) * C(appraiser)", aiag).fit()
    t = fit.get_influence().resid_studentized_external
    study = influence(aiag)
    assert study.outliers[0].t == pytest.approx(t[np.argmax(np.abs(t))], rel=1e-9)
    assert study.outliers[0].value == aiag["value"].iloc[int(np.argmax(np.abs(t)))]


def test_a_slip_is_found_and_named() -> None:
    rng = np.random.default_rng(5)
    index = np.indices((8, 3, 3)).reshape(3, -1)
    values = rng.normal(0, 3, 8)[index[0]] + rng.normal(0, 0.1, index.shape[1])
    values[31] += 2.0
    data = pd.DataFrame({"part": index[0], "appraiser": index[1], "value": values})
    study = influence(data)
    assert len(study.outliers) == 1
    slip = next(row for row in study.rows if row.kind == "reading")
    assert slip.change < -0.2
    assert slip.name in study.statement
    assert any("not a licence" in note for note in study.cautions)


@pytest.mark.proof
@settings(max_examples=20)
@given(st.floats(0.01, 100), st.floats(-100, 100))
def test_units_and_zero(unit: float, zero: float) -> None:
    rng = np.random.default_rng(2)
    index = np.indices((5, 2, 3)).reshape(3, -1)
    data = pd.DataFrame(
        {
            "part": index[0],
            "appraiser": index[1],
            "value": rng.normal(0, 2, 5)[index[0]] + rng.normal(0, 1, index.shape[1]),
        }
    )
    one = influence(data)
    two = influence(data.assign(value=data["value"] * unit + zero))
    pairs = zip(one.rows, two.rows, strict=True)
    for first, second in pairs:
        assert second.change == pytest.approx(first.change, abs=1e-8)


def test_too_little_is_said(aiag: pd.DataFrame) -> None:
    with pytest.raises(CannotJudge, match="two parts"):
        influence(aiag[aiag["part"] <= 2])


def test_the_picture_says_what_it_shows(aiag: pd.DataFrame) -> None:
    assert "driv" in influence(aiag).figure().alt_text.lower()


def test_three_parts_are_enough_to_leave_one_out(aiag: pd.DataFrame) -> None:
    three = aiag[aiag["part"].isin(sorted(aiag["part"].unique())[:3])]
    assert [row.kind for row in influence(three).rows].count("part") == 3
    two = aiag[aiag["part"].isin(sorted(aiag["part"].unique())[:2])]
    with pytest.raises(CannotJudge, match="With two parts"):
        influence(two)


def test_what_leaves_nothing_repeated_is_not_tried() -> None:
    # Only part c was read twice by anybody: without it no spread of readings is left.
    rng = np.random.default_rng(4)
    rows = [(p, a, rng.normal(ord(p), 1)) for p in "abc" for a in "AB"]
    rows += [("c", a, rng.normal(ord("c"), 1)) for a in "AB" for _ in range(3)]
    table = pd.DataFrame(rows, columns=["part", "appraiser", "value"])
    names = {row.name for row in influence(table, trial=None).rows if row.kind == "part"}
    assert names == {"a", "b"}


def test_leaving_out_works_or_says_why_where_readings_never_differ(coarse: pd.DataFrame) -> None:
    assert {row.kind for row in influence(coarse).rows} == {"part", "appraiser", "reading"}
    with pytest.raises(CannotJudge, match="never differed"):
        influence(crossed_readings(3, error=0.0).round({"value": 2}))


def test_leaving_out_takes_the_third_factor() -> None:
    data = crossed_readings(2, levels=2, three_way=0.3, person=0.3)
    whole = grr_anova(data, factor="day")
    found = influence(data, factor="day")
    assert found.grr_sd == whole.components["grr"].sd
    row = next(row for row in found.rows if row.kind == "part" and row.name == "4")
    rest = grr_anova(data[data["part"] != 4], factor="day", draws=0, method="mls")
    assert row.grr_sd == pytest.approx(rest.components["grr"].sd.estimate, rel=1e-9)
    readings = [row.change for row in found.rows if row.kind == "reading"]
    assert max(map(abs, readings)) < 0.05
