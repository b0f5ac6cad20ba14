"""What a capability study says: index, distribution, ppm and the count of values outside, and its rows."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.capability import process_capability
from linestudy.capability.finding import INDICES, CapabilityStudy
from linestudy.results import Absent, Interval


@pytest.fixture(scope="module")
def study() -> CapabilityStudy:
    y = norm(10.0, 0.1).ppf((np.arange(300) + 0.5) / 300)
    y[-2:] = 10.45
    return process_capability(y, 9.6, 10.4, unit="mm")


def test_the_statement_counts_the_values_outside(study: CapabilityStudy) -> None:
    assert study.statement.startswith("All values together: Ppk = 1.")
    assert "(normal)" in study.statement
    assert study.statement.endswith("2 of 300 values outside.")
    assert "ppm expected outside the limits" in study.statement


def test_formulas_of_the_attributes_hold(study: CapabilityStudy) -> None:
    assert isinstance(study.Pp, Interval)
    assert isinstance(study.Ppk, Interval)
    assert study.Pp.estimate == pytest.approx(0.8 / (6 * study.sd_overall))
    nearest = min(10.4 - study.mean, study.mean - 9.6)
    assert study.Ppk.estimate == pytest.approx(nearest / (3 * study.sd_overall))
    total = study.expected_ppm["total"].estimate
    z = study.z["total"]
    assert isinstance(z, Interval)
    assert z.estimate == pytest.approx(-norm.ppf(total / 1e6))
    below, above = (study.expected_ppm[side].estimate for side in ("below", "above"))
    assert total == pytest.approx(below + above)


def test_rows_hold_every_index_and_say_why_one_is_missing(study: CapabilityStudy) -> None:
    rows = {row.name: row for row in study._rows()}
    assert list(rows)[: len(INDICES)] == list(INDICES)
    assert rows["Ppk"].value is study.Ppk
    # Without subgroups there is no spread within them, and no target no index about it.
    assert isinstance(rows["Cpk"].value, Absent)
    assert rows["lower confidence bound of Ppk (one-sided)"].value == study.lower_bounds["Ppk"]
    assert rows["observed outside"].value.estimate == pytest.approx(2 / 300 * 1e6)
    assert {rows[f"expected {side}"].unit for side in ("below", "above", "total")} == {"ppm"}


def test_a_one_sided_bound_lies_above_the_end_of_the_two_sided_interval(
    study: CapabilityStudy,
) -> None:
    bound = study.lower_bounds["Ppk"]
    assert isinstance(bound, float)
    assert isinstance(study.Ppk, Interval)
    assert study.Ppk.low < bound < study.Ppk.estimate


def test_what_is_not_recorded_is_not(study: CapabilityStudy) -> None:
    record = study.record()
    assert {"lower", "upper", "unit", "fitted", "counts", "whose"}.isdisjoint(record)
    assert record["n"] == 300
