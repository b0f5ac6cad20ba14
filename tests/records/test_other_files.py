"""Rows that stand in two files of a run count once; two stations that read alike now and then are two stations."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from proposals import TIMES, WIDTHS, delimited, records_of, workbook

from linestudy.intake import draft_study
from linestudy.records import Records
from linestudy.records.read_files import read
from linestudy.study import open_study

REASON = "repeated row: same order number, same content, in a file before"


def records_of_files(folder: Path, files: dict[str, bytes], **changes: Any) -> Records:
    data = folder / "data"
    data.mkdir()
    for name, content in files.items():
        (data / name).write_bytes(content)
    draft = draft_study([data / name for name in files])
    for question in draft.questions():
        if question.key.startswith("gauge"):
            draft.answer(question.key, "Camera")
    return records_of(folder, draft, **changes)


def stretch(first: int, last: int, widths: Any = WIDTHS, clock: bool = True) -> list[list[object]]:
    head = ["Shot", *(["Time"] if clock else []), "Width"]
    rows: list[list[object]] = [
        [i + 1, *([TIMES[i].isoformat(" ")] if clock else []), float(widths[i])]
        for i in range(first, last)
    ]
    return [head, *rows]


@pytest.mark.parametrize("clock", [True, False])
def test_shifts_that_overlap(tmp_path: Path, clock: bool) -> None:
    parts = [(0, 16), (8, 30), (24, 40)]
    files = {f"s{i}.csv": delimited(stretch(*each, clock=clock)) for i, each in enumerate(parts)}
    records = records_of_files(tmp_path, files)
    np.testing.assert_array_equal(records.table("run", "width")["value"], WIDTHS)
    assert [account.set_aside for account in records.ledger.accounts] == [
        {},
        {REASON: 8},
        {REASON: 6},
    ]
    assert [account.values["width"].used for account in records.ledger.accounts] == [16, 14, 10]


def test_one_day_as_text_and_as_workbook(tmp_path: Path) -> None:
    records = records_of_files(
        tmp_path, {"a.csv": delimited(stretch(0, 40)), "b.xlsx": workbook(stretch(0, 40))}
    )
    np.testing.assert_array_equal(records.table("run", "width")["value"], WIDTHS)


def test_rows_of_two_stations_side_by_side(tmp_path: Path) -> None:
    table = pd.DataFrame({"Shot": np.arange(1, 41), "Width_L": WIDTHS, "Width_R": WIDTHS[::-1]})
    files = {
        "a.csv": table.iloc[:25].to_csv(index=False).encode(),
        "b.csv": table.iloc[15:].to_csv(index=False).encode(),
    }
    records = records_of_files(tmp_path, files)
    assert len(records.table("run", "width")) == 80
    assert [account.rows_used for account in records.ledger.accounts] == [25, 15]


def test_a_counter_that_begins_anew_repeats_nothing(tmp_path: Path) -> None:
    rounded = WIDTHS.round(2)
    files = {
        "a.csv": delimited(stretch(0, 40, rounded, clock=False)),
        "b.csv": delimited(stretch(0, 40, rounded[::-1], clock=False)),
    }
    assert len(records_of_files(tmp_path, files).table("run", "width")) == 80


def test_files_of_two_stations_share_strokes_and_clock(tmp_path: Path) -> None:
    rounded = WIDTHS.round(2)
    assert 0 < (rounded == rounded[::-1]).mean() < 0.9
    files = {
        "l.csv": delimited(stretch(0, 40, rounded)),
        "r.csv": delimited(stretch(0, 40, rounded[::-1])),
    }
    assert len(records_of_files(tmp_path, files).table("run", "width")) == 80


def test_one_file_read_for_two_gauges_is_no_second_file_of_the_run(tmp_path: Path) -> None:
    """Two characteristics of one file, each with a gauge of its own, follow nothing; two files of one without a clock do."""
    (tmp_path / "a.csv").write_text(
        "No,w,t\n" + "".join(f"{i},{i}.5,{i}.25\n" for i in range(1, 40))
    )
    (tmp_path / "b.csv").write_text(
        "No,w,t\n" + "".join(f"{i},{i}.1,{i}.2\n" for i in range(1, 40))
    )
    head = (
        'format = 1\n[study]\ntitle = "t"\npart = "p"\nrevision = "A"\n'
        '[[characteristic]]\nid = "w"\nname = "W"\nunit = "mm"\nupper = 50\n'
        '[[characteristic]]\nid = "t"\nname = "T"\nunit = "mm"\nupper = 50\n'
        '[[gauge]]\nid = "g"\nname = "G"\n[[gauge]]\nid = "h"\nname = "H"\n'
    )
    one = '[[data]]\nrole = "run"\ngauge = "{}"\nfile = "{}"\norder = "No"\ncolumns = {{ {} = "{}" }}\n'

    def noticed(*told: str) -> set[str]:
        (tmp_path / "study.toml").write_text(head + "".join(told), encoding="utf-8")
        shown = read(open_study(tmp_path)).screening.shown()
        return set(shown["noticed"]) if len(shown) else set()

    same = (one.format("g", "a.csv", "w", "w"), one.format("h", "a.csv", "t", "t"))
    assert "files without a clock" not in noticed(*same)
    two = (one.format("g", "a.csv", "w", "w"), one.format("g", "b.csv", "w", "w"))
    assert "files without a clock" in noticed(*two)
