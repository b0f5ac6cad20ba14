"""Counts of the bins against the log: shares of any number of parts are compared."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from line_study import honest
from scipy.stats import fisher_exact

from linestudy import open_study, read
from linestudy.results import Findings
from linestudy.verdict.gather.bins import same_share_p, verdicts_against_readings


@pytest.mark.parametrize(
    "counts", [(900_000, 400, 500_000, 190), (990_000, 6, 120_000, 3), (700_000, 0, 700_000, 0)]
)
def test_shares_of_a_million_parts_are_compared_as_fishers_test_would(
    counts: tuple[int, ...],
) -> None:
    table = np.array(counts, dtype=float).reshape(2, 2)
    assert same_share_p(table) == pytest.approx(fisher_exact(table)[1], rel=0.12)


def test_shares_of_any_number_of_parts_are_compared_at_once() -> None:
    assert same_share_p(np.array([[1e18, 3.0], [5e17, 1.0]])) == pytest.approx(1.0)
    assert same_share_p(np.array([[1e18, 1e16], [1e18, 3e16]])) == 0.0
    # Few expected of one kind among counts that a double does not hold one by one.
    assert 0 <= same_share_p(np.array([[9e15, 3.0], [9.1e18, 1e6]])) <= 1


@pytest.mark.parametrize(
    ("verdict", "accept", "words", "asked"),
    [
        ("nok", '["ok"]', "the sorter keeps to other limits than the study", True),
        ("Nacharbeit", '["ok", "Nacharbeit"]', "parts bear a verdict of rework", True),
        ("ok2", '["ok", "ok2"]', "accepts parts under 2 words: ok 1,9", False),
    ],
)
def test_verdicts_that_do_not_go_with_the_readings(
    tmp_path: Path, verdict: str, accept: str, words: str, asked: bool
) -> None:
    line = honest()
    line.run["verdict"] = np.where((line.run["width"] - 5).abs() > 0.25, verdict, "ok")
    text = (line.write(tmp_path / "s") / "study.toml").read_text(encoding="utf-8")
    (tmp_path / "s" / "study.toml").write_text(
        text.replace('accept = ["ok"]', f"accept = {accept}"), encoding="utf-8"
    )
    study = open_study(tmp_path / "s")
    sources = [s for s in read(study).sources if "accepted" in s.frame]
    said, told = verdicts_against_readings(
        study, Findings(), sources, study.characteristic("width")
    )
    assert any(words in text for text in (said if asked else told))
    assert asked == bool(said)


@pytest.mark.parametrize("reason", ["", "scratch"])
def test_rejected_parts_that_no_reading_explains_are_told_unless_a_reason_is(
    tmp_path: Path, reason: str
) -> None:
    line = honest()
    line.run["why"] = ""
    line.run.loc[::50, "verdict"], line.run.loc[::50, "why"] = "nok", reason
    line.tags += '\nreason = "why"'
    study = open_study(line.write(tmp_path / "s"))
    sources = [s for s in read(study).sources if "accepted" in s.frame]
    said, told = verdicts_against_readings(
        study, Findings(), sources, study.characteristic("width")
    )
    assert said == ()
    assert bool(told) == (reason == "")


SHORT = """[[data]]
role = "machine"
gauge = "cam"
file = "short.csv"
columns = { width = "width" }
order = "part"
time = "time"
"""


@pytest.mark.parametrize(("rejected", "contradicts"), [(20, False), (600, True)])
def test_parts_of_a_short_run_are_held_against_the_bins(
    tmp_path: Path, rejected: int, contradicts: bool
) -> None:
    from linestudy.capability.evaluation import BINS, _bins
    from linestudy.verdict.gather.record import record_facts

    study = honest()
    study.tags = ""
    folder = study.write(tmp_path / "s")
    text = (folder / "study.toml").read_text()
    begin = text.index('[[data]]\nrole = "run"\ngauge = "cam"')
    end = text.index("[[data]]", begin + 1)
    (folder / "study.toml").write_text(text[:begin] + SHORT + text[end:])
    parts = study.run[:60].assign(part=np.arange(1, 61)).drop(index=30)
    parts.loc[41:, "time"] += np.timedelta64(30, "m")
    parts.to_csv(folder / "short.csv", index=False)
    study.bins.assign(accepted=500, rejected=rejected // 4).to_csv(folder / "bins.csv", index=False)
    opened = open_study(folder)
    records, found = read(opened), Findings()
    found.evaluate(None, BINS, lambda: _bins(opened, records))
    facts = record_facts(opened, records, found, opened.characteristic("width"), "machine", "cam")
    assert (facts.first, facts.last, facts.numbers_missing) == (1, 60, 1)
    assert facts.pause[1] == 42
    assert facts.bins[2:] == (59, 0)
    assert facts.bins_p is not None
    assert (facts.bins_p < 0.001) == contradicts
    assert not facts.bins_by_verdicts
