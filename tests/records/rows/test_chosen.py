"""One part number of several in a file, one kind of record of several; and what a choice leaves out is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of

from linestudy.records.rows.chosen import chosen_rows, names_a_product
from linestudy.results import InputError
from linestudy.study.load import Study, _checked
from linestudy.verdict.gather.of_files import chosen_of
from linestudy.verdict.rulings import APPROVAL

HEAD = ["PartNumber", "Stroke", "Station", "Result", "Width"]
ROWS = [
    ["0012" if i % 2 else "0013", i, "L" if i % 4 < 2 else "R", "FAIL" if w > 2.81 else "PASS", w]
    for i, w in enumerate(WIDTHS)
]


@pytest.mark.parametrize("answer", ["0012", "0013"])
def test_check_asks_which_part_and_one_is_read(tmp_path: Path, answer: str) -> None:
    draft = draft_of(tmp_path, "r.csv", delimited([HEAD, *ROWS]), {"only": answer})
    (table,) = draft.tables
    assert any('only = { "PartNumber" =' in each for each in table.said.open)
    records = records_of(tmp_path, draft)
    found = records.table("run", "width")
    np.testing.assert_array_equal(found["value"], WIDTHS[1::2] if answer == "0012" else WIDTHS[::2])
    account = records.ledger.accounts[0]
    assert account.set_aside == {f"belongs to other parts: PartNumber is not {answer}": 20}
    n, said = chosen_of(records, "width")
    assert n == 0
    assert "20 rows of other parts are not read" in said[0]
    assert not records.ledger.large_shares()


def test_the_part_number_that_was_answered_is_offered(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "r.csv", delimited([HEAD, *ROWS]), {"part": "0013"})
    (question,) = [q for q in draft.questions() if q.key.startswith("only")]
    assert question.default == "0013"
    assert question.choices == ["0013", "0012", "all of them together"]


def test_several_parts_read_as_one_are_told(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "r.csv", delimited([HEAD, *ROWS]), {"only": "all of them together"})
    records = records_of(tmp_path, draft)
    told = [seen.sentence for _, seen in records.screening.seen]
    assert any('"PartNumber" names 2 part numbers' in each for each in told)
    assert len(records.table("run", "width")) == 40


@pytest.mark.parametrize(
    "only", [{"Result": "PASS"}, {"Station": "L"}, {"Width": [str(WIDTHS[0])]}]
)
def test_any_other_choice_is_an_exclusion(tmp_path: Path, only: dict[str, object]) -> None:
    draft = draft_of(tmp_path, "r.csv", delimited([HEAD, *ROWS]))
    records = records_of(tmp_path, draft, only=only)
    (reason,) = records.ledger.accounts[0].set_aside
    assert reason.startswith("left out by a choice of rows: ")
    n, said = chosen_of(records, "width")
    assert n == 40 - len(records.table("run", "width")) > 0
    assert "left out by choice" in said[0]


def test_rows_without_a_reading_are_of_another_kind(tmp_path: Path) -> None:
    rows = []
    for i, w in enumerate(WIDTHS):
        rows += [["MEAS", i, w, ""], ["STATE", "", "", "lamp 71 %"]]
    content = delimited([["Kind", "Shot", "Width", "Note"], *rows])
    draft = draft_of(tmp_path, "cam.csv", content)
    records = records_of(tmp_path, draft, only={"Kind": "MEAS"})
    np.testing.assert_array_equal(records.table("run", "width")["value"], WIDTHS)
    assert records.ledger.accounts[0].set_aside == {"row of another kind: Kind is not MEAS": 40}
    assert chosen_of(records, "width")[0] == 0


def test_no_row_left_is_refused_with_what_there_is() -> None:
    keys = {"role": "run", "file": "r.csv", "columns": {"w": "Width"}, "only": {"PartNumber": "12"}}
    data = _checked(
        {
            "format": 1,
            "study": {"title": "t", "part": "p"},
            "characteristic": [{"id": "w", "name": "w"}],
            "data": [keys],
        },
        "",
    ).data[0]
    with pytest.raises(InputError, match="no row with PartNumber = 12; its entries are 0013, 0012"):
        chosen_rows(pd.DataFrame(ROWS, columns=HEAD), data)


def test_what_names_a_part_number() -> None:
    assert all(
        map(
            names_a_product,
            ["Part No.", "PartNumber", "Teilenummer", "Artikel-Nr.", "品番", "Model"],
        )
    )
    assert not any(
        map(
            names_a_product, ["Result", "Station", "Coil", "Part result", "Shift", "Status", "Type"]
        )
    )


def decided(folder: Path, only: dict[str, object]) -> object:
    """The decision of a run of two part numbers, with a choice of rows."""
    from linestudy import evaluate

    rng = np.random.default_rng(3)
    rows = [
        [
            "P1" if i % 2 else "P2",
            i,
            "L" if i % 4 < 2 else "R",
            "PASS",
            round(float(rng.normal(2.8, 0.01)), 4),
        ]
        for i in range(240)
    ]
    (folder / "r.csv").write_bytes(delimited([HEAD, *rows]))
    data = {
        "role": "run",
        "file": "r.csv",
        "order": "Stroke",
        "columns": {"w": "Width"},
        "only": only,
    }
    item = {"id": "w", "name": "Width", "unit": "mm", "lower": 2.7, "upper": 2.9}
    (folder / "study.toml").write_text("")
    study = Study(
        folder,
        _checked(
            {
                "format": 1,
                "study": {"title": "t", "part": "p"},
                "characteristic": [item],
                "data": [data],
            },
            "",
        ),
    )
    return evaluate(study).findings.get("w", "verdict")


def test_the_decision_tells_of_it(tmp_path: Path) -> None:
    other, mine = decided(tmp_path, {"PartNumber": "P1"}), decided(tmp_path, {"Station": "L"})
    assert any("120 rows of other parts are not read" in each for each in other.conditions)
    assert not any("choice of rows" in ruling.reason for ruling in other.rulings)
    assert any(
        "120 rows are left out by choice (Station is not L)" in each for each in mine.conditions
    )
    (ruling,) = [ruling for ruling in mine.rulings if ruling.rule == "exclusions"]
    assert "120 readings of this part left out by a choice of rows" in ruling.reason
    assert ruling.effect == APPROVAL
