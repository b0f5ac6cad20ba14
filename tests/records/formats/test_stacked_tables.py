"""One study in blocks below each other: the title of each names its appraiser, trial or station."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of, workbook

from linestudy.records.formats.stacked_tables import blocks_of, labels_of
from linestudy.results import InputError

PEOPLE = ("Anna", "Bela", "Cem")
Title = Callable[[str], list[object]]


def study(seed: int = 5) -> pd.DataFrame:
    """Ten parts, three appraisers, three trials."""
    rng = np.random.default_rng(seed)
    parts = rng.normal(2.8, 0.012, 10)
    rows = [
        (str(p + 1), a, str(k + 1), round(float(parts[p] + rng.normal(0, 0.0015)), 4))
        for a in PEOPLE
        for p in range(10)
        for k in range(3)
    ]
    return pd.DataFrame(rows, columns=["part", "appraiser", "trial", "value"])


TRUTH = study()


def blocks(
    title: Title,
    blank: bool = True,
    once: bool = False,
    totals: bool = False,
    head: str = "Trial {}",
) -> list[list[object]]:
    """The study as blocks of appraisers."""
    names: list[object] = ["Part", *(head.format(k) for k in (1, 2, 3))]
    rows: list[list[object]] = [names] if once else []
    for a in PEOPLE:
        rows.append(title(a))
        rows += [] if once else [names]
        for p in range(1, 11):
            own = TRUTH[(TRUTH["appraiser"] == a) & (TRUTH["part"] == str(p))]
            rows.append([p, *own["value"]])
        if totals:
            rows.append(
                ["Average", *TRUTH[TRUTH["appraiser"] == a].groupby("trial")["value"].mean()]
            )
        rows += [[]] if blank else []
    return rows


def assert_is_the_study(folder: Path, name: str, content: bytes) -> None:
    draft = draft_of(folder, name, content)
    (table,) = draft.tables
    assert table.said.role == "crossed", table.said.why
    records = records_of(folder, draft)
    found = records.table("crossed", draft.items[0].id)
    assert found is not None
    key = ["appraiser", "part", "trial"]
    found = found[[*key, "value"]].sort_values(key, ignore_index=True)
    pd.testing.assert_frame_equal(
        found, TRUTH[[*key, "value"]].sort_values(key, ignore_index=True), check_dtype=False
    )


@pytest.mark.parametrize(
    "title",
    [
        lambda a: [f"Appraiser: {a}"],
        lambda a: [f"Prüfer {a}"],
        lambda a: ["Operator:", a],
        lambda a: [f"检验员：{a}".replace("：", ": ")],
        lambda a: ["", f"Opérateur = {a}"],
        lambda a: [a],
    ],
)
@pytest.mark.parametrize("as_workbook", [True, False])
def test_blocks_of_appraisers_are_one_study(
    tmp_path: Path, title: Title, as_workbook: bool
) -> None:
    rows = [["Gauge study, slot width"], [], *blocks(title)]
    content = workbook(rows) if as_workbook else delimited(rows, ";")
    assert_is_the_study(tmp_path, "grr.xlsx" if as_workbook else "grr.csv", content)


@pytest.mark.parametrize(
    "changes", [{"blank": False}, {"once": True}, {"once": True, "blank": False}, {"totals": True}]
)
def test_without_blank_rows_with_names_once_with_averages(
    tmp_path: Path, changes: dict[str, bool]
) -> None:
    assert_is_the_study(
        tmp_path, "grr.csv", delimited(blocks(lambda a: [f"Appraiser: {a}"], **changes))
    )


def test_blocks_of_trials_with_people_across(tmp_path: Path) -> None:
    rows: list[list[object]] = []
    for k in "123":
        rows += [[f"Trial {k}"], ["Part", *PEOPLE]]
        own = TRUTH[TRUTH["trial"] == k]
        rows += [[p, *own[own["part"] == str(p)]["value"]] for p in range(1, 11)]
        rows.append([])
    assert_is_the_study(tmp_path, "grr.csv", delimited(rows))


def test_a_run_in_blocks_of_stations(tmp_path: Path) -> None:
    rows: list[list[object]] = []
    for station, values in (("L", WIDTHS[:20]), ("R", WIDTHS[20:])):
        rows += [
            [f"Station {station}"],
            ["Stroke", "Width"],
            *([i, w] for i, w in enumerate(values, 1)),
            [],
        ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert draft.tables[0].said.role == "run"
    found = records_of(tmp_path, draft).table("run", "width")
    for station, values in (("L", WIDTHS[:20]), ("R", WIDTHS[20:])):
        np.testing.assert_array_equal(found["value"][found["station"] == station], values)


def test_blocks_of_characteristics_stay_tables_of_their_own(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    rows: list[list[object]] = []
    for name, middle in (("Width", 2.8), ("Slot", 2.8), ("Gap", 1.2)):
        rows += [[name], ["Part", "A1", "A2", "B1", "B2"]]
        parts = rng.normal(middle, 0.01, 10)
        rows += [[p + 1, *(x + rng.normal(0, 0.001, 4)).round(4)] for p, x in enumerate(parts)] + [
            []
        ]
    draft = draft_of(tmp_path, "grr.csv", delimited(rows))
    assert [table.said.key("block") for table in draft.tables] == ["Width", "Slot", "Gap"]


def test_a_title_of_two_levels(tmp_path: Path) -> None:
    rows: list[list[object]] = []
    for (a, k), own in TRUTH.groupby(["appraiser", "trial"]):
        rows += [[f"{a}, {k}"], ["Part", "Width"], *own[["part", "value"]].to_numpy().tolist(), []]
    draft = draft_of(tmp_path, "grr.csv", delimited(blocks(lambda a: [a])))
    (tmp_path / "data" / "grr.csv").write_bytes(delimited(rows))
    records = records_of(
        tmp_path,
        draft,
        blocks=["appraiser", "trial"],
        columns={draft.items[0].id: "Width"},
        across=None,
    )
    found = records.table("crossed", draft.items[0].id)
    key = ["appraiser", "part", "trial"]
    np.testing.assert_array_equal(found.sort_values(key)["value"], TRUTH.sort_values(key)["value"])


def test_what_is_no_block_is_refused(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "grr.csv", delimited(blocks(lambda a: [a])))
    with pytest.raises(InputError, match="no blocks below each other"):
        records_of(tmp_path, draft, columns={draft.items[0].id: "Width"}, across=None)


def test_titles_and_labels() -> None:
    assert labels_of(["Appraiser A", "Appraiser B"]) == ("Appraiser", ["A", "B"])
    assert labels_of(["Anna", "Bela"]) == ("", ["Anna", "Bela"])
    assert blocks_of([["Part", "W"], ["1", "2.8"], ["2", "2.9"]]) == []


def test_a_stray_cell_far_below_costs_nothing() -> None:
    rows = [
        ["Nr", "Width"],
        *([str(i), "2.8"] for i in range(9)),
        *([] for _ in range(300_000)),
        ["7"],
    ]
    begin = time.process_time()
    assert blocks_of(rows) == []
    assert time.process_time() - begin < 5
