"""Reading a study: tables by role, characteristic and gauge; accounts that add up; occasions, units, events by the clock."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from linestudy.records import read
from linestudy.records.files import sha256
from linestudy.results import InputError

RUN = 'role = "run"\ncolumns = { width = "Width" }\norder = "Stroke"'


def test_a_table_has_the_values_and_tags_of_its_role(make_study: Callable[..., Any]) -> None:
    study = make_study("run.csv", "Stroke,Width\n2,2.81\n1,2.80\n3,\n")
    records = read(study)
    table = records.table("run", "width")
    # In the order of production, without the part that has no reading.
    assert table["order"].tolist() == [1, 2]
    assert table["value"].tolist() == [2.80, 2.81]
    assert records.table("run", "gap") is None
    assert records.table("crossed", "width") is None
    assert records.table("nested", "gap")["value"].tolist() == [0.6, 0.61]


def test_who_changes_his_table_does_not_change_the_next_ones(
    make_study: Callable[..., Any],
) -> None:
    records = read(make_study("run.csv", "Stroke,Width\n1,2.80\n2,2.81\n"))
    mine = records.table("run", "width")
    mine.loc[0, "value"] = 99.0
    mine["order"] = 0
    assert records.table("run", "width")["value"].tolist() == [2.80, 2.81]
    assert records.table("run", "width")["order"].tolist() == [1, 2]


def test_every_row_is_used_or_set_aside(make_study: Callable[..., Any]) -> None:
    content = "Stroke,Width\n1,2.80\n2,2.81\n2,2.81\n,2.80\n3,9999\n4,2.79\n"
    study = make_study("run.csv", content, RUN + '\nmissing = ["", "9999"]')
    source = read(study).sources[0]
    account = source.account
    assert account.rows_read == 6
    assert account.rows_used == 3
    assert account.rows_used + sum(account.set_aside.values()) == account.rows_read
    assert account.sha256 == sha256(study.folder / "run.csv")


def test_the_units_of_the_file_hold_where_the_study_names_none(
    make_study: Callable[..., Any],
) -> None:
    inches = "Stroke,Width [in]\n1,0.1102\n2,0.1106\n"
    data = 'role = "run"\ncolumns = { width = "Width [in]" }\norder = "Stroke"'
    records = read(make_study("run.csv", inches, data))
    assert records.table("run", "width")["value"].tolist() == pytest.approx([2.79908, 2.80924])
    assert 'The header says "in".' in records.sources[0].account.notes
    stated = read(make_study("run.csv", inches, data + '\nunit = "mm"'))
    assert stated.table("run", "width")["value"].tolist() == [0.1102, 0.1106]


def test_a_file_that_is_missing_names_the_study_and_what_to_do(
    make_study: Callable[..., Any],
) -> None:
    study = make_study("run.csv", "Stroke,Width\n1,2.80\n")
    (study.folder / "run.csv").unlink()
    with pytest.raises(InputError, match=r"run\.csv.*is not in the study folder"):
        read(study)


def test_events_at_a_time_get_the_stroke_the_run_had_then(make_study: Callable[..., Any]) -> None:
    rows = "".join(f"{100 + n},2.80{n},2026-03-02T06:{n:02}:00\n" for n in range(5))
    study = make_study(
        "run.csv",
        "Stroke,Width,T\n" + rows,
        'gauge = "camera"\n'
        + RUN
        + '\ntime = "T"\n[[event]]\nname = "coil"\ntime = 2026-03-02T06:02:30\n[[event]]\nname = "later"\ntime = 2026-03-02T09:00:00',
    )
    events = {event.name: event.at for event in read(study).study.events}
    # The first part after it; behind the run where none came after.
    assert events == {"coil": 103.0, "later": 105.0}


def test_the_sample_has_its_accounts_and_paired_gauges(evaluation: Any, sample_study: Path) -> None:
    records = evaluation.records
    for source in records.sources:
        account = source.account
        assert account.rows_used + sum(account.set_aside.values()) == account.rows_read, (
            account.file
        )
        assert account.sha256 == sha256(sample_study / account.file)
    paired = records.table("paired", "blade")
    assert {"first", "second"} <= set(paired)
    assert not paired[["first", "second"]].isna().any(axis=None)
