"""What is known of a gauge: each number against the study that it is taken from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from own_gauges import crossed, write_gauges
from scipy import stats

from linestudy import open_study, read
from linestudy.gauges import bias_study, drift_study, grr_anova
from linestudy.gauges.grr.finding import CROSSED
from linestudy.gauges.masters.bias import BIAS
from linestudy.gauges.masters.drift import DRIFT
from linestudy.results import Absent, Findings, Interval, Unjudged
from linestudy.verdict.gather.gauge import gauge_facts
from linestudy.verdict.measurement_facts import GaugeFacts

CROSSED_STUDY = grr_anova(
    pd.DataFrame(crossed(), columns=["part", "appraiser", "trial", "value"]),
    tolerance=2.0,
    draws=200,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, Any]:
    made: Path = write_gauges(tmp_path_factory.mktemp("one"), {"w": {"crossed": crossed()}})
    study = open_study(made)
    return study, read(study)


def facts(
    folder: tuple[Any, Any],
    *found: tuple[Any, Any],
    run_sd: float | None = None,
    share_of: str = "tolerance",
    **changes: Any,
) -> GaugeFacts:
    study, records = folder
    findings = Findings()
    for declared, finding in found:
        findings.add("w", declared.at(gauge="cam"), finding)
    item = study.characteristics[0].model_copy(update=changes)
    return gauge_facts(study, records, findings, item, "run", "cam", run_sd, share_of)


def test_grr_is_a_share_of_what_is_asked_for(folder: tuple[Any, Any]) -> None:
    spread = CROSSED_STUDY.components["grr"].sd.estimate
    known = (CROSSED, CROSSED_STUDY)

    def share(share_of: str, run_sd: float | None) -> tuple[float, str]:
        found = facts(folder, known, share_of=share_of, run_sd=run_sd)
        assert isinstance(found.share, Interval)
        return found.share.estimate, found.share_of

    # The tolerance is 2 mm.
    assert share("tolerance", 0.05) == (pytest.approx(6 * spread / 2), "tolerance")
    assert share("process variation", 0.05) == (pytest.approx(spread / 0.05), "process variation")
    total = CROSSED_STUDY.components["total"].sd.estimate
    assert share("total variation", None) == (pytest.approx(spread / total), "total spread")
    # Of three shares the largest is the one that a narrow run makes.
    assert share("largest", 0.05)[1] == "process variation"
    assert share("largest", 10.0)[1] == "total spread"
    without = facts(folder, known, share_of="process variation")
    assert without.share == Absent("no run shows the variation of the process")


def test_without_a_study_it_is_said_whose(folder: tuple[Any, Any]) -> None:
    none = facts(folder)
    assert none.share == Absent("no crossed study of Camera was submitted")
    assert (none.failed, none.bias, none.drift, none.repeat_p) == (False, {}, None, None)
    refused = facts(folder, (CROSSED, Unjudged("Crossed study", "No repeated readings.")))
    assert refused.share == Absent("No repeated readings")
    assert refused.failed


def test_bias_has_intervals_for_equivalence(folder: tuple[Any, Any]) -> None:
    """At 90 %, on the wide side of Student's own; one master read once borrows the spread of the others."""
    rng = np.random.default_rng(3)
    sizes = np.r_[np.repeat([4.0, 5.0], 30), 6.0]
    read_as = sizes + rng.normal(0.01, 0.02, sizes.size)
    bias = facts(folder, (BIAS, bias_study(read_as, sizes))).bias
    errors = read_as[:30] - 4.0
    half = stats.t.ppf(0.95, 29) * errors.std(ddof=1) / np.sqrt(30)
    own = bias["the master 4"]
    assert own.confidence == 0.9
    assert own.estimate == pytest.approx(errors.mean())
    assert half <= own.half_width <= 1.05 * half
    pooled = np.sqrt((read_as[:30].var(ddof=1) + read_as[30:60].var(ddof=1)) / 2)
    once = bias["the master 6"]
    assert once.estimate == pytest.approx(read_as[60] - 6.0)
    assert once.half_width == pytest.approx(stats.t.ppf(0.95, 58) * pooled)


@pytest.mark.parametrize(
    ("sizes", "short"),
    [
        ((4.0, 6.0), ""),
        # A quarter of the tolerance of 2 mm counts as near.
        ((4.5, 5.5), ""),
        ((4.51, 5.5), "the lower limit"),
        ((4.8, 5.2), "the lower limit and the upper limit"),
        ((6.6, 6.9), "the lower limit and the upper limit"),
    ],
)
def test_limits_that_no_master_comes_near(
    folder: tuple[Any, Any], sizes: tuple[float, ...], short: str
) -> None:
    at = np.repeat(sizes, 5)
    read_as = at + np.tile([-0.01, 0.0, 0.01, 0.0, 0.02], len(sizes))
    assert facts(folder, (BIAS, bias_study(read_as, at))).masters_short == short


def test_drift_is_that_of_the_longest_stretch_between_resets(folder: tuple[Any, Any]) -> None:
    order = np.arange(0.0, 10_000, 100)
    since = np.where(order < 3000, order, order - 3000)
    read_as = 5.0 + 2e-6 * since + 0.001 * np.random.default_rng(4).normal(size=order.size)
    study = drift_study(order, read_as, 5.0, resets=[3000.0])
    found = facts(folder, (DRIFT, study))
    assert found.drift is not None
    # From 3,000 to 9,900.
    slope = study.slope_per_thousand.estimate
    assert found.drift.estimate == pytest.approx(6.9 * slope)
    assert found.drift.estimate == pytest.approx(6900 * 2e-6, rel=0.2)
    assert found.drift.confidence == 0.9
    # The stretch that was read farthest off is the second, by its own mean.
    assert found.drift_level is not None
    assert found.drift_level.estimate == pytest.approx(read_as[30:].mean() - 5.0)


def test_a_gauge_that_repeats_worse_on_masters_contradicts_its_study(
    folder: tuple[Any, Any],
) -> None:
    rng = np.random.default_rng(5)
    at = np.repeat([4.0, 5.0, 6.0], 10)
    own = CROSSED_STUDY.components["repeatability"].sd.estimate

    def contradiction(times: float) -> GaugeFacts:
        masters = bias_study(at + times * own * rng.normal(size=at.size), at)
        return facts(folder, (CROSSED, CROSSED_STUDY), (BIAS, masters))

    alike, worse = contradiction(1.0), contradiction(4.0)
    assert alike.repeat_p is not None
    assert alike.repeat_p > 0.05
    assert worse.repeat_p is not None
    assert worse.repeat_p < 1e-6
    assert worse.repeat_ratio == pytest.approx(4.0, rel=0.3)
    assert worse.repeat_where == "on masters"


def test_what_shares_refer_to(folder: tuple[Any, Any]) -> None:
    assert facts(folder).width == pytest.approx(2.0)
    one_sided = facts(folder, lower=None, bound=0.0, upper=6.0)
    assert one_sided.width == pytest.approx(6.0)
    assert facts(folder, lower=None).width is None
    assert facts(folder, lower=None, run_sd=0.1).width == pytest.approx(0.6)
