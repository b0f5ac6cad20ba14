"""Facts of the record behind a characteristic: counter, clock, labels, what limits leave open, what was left out."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from line_study import honest

from linestudy import open_study, read
from linestudy.results import Findings
from linestudy.verdict.facts import RecordFacts
from linestudy.verdict.gather.record import record_facts


def facts(folder: Path, **changes: object) -> RecordFacts:
    study = honest()
    for name, value in changes.items():
        setattr(study, name, value)
    opened = open_study(study.write(folder / "s"))
    item = opened.characteristics[0]
    return record_facts(opened, read(opened), Findings(), item, "run", "cam")


def test_counter_clock_and_labels(tmp_path: Path) -> None:
    run = honest().run
    run = run[(run["stroke"] <= 600) | (run["stroke"] > 1500)]
    late = run["stroke"] > 1800
    run.loc[late, "time"] += pd.Timedelta(minutes=20)
    found = facts(tmp_path, run=run)
    assert (found.first, found.last) == (1.0, 2000.0)
    assert (found.gaps, found.numbers_missing) == (1, 900)
    assert found.longest_gap == (600.0, 1501.0)
    assert found.pause == pytest.approx((1200.25, 1801.0))
    assert found.coils == ("K1", "K2", "K4")
    assert found.masters == (4.5, 4.75, 5.0, 5.25, 5.5)
    assert found.not_recorded == ()


def test_a_sample_at_regular_distances_has_no_gaps(tmp_path: Path) -> None:
    run = honest().run
    found = facts(tmp_path, run=run[run["stroke"] % 50 < 5])
    assert found.gaps == 0


def test_what_limits_leave_open_and_files_that_are_not_there_are_told(tmp_path: Path) -> None:
    told = facts(
        tmp_path / "a",
        lower="4.5\nnominal = 5.0\nbound = 4.5\n#",
        end='[[data]]\nrole = "run"\ngauge = "cam"\nfile = "late.csv"\ncolumns = { width = "width" }\nplanned = true\n',
    ).settings
    assert any(
        "not submitted yet: run in production order (late.csv), which is planned" in text
        for text in told
    )
    assert any("the bound 4.5 is the lower limit" in text for text in told)
    study = honest()
    path = study.write(tmp_path / "b")
    text = (path / "study.toml").read_text().replace("upper = 5.5", "nominal = 5.0")
    (path / "study.toml").write_text(text)
    opened = open_study(path)
    found = record_facts(opened, read(opened), Findings(), opened.characteristics[0], "run", "cam")
    assert any(
        "an upper limit is not given beside the nominal value 5" in t for t in found.settings
    )


def test_readings_left_out_where_parts_may_lie_are_counted(tmp_path: Path) -> None:
    run = honest().run
    beyond = int(((run["width"] < 4.8) | (run["width"] > 5.2)).sum())
    narrow = facts(tmp_path, more={"width": "plausible = [4.8, 5.2]"})
    assert narrow.suspect == beyond > 0
    assert any("4.8 to 5.2" in text for text in narrow.settings)
    # Two tolerances away no part lies: a range there is nobody's business.
    wide = facts(tmp_path / "wide", more={"width": "plausible = [2.0, 8.0]"})
    assert wide.suspect == 0
    assert wide.settings == ()
    # A bound below the lower limit, where parts may lie, leaves out bad ones.
    low = run.assign(width=run["width"].where(run["stroke"] % 500 > 0, 4.4))
    assert facts(tmp_path / "bound", run=low, more={"width": "bound = 4.45"}).suspect == 4
