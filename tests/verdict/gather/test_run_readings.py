"""Which readings a decision rests on, in which order, less what was set aside."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from line_study import honest

from linestudy import open_study, read
from linestudy.verdict.gather.run_readings import judged_by, read_elsewhere, readings_of


def opened(folder: Path, **changes: object):  # type: ignore[no-untyped-def]
    study = honest()
    for name, value in changes.items():
        setattr(study, name, value)
    found = open_study(study.write(folder))
    return found, read(found)


PULLS = """format = 1
[study]
title = "Pulls"
part = "A-1"
[[characteristic]]
id = "force"
name = "Force"
unit = "N"
lower = 60.0
[[gauge]]
id = "cell"
name = "Load cell"
[[data]]
role = "nested"
gauge = "cell"
file = "pulls.csv"
columns = { force = "force" }
levels = ["lot"]
"""


def pulls(folder: Path, rows: pd.DataFrame):  # type: ignore[no-untyped-def]
    folder.mkdir()
    (folder / "study.toml").write_text(PULLS)
    rows.to_csv(folder / "pulls.csv", index=False)
    found = open_study(folder)
    return found, read(found)


FORCES = pd.DataFrame(
    {
        "lot": np.repeat(list("ABCDEF"), 6),
        "force": np.random.default_rng(4).normal(80, 3, 36).round(1),
    }
)


def test_a_run_decides_before_a_gauge_study_and_a_destructive_test_where_there_is_no_run(
    tmp_path: Path,
) -> None:
    _, records = opened(tmp_path / "s")
    assert judged_by(records, "width") == ("run", "cam")
    assert judged_by(records, "nothing") == ("", None)
    _, records = pulls(tmp_path / "p", FORCES)
    assert judged_by(records, "force") == ("nested", "cell")


def test_readings_are_those_of_the_file_with_their_tags(tmp_path: Path) -> None:
    study, records = opened(tmp_path / "s")
    run = honest().run
    found = readings_of(study, records, study.characteristics[0])
    assert found is not None
    assert found.role == "run"
    # Five of every so many parts are subgroups, and only they are judged where a plan names them.
    own = run.set_index("stroke")["width"]
    assert np.allclose(found.values, own[np.asarray(found.tags.order, dtype=int)])
    assert set(np.asarray(found.tags.stream, dtype=str)) == {"L", "R"}
    assert len(found.tags.order) == len(found.values) == len(found.tags.coil)


def test_what_a_period_sets_aside_is_left_out_unless_it_is_asked_for(tmp_path: Path) -> None:
    end = '[[set_aside]]\nreason = "set-up"\nfirst = 1\nlast = 200\n'
    study, records = opened(tmp_path / "s", end=end)
    item = study.characteristics[0]
    kept, whole = (
        readings_of(study, records, item),
        readings_of(study, records, item, with_periods=True),
    )
    assert kept is not None
    assert whole is not None
    assert min(kept.tags.order) > 200
    assert whole.values.size - kept.values.size == (np.asarray(whole.tags.order) <= 200).sum() > 0


def test_a_destructive_test_without_order_does_not_depend_on_the_order_of_its_rows(
    tmp_path: Path,
) -> None:
    found = [
        readings_of(study, records, study.characteristics[0])
        for study, records in (pulls(tmp_path / "a", FORCES), pulls(tmp_path / "b", FORCES[::-1]))
    ]
    one, other = found
    assert one is not None
    assert other is not None
    assert one.role == "nested"
    assert one.values.tolist() == other.values.tolist()
    assert one.tags.subgroup.tolist() == other.tags.subgroup.tolist()
    assert sorted(one.values) == sorted(FORCES["force"])
    # Drawn at random: neighbours of a lot in the file are no neighbours here.
    assert one.values.tolist() != FORCES["force"].tolist()
    assert len(np.unique(one.tags.lots[0][:6])) > 1


@pytest.mark.parametrize(("named", "causes"), [("width", 1), ("force", 0)])
def test_a_cause_belongs_to_its_characteristic(tmp_path: Path, named: str, causes: int) -> None:
    end = (
        f'[[cause]]\ncharacteristic = "{named}"\nfirst = 10\nlast = 20\ncause = "strip"\n'
        'action = "changed"\nby = "A. Fitter"\n'
    )
    study, records = opened(tmp_path / "s", end=end)
    found = readings_of(study, records, study.characteristics[0])
    assert found is not None
    assert len(found.causes) == causes
    if causes:
        assert found.causes[0] == (10.0, 20.0, "strip; changed (A. Fitter)")


def test_nothing_is_read_of_a_characteristic_without_parts(tmp_path: Path) -> None:
    study, records = opened(tmp_path / "s")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(type(records), "table", lambda self, *place: None)
        assert readings_of(study, records, study.characteristics[0]) is None
        patch.setattr(type(records), "table", lambda self, *place: pd.DataFrame({"value": []}))
        assert readings_of(study, records, study.characteristics[0]) is None


WELDS = """[[data]]
role = "nested"
gauge = "cell"
file = "pulls.csv"
columns = { force = "force" }
levels = ["lot"]
"""


@pytest.mark.parametrize(
    ("lots", "each", "between", "sd", "says"),
    [
        # Ten batches of welds that are alike within them are ten readings: 1.2 contradicts nothing.
        (10, 6, 6.5, 0.5, False),
        # Of as many independent ones it does.
        (60, 1, 0.0, 8.3, True),
        (30, 6, 2.0, 8.0, True),
        (10, 6, 2.0, 3.0, False),
    ],
)
def test_welds_beside_a_run_contradict_it_where_so_many_batches_cannot_be_of_it(
    tmp_path: Path, lots: int, each: int, between: float, sd: float, says: bool
) -> None:
    draw = np.random.default_rng(11)
    level = np.repeat(draw.normal(0, between, lots), each)
    force = 85 + level + draw.normal(0, sd, lots * each)
    study = honest()
    study.studies += WELDS
    folder = study.write(tmp_path / "s")
    lot = np.repeat(np.arange(lots), each)
    pd.DataFrame({"lot": lot, "force": force.round(1)}).to_csv(folder / "pulls.csv", index=False)
    opened_study = open_study(folder)
    records = read(opened_study)
    against, beside = read_elsewhere(opened_study, records, opened_study.characteristic("force"))
    assert (len(against), len(beside)) == ((1, 0) if says else (0, 1))
    assert "by their mean and SD Ppk is" in (*against, *beside)[0]
    assert all("at most (99.9% confidence)" in text for text in against)


def test_welds_of_a_process_just_good_enough_seldom_contradict_its_run() -> None:
    from linestudy.verdict.gather.run_readings import _effective

    draw = np.random.default_rng(12)
    table = pd.DataFrame({"lot": np.repeat(np.arange(10), 6), "value": 0.0})
    table.attrs["levels"] = ["lot"]
    seen = []
    for _ in range(50):
        table["value"] = draw.normal(0, 1, 10).repeat(6) + draw.normal(0, 0.1, 60)
        seen.append(_effective(table))
    means, spreads = np.transpose(seen)
    # Batches that hardly differ inside are ten readings (Kish, design effect).
    assert 10 <= means.min() <= means.max() < 12
    assert 10 <= spreads.min() <= spreads.max() < 13
