"""What must not matter does not: unit, zero, mirror, row order, names, doubling, rows without a reading.

Properties follow from what each number means; there is no source to look them up in.
"""

from __future__ import annotations

import importlib
import inspect
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from beside import load
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.results import CannotJudge

cases = load("property_cases", Path(__file__).with_name("cases.py"))
#: Covered through another entry, which calls it on the way.
THROUGH = {
    "gauges.apparent_step": "gauges.resolution_study",
    "stability.control_chart_of_summaries": "stability.summarise",
    "shape.anderson_darling": "shape.fit",
    "shape.quantile_interval": "shape.fit",
    "capability.truncation_points": "capability.truncated_capability",
    "capability.cpk": "capability.process_capability",
    "capability.cp": "capability.process_capability",
    "capability.cpm": "capability.process_capability",
    "capability.normal_nonconforming": "capability.process_capability",
    "capability.share_failing_any": "capability.joint_conformity",
    "gauges.bias_overview": "gauges.bias_study",
    "stability.summaries_from_table": "stability.summarise",
}

#: No table of readings goes in: constants, plans, judgements, counts, densities, whole studies. Their own
#: tests hold what they keep.
NO_READINGS = {
    "gauges.judgement_agreement",
    "gauges.evaluate",
    "gauges.gauge_performance_curve",
    "gauges.refuse_wrong_unit",
    "gauges.conformity_risk",
    "gauges.uncertainty_budget",
    "gauges.global_risks",
    "gauges.strength_assurance",
    "gauges.graded_agreement",
    "gauges.own_thresholds",
    "stability.sampled_stations",
    "capability.camera_judgements",
    "capability.review",
    "capability.review_of_verdicts",
    "capability.review_sheet",
    "capability.yield_study",
    "capability.tool_life",
    "stability.sampling_plan",
    "stability.average_run_length",
    "stability.attribute_chart",
    "stability.cusum_run_length",
    "stability.d2_star",
    "stability.evaluate",
    "stability.evaluate_log",
    "stability.explore",
    "stability.ewma_run_length",
    "stability.range_df",
    "stability.range_limits",
    "stability.range_probability_limits",
    "stability.run_length",
    "stability.sd_limits",
    "stability.sd_probability_limits",
    "shape.bootstrap_p",
    "shape.evaluate",
    "shape.fit_many",
    "shape.ppf_many",
    "capability.bin_counts",
    "capability.evaluate",
    "capability.gauge_removed",
    "capability.zero_failure_bound",
    "capability.stream_capability",
    "capability.quantile_index",
    "capability.quantile_intervals",
    "capability.reject_balance",
    "capability.tolerance_interval_sample_size",
}

NAMES = sorted(cases.CASES)
SEED = 4


def made(name: str) -> tuple[Any, pd.DataFrame]:
    case = cases.CASES[name]
    return case, case.make(np.random.default_rng(SEED))


def same(found: Any, first: Any, unit: Any, tolerance: float, only: tuple[str, ...] = ()) -> None:
    """Every number followed the unit."""
    for part, follow in (
        ("pure", lambda v: v),
        ("sizes", unit.size),
        ("places", unit.place),
    ):
        one, two = getattr(first, part), getattr(found, part)
        assert one.keys() == two.keys()
        for key in one:
            if only and key not in only:
                continue
            scale = max(abs(follow(one[key])), unit.size(1e-3) if part != "pure" else 1e-3)
            assert abs(two[key] - follow(one[key])) <= tolerance * scale, (
                part,
                key,
                one[key],
                two[key],
            )


def turned(table: pd.DataFrame, case: Any, unit: Any) -> pd.DataFrame:
    changed = table.copy()
    for column in case.measured:
        changed[column] = unit.scale * table[column] + unit.zero
    return changed


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=3)
@given(scale=st.sampled_from([25.4, 1000.0, 1 / 25.4]))
def test_unit(name: str, scale: float) -> None:
    case, table = made(name)
    unit = cases.Unit(scale)
    same(
        case.call(turned(table, case, unit), unit),
        case.call(table, cases.Unit()),
        unit,
        case.tolerance,
    )


@pytest.mark.parametrize("name", [n for n in NAMES if cases.CASES[n].shifts])
@settings(max_examples=2)
@given(zero=st.sampled_from([100.0, -37.0]))
def test_zero(name: str, zero: float) -> None:
    case, table = made(name)
    unit = cases.Unit(1.0, zero)
    same(
        case.call(turned(table, case, unit), unit),
        case.call(table, cases.Unit()),
        unit,
        max(case.tolerance, 1e-5),
    )


@pytest.mark.parametrize("name", [n for n in NAMES if cases.CASES[n].reflects])
def test_mirror(name: str) -> None:
    case, table = made(name)
    unit = cases.Unit(-1.0)
    # Draws of a mirrored sample are other draws; their quantiles agree as draws do.
    same(
        case.call(turned(table, case, unit), unit),
        case.call(table, cases.Unit()),
        unit,
        max(case.tolerance, 1e-6),
    )


@pytest.mark.parametrize("name", [n for n in NAMES if not cases.CASES[n].ordered])
def test_row_order(name: str) -> None:
    case, table = made(name)
    shuffled = table.sample(frac=1.0, random_state=3).reset_index(drop=True)
    unit = cases.Unit()
    same(case.call(shuffled, unit), case.call(table, unit), unit, max(case.tolerance, 1e-9))


@pytest.mark.parametrize("name", [n for n in NAMES if cases.CASES[n].labels])
def test_names_of_parts_and_people(name: str) -> None:
    case, table = made(name)
    renamed = table.copy()
    for column in case.labels:
        names = sorted(table[column].unique())
        # Other words, in another alphabetical order.
        renamed[column] = table[column].map({n: f"{99 - i}-{n}" for i, n in enumerate(names)})
    unit = cases.Unit()
    same(case.call(renamed, unit), case.call(table, unit), unit, 1e-9)


@pytest.mark.parametrize("name", [n for n in NAMES if cases.CASES[n].same_doubled])
def test_data_doubled(name: str) -> None:
    case, table = made(name)
    twice = pd.concat([table, table], ignore_index=True)
    unit = cases.Unit()
    same(case.call(twice, unit), case.call(table, unit), unit, case.tolerance, case.same_doubled)


@pytest.mark.parametrize("name", NAMES)
def test_rows_without_a_reading(name: str) -> None:
    """They change nothing, or the function says in a sentence that it wants whole rows."""
    case, table = made(name)
    more = pd.concat([table, table.tail(3)], ignore_index=True)
    more.loc[len(table) :, list(case.measured)] = np.nan
    unit = cases.Unit()
    try:
        found = case.call(more, unit)
    except CannotJudge as refusal:
        said = str(refusal)
    else:
        same(found, case.call(table, unit), unit, 1e-9)
        return
    # How many of how many, or that a stack has none to spare: not a refusal for another reason.
    assert said.startswith(f"3 of {len(more)} ") or "needs every reading" in said


def test_every_function_that_takes_readings_is_here() -> None:
    known = set(cases.CASES) | set(THROUGH) | NO_READINGS
    for room in ("gauges", "stability", "shape", "capability"):
        module = importlib.import_module(f"linestudy.{room}")
        for name in module.__all__:
            if inspect.isfunction(getattr(module, name)):
                assert f"{room}.{name}" in known, name
    assert set(THROUGH.values()) <= set(cases.CASES)
