"""What a crossed study says beyond its own %GRR, worked out by hand from its components."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from crossed_readings import crossed_readings

from linestudy.gauges import grr_anova
from linestudy.gauges.grr.finding import CrossedStudy
from linestudy.verdict.gather.crossed import (
    crossed_facts,
    of_its_studies,
    repeats_better_on_masters,
)


def study(data: pd.DataFrame, **more: Any) -> CrossedStudy:
    return grr_anova(data, tolerance=6.0, draws=200, **more)


def facts(found: CrossedStudy | None, of: str = "tolerance", run_sd: float | None = 2.0) -> Any:
    return crossed_facts(found, None, of, run_sd, "mm")


def variance(found: CrossedStudy, name: str) -> float:
    value: float = found.components[name].variance.estimate
    return value


def test_without_a_study_there_is_nothing() -> None:
    assert facts(None) == {}


def test_categories_by_the_run_take_the_gauge_out_of_its_spread() -> None:
    found = study(crossed_readings(1))
    grr = math.sqrt(variance(found, "grr"))
    told = facts(found, run_sd=5 * grr)
    # AIAG MSA ch. II section D: the root of two times parts over gauge; the run holds both.
    assert told["ndc_by_run"] == pytest.approx(math.sqrt(2) * math.sqrt(24), rel=1e-9)
    assert facts(found, run_sd=None)["ndc_by_run"] is None
    # A run that spreads no more than its gauge has no categories.
    assert facts(found, run_sd=grr / 2)["ndc_by_run"] == 0.0


def test_a_step_that_hides_repeatability_stands_in_for_it() -> None:
    fine = crossed_readings(2, error=0.1)
    assert "least_share" not in facts(study(fine))
    # Parts on the middle of a step of one, read twice within it, but for one reading.
    coarse = fine.assign(value=3 * (fine["part"] % 5))
    coarse.loc[0, "value"] += 1
    found = study(coarse)
    hidden = 1.0 / 12
    own = variance(found, "repeatability")
    assert own < hidden
    told = facts(found)
    raised = math.sqrt(variance(found, "grr") + hidden - own)
    assert told["least_share"] == pytest.approx(6 * raised / 6.0, rel=1e-9)
    parts = math.sqrt(variance(found, "part"))
    assert told["least_ndc"] == pytest.approx(1.41 * parts / raised, rel=3e-3)


def test_missing_readings_count_as_three_standard_deviations_off() -> None:
    whole = crossed_readings(3, trials=3)
    assert "missing" not in facts(study(whole))
    found = study(whole.drop(index=[4, 40]))
    told = facts(found)
    assert (told["missing"], told["missing_of"]) == (2, 90)
    # 88 readings in 30 cells leave 58 degrees of freedom; two more squares of nine variances join them.
    own = variance(found, "repeatability")
    raised = variance(found, "grr") + own * ((58 + 9 * 2) / 60 - 1)
    assert told["missing_share"] == pytest.approx(math.sqrt(raised), rel=1e-9)
    # Where nearly all parts were read twice, two readings more than the others' are no gap of theirs.
    more = pd.concat([crossed_readings(3), crossed_readings(3).iloc[:2]], ignore_index=True)
    assert "missing" not in facts(study(more.assign(trial=np.arange(len(more)))))


def test_the_appraiser_who_repeats_worst_is_named_and_counted_for_all() -> None:
    data = crossed_readings(4, trials=3, error=0.05)
    rng = np.random.default_rng(5)
    shaky = data["appraiser"] == 2
    data.loc[shaky, "value"] += rng.normal(0, 0.4, shaky.sum())
    found = study(data)
    told = facts(found)
    cells = data[shaky].groupby("part")["value"].var(ddof=1).mean()
    raised = variance(found, "grr") + cells - variance(found, "repeatability")
    assert told["worst_appraiser"] == "2"
    assert told["appraisers_p"] < 1e-6
    assert told["appraisers_share"] == pytest.approx(math.sqrt(raised), rel=1e-6)


def test_shares_refer_to_what_is_asked_for() -> None:
    data = crossed_readings(6, error=0.1)
    found = study(data.assign(value=data["value"].round()))
    tolerance, run, total = (
        facts(found, of)["least_share"] for of in ("tolerance", "process variation", "total spread")
    )
    # Six standard deviations of a tolerance of six, one of a run's two.
    assert run == pytest.approx(tolerance / 2.0)
    parts = variance(found, "part")
    assert total == pytest.approx(tolerance / math.sqrt(tolerance**2 + parts), rel=1e-6)


def test_the_size_of_the_study_is_counted() -> None:
    told = facts(study(crossed_readings(7, parts=8, people=2, trials=3)))
    assert (told["parts"], told["appraisers"], told["repeat_df"]) == (8, 2, 8 * 2 * 2)
    alone = crossed_readings(7, parts=8, people=1, trials=3).drop(columns="appraiser")
    assert facts(study(alone, appraiser=None))["appraisers"] is None


class Tables:
    """Records with the tables given."""

    def __init__(self, **tables: pd.DataFrame) -> None:
        self.tables = tables

    def table(self, role: str, key: str, gauge: str | None = None) -> pd.DataFrame | None:
        return self.tables.get(role)


def of_masters(draw: Any, sd: float, step: float = 0.01) -> pd.DataFrame:
    known = np.arange(5.0).repeat(12)
    value = np.round((known + sd * draw.normal(size=60)) / step) * step
    return pd.DataFrame({"reference": known, "value": value})


@pytest.mark.parametrize("step", [0.01, 0.5, 2.0])
def test_masters_on_which_a_gauge_repeats_far_better_are_asked_about(step: float) -> None:
    draw = np.random.default_rng(4)
    at = np.indices((10, 3, 3)).reshape(3, -1)
    value = np.round((8 * at[0] + draw.normal(size=90)) / step) * step
    parts = pd.DataFrame({"part": at[0], "appraiser": at[1], "value": value})
    records: Any = Tables(crossed=parts, reference=of_masters(draw, 0.25, step))
    said = repeats_better_on_masters(records, "width", "camera")
    # Steps of two standard deviations hide how much smaller it is.
    assert len(said) == (step < 1)
    alike: Any = Tables(crossed=parts, reference=of_masters(draw, 1.0, step))
    assert repeats_better_on_masters(alike, "width", "camera") == []
    without: Any = Tables(crossed=parts)
    assert repeats_better_on_masters(without, "width", "camera") == []


def test_what_a_reader_compares_is_that_of_the_files() -> None:
    draw = np.random.default_rng(5)
    parts = pd.DataFrame(
        {"part": ["a", "a", "b", "b"], "appraiser": list("XYXY"), "value": [1.0, 2.0, 4.0, 6.0]}
    )
    records: Any = Tables(crossed=parts, reference=(known := of_masters(draw, 0.1)))
    found = of_its_studies(records, "width", "camera")
    assert found["study_parts"] == pytest.approx((2, 1.5, 5.0, 3.5 / math.sqrt(2)))
    assert (found["study_readings"], found["study_people"]) == ((1.0, 6.0), ("X", "Y"))
    assert found["masters"] == (0.0, 1.0, 2.0, 3.0, 4.0)
    assert found["master_readings"] == (known["value"].iloc[0], known["value"].iloc[-1])
    assert not any(of_its_studies(Tables(), "width", None).values())  # type: ignore[arg-type]
