"""What a person chose to read of the files, and what whoever opens them does not see: of the right file and characteristic."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.records.across.limits_said import NARROWER, WIDER
from linestudy.records.across.rows_noticed import REJECTED_FOR, REJECTED_UNREAD
from linestudy.records.across.unread import NAMESAKE, UNREAD_NUMBERS, UNREAD_STREAM, WORKED_OUT
from linestudy.records.exclusions import CHOSEN as BY_CHOICE
from linestudy.records.exclusions import OTHER_PARTS
from linestudy.records.rows.chosen import SEVERAL_PARTS
from linestudy.records.screening import Seen
from linestudy.records.text_table import HIDDEN_ROWS
from linestudy.verdict.gather import of_files


def noticed(file: str, *kinds: str, key: str = "w", role: str = "run", count: int = 3) -> Any:
    """A file in which something of each kind was noticed."""
    seen = [Seen(kind, key, count, 0, f"Told of {kind}") for kind in kinds]
    return SimpleNamespace(data=SimpleNamespace(file=file, role=role), seen=seen)


ALL = (HIDDEN_ROWS, UNREAD_NUMBERS, WORKED_OUT, WIDER, NARROWER, NAMESAKE, UNREAD_STREAM)


def test_each_tells_of_its_own_kinds_with_the_file() -> None:
    sources = [noticed("a.csv", *ALL), noticed("b.csv", *ALL, key="other")]
    assert of_files.unread_numbers(sources, "w") == [f"Told of {UNREAD_NUMBERS} (a.csv)"]
    assert of_files.unread_numbers(sources, "none") == []
    otherwise, narrower = of_files.limits_of_files(sources, "w")
    assert otherwise == (f"Told of {WIDER}", f"Told of {NAMESAKE}")
    assert narrower == [f"Told of {NARROWER}"]
    # What is hidden in a file concerns all that is read of it.
    assert of_files.unseen(sources) == [
        f"Told of {HIDDEN_ROWS} (a.csv)",
        f"Told of {HIDDEN_ROWS} (b.csv)",
    ]


def test_what_follows_exactly_leaves_chance_no_part() -> None:
    (doubt,) = of_files.worked_out([noticed("a.csv", WORKED_OUT)], "w")
    assert (doubt.what, doubt.p) == ("readings worked out", 0.0)
    assert doubt.evidence.endswith("(a.csv)")


def test_advice_for_the_author_is_left_out_of_what_the_customer_reads() -> None:
    source = noticed("a.csv", SEVERAL_PARTS)
    source.seen[0] = Seen(SEVERAL_PARTS, "w", 3, 0, "3 parts; where one is meant, write only")
    assert of_files.unseen([source]) == ["3 parts (a.csv)"]


def test_rejected_parts_with_a_reason_are_told_and_not_counted() -> None:
    sources = [
        noticed("a.csv", REJECTED_UNREAD, count=4),
        noticed("b.csv", REJECTED_UNREAD, REJECTED_FOR, count=2),
    ]
    n, said = of_files.rejected_without(sources, "w")
    assert n == 6
    assert len(said) == 3
    assert of_files.rejected_without(sources, "v") == (0, [])


def test_another_stream_of_a_run_is_told_and_of_a_gauge_study_not() -> None:
    records: Any = SimpleNamespace(
        sources=[
            noticed("a.csv", UNREAD_STREAM),
            noticed("b.csv", UNREAD_STREAM, role="crossed"),
            noticed("c.csv", UNREAD_STREAM),
        ]
    )
    said = of_files.unread_stream(records, "w")
    assert said == f"told of {UNREAD_STREAM} (a.csv); told of {UNREAD_STREAM} (c.csv)"
    assert of_files.unread_stream(records, "v") == ""


CHOSEN = """format = 1
[study]
title = "Chosen"
part = "P"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
[[characteristic]]
id = "v"
name = "Height"
unit = "mm"
lower = 9.0
upper = 11.0
[[data]]
role = "run"
file = "run.csv"
columns = { w = "W" }
only = { Shift = ["A"] }
"""


def test_readings_left_out_by_choice_are_counted(tmp_path: Path) -> None:
    rows = pd.DataFrame({"Shift": ["A"] * 40 + ["B"] * 10, "W": [10 + k / 100 for k in range(50)]})
    rows.to_csv(tmp_path / "run.csv", index=False)
    (tmp_path / "study.toml").write_text(CHOSEN, encoding="utf-8")
    records = read(open_study(tmp_path))
    n, (said,) = of_files.chosen_of(records, "w")
    assert n == 10
    assert said.startswith("of run.csv 10 rows are left out by choice (")
    assert of_files.chosen_of(records, "v") == (0, ())


@pytest.mark.parametrize("columns", [1, 3])
def test_a_row_left_out_of_a_wide_sheet_takes_all_its_readings(columns: int) -> None:
    account = SimpleNamespace(
        values={"w": SimpleNamespace(columns=columns)},
        set_aside={f"{BY_CHOICE}: B": 10, f"{OTHER_PARTS}: Q": 5, "blank row": 4},
    )
    data = SimpleNamespace(file="a.csv", only={"Shift": ["A"]}, characteristic=None)
    records: Any = SimpleNamespace(sources=[SimpleNamespace(data=data, account=account)])
    n, said = of_files.chosen_of(records, "w")
    # Rows of other parts are none of this part's readings: told, and not counted.
    assert n == 10 * columns
    assert len(said) == 2
