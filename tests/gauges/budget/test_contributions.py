"""What a budget is gathered from: each line of the sample study, by the formula it is said to follow."""

from __future__ import annotations

import math

import numpy as np
import pytest

from linestudy import open_study, read
from linestudy.gauges import UncertaintyStudy, evaluate
from linestudy.gauges.budget.contributions import gauges_of, reference_width
from linestudy.records import Records
from linestudy.results import Findings, Interval
from linestudy.study.load import Study


@pytest.fixture(scope="module")
def study(request: pytest.FixtureRequest) -> Study:
    return open_study(request.config.rootpath / "sample_data" / "fork_receptacle")


@pytest.fixture(scope="module")
def records(study: Study) -> Records:
    return read(study)


@pytest.fixture(scope="module")
def found(study: Study, records: Records) -> Findings:
    return evaluate(study, records)


def lines(found: Findings, key: str) -> dict[str, float]:
    budget = found.get(key, "gauges", "camera", "uncertainty")
    assert isinstance(budget, UncertaintyStudy)
    return {line.source: line.standard_uncertainty for line in budget.budget}


@pytest.mark.parametrize("key", ["blade", "throat"])
def test_lines_come_from_their_studies(found: Findings, key: str) -> None:
    # The rules are those of the module: largest bias over the square root of three, half of what the
    # drift's line moved as a rectangle, standard deviations of the crossed study as they are.
    sizes = lines(found, key)
    at = lambda name: found.get(key, "gauges", "camera", name)  # noqa: E731
    largest = max(abs(m.bias.estimate) for m in at("bias").masters if isinstance(m.bias, Interval))
    assert sizes["bias"] == pytest.approx(largest / math.sqrt(3), rel=1e-12)
    assert sizes["repeatability on a master"] == at("cg_cgk").sd
    grr = at("crossed").components
    assert sizes["repeatability on parts"] == grr["repeatability"].sd.estimate
    fitted = at("drift").points[:, 2]
    assert sizes["stability"] == pytest.approx(float(np.ptp(fitted)) / 2 / math.sqrt(3), rel=1e-12)


def test_resolution_is_a_rectangle_one_step_wide(study: Study, found: Findings) -> None:
    step = study.gauge("camera").resolution
    assert step is not None
    # GUM (JCGM 100:2008), F.2.2.1: step over the square root of twelve.
    assert lines(found, "blade")["resolution"] == pytest.approx(step / math.sqrt(12), rel=1e-12)


def test_every_gauge_with_parts_or_masters_has_a_budget(study: Study, records: Records) -> None:
    item = study.characteristic("blade")
    assert gauges_of(study, records, item) == ("camera", "cmm")
    assert reference_width(item) == pytest.approx(item.upper - item.lower)
