"""The two-out sample study: written again byte for byte, read whole, and its truth inside the intervals."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from linestudy import open_study, read
from linestudy.dossier.evaluation import evaluate
from linestudy.records import Records
from linestudy.results import Findings
from linestudy.simulate.samples.twin_contact import REGRINDS, STROKES, write_twin_contact
from linestudy.simulate.samples.twin_weld import LEAST_FORCE, SEAM


@pytest.fixture(scope="module")
def folder(root: Path) -> Path:
    return root / "sample_data" / "twin_contact"


@pytest.fixture(scope="module")
def truth(folder: Path) -> dict:
    return json.loads((folder / "truth.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def records(folder: Path) -> Records:
    return read(open_study(folder))


@pytest.fixture(scope="module")
def findings(records: Records) -> Findings:
    return evaluate(records.study, records=records).findings


@pytest.mark.proof
def test_the_same_seed_writes_the_same_study(folder: Path, tmp_path: Path) -> None:
    again = write_twin_contact(tmp_path, pictures=False)
    names = sorted(p.relative_to(again) for p in again.rglob("*") if p.is_file())
    assert len(names) == 16
    for name in names:
        assert (again / name).read_bytes() == (folder / name).read_bytes(), name
    assert sum(p.stat().st_size for p in folder.rglob("*") if p.is_file()) < 2_000_000


def test_every_part_of_every_stroke_is_read(records: Records) -> None:
    table = records.table("run", "height")
    assert table is not None
    assert table.attrs["parts_per_stroke"] == 2
    assert table["order"].max() == STROKES
    assert len(records.sources[0].frame) > 2 * STROKES - 20
    assert not records.ledger.large_shares()
    noticed = {seen.what for _, seen in records.screening.seen}
    assert "counter begins anew" in noticed


@pytest.mark.proof
def test_the_truth_lies_within(findings: Findings, truth: dict) -> None:
    for key, known in truth["characteristics"].items():
        assert known["Ppk_tool"] in findings.get(key, "capability").Ppk, key
        for lane, index in known["Ppk_lanes"].items():
            found = findings.get(key, "streams", lane, "capability").Ppk
            slack = 0.15 * (found.high - found.low)
            assert found.low - slack < index < found.high + slack, (key, lane)
        worst = findings.get(key, "capability", "streams")
        assert worst.worst == "R", key
        assert min(known["Ppk_lanes"].values()) in worst.Ppk, key


def test_small_gauge_studies_show_their_truth(findings: Findings, truth: dict) -> None:
    known = truth["gauge_studies"]
    side = findings.get("burr", "attribute", "thresholds").sides["upper"]
    for who, at in known["threshold"].items():
        found = side.appraisers[who].threshold
        assert abs(at - found.estimate) < 1.2 * found.half_width, who
    assert side.p < 0.05
    assert findings.get("burr", "attribute", "grades").kappa_between.estimate > 0.8
    over_time = findings.get("burr", "gauges", "camera", "over_time")
    ratio = over_time.pairs[0].repeatability_ratio
    assert (
        truth["characteristics"]["burr"]["camera_sd"] / known["camera_sd_before_cleaning"] in ratio
    )


def test_studies_of_the_weld_show_their_truth(findings: Findings, truth: dict) -> None:
    """Each kind of gauge study is in this sample once, and holds what it was drawn from."""
    known = truth["weld"]
    spread, off = known["reading_sd"], known["offset"]
    own = {name: findings.get("seam", "gauges", name, "crossed") for name in spread}
    for name, study in own.items():
        assert spread[name] in study.components["repeatability"].sd, name
    apart = findings.get("seam", "systems", "cmm~customer").pairs[0]
    assert off["customer"] - off["cmm"] in apart.bias
    assert findings.get("seam", "systems", "camera~cmm").pairs[0].parts == 10
    assert 0.0 in findings.get("seam", "agreement", "camera~cmm").mean_difference
    across = findings.get("seam", "laboratories")
    within = np.mean(np.square(list(spread.values())))
    between = np.var(list(off.values()), ddof=1)
    assert np.sqrt(within + between) in across.reproducibility_sd
    assert 0.0 in findings.get("seam", "gauges", "camera", "bias").mean_bias
    drift = findings.get("seam", "gauges", "camera", "drift")
    assert known["drift_per_thousand_strokes"] in drift.slope_per_thousand
    line = findings.get("pull", "gauges", "puller", "strength")
    assert known["force_per_inch"] in line.slope
    assert known["force_at_no_width"] in line.intercept
    scatter = np.hypot(known["specimen_sd"], known["band_sd"])
    lowest = known["force_at_no_width"] + known["force_per_inch"] * SEAM[0]
    # One in a hundred is weaker than that (normal); the bound lies below.
    assert LEAST_FORCE < line.at_limits["lower"] < lowest - 2.326 * scatter
    testers = findings.get("pull", "gauges", "puller", "destructive")
    assert np.std(list(known["testers"].values()), ddof=1) in testers.tester_sd
    assert testers.grr_least <= np.std(list(known["testers"].values())) <= testers.grr_most


def test_wear_and_regrinds_are_found(findings: Findings) -> None:
    life = findings.get("window", "capability", "tool_life")
    assert -0.00015 in life.slope_per_thousand
    assert [item.at for item in life.regrinds] == list(REGRINDS)
    assert all(0.00042 in item.step for item in life.regrinds)
    assert findings.get("height", "capability", "tool_life") is None
    assert len(findings.get("window", "stability", "trend_chart").signals) <= 4


def test_the_bad_lane_decides(findings: Findings) -> None:
    decisions = {key: findings.get(key, "verdict") for key in ("height", "window", "burr")}
    assert decisions["burr"].decision == "does not meet"
    assert decisions["burr"].stream == "R"
    assert decisions["height"].decision == "meets"
