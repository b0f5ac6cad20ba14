"""The ledger adds up, in numbers as in text."""

from __future__ import annotations

import pandas as pd
import pytest

from linestudy.records import FileAccount, Ledger, ValueCount

RUN = FileAccount(
    file="run.csv",
    role="run",
    gauge="camera",
    sha256="0" * 64,
    rows_read=31_440,
    rows_used=31_116,
    set_aside={"repeated": 240, "purged": 84},
    values={"width": ValueCount(31_116, 31_100, {"no reading": 16})},
)
BINS = FileAccount("bins.csv", "bins", "", "0" * 64, 12, 12)


def test_an_account_that_does_not_add_up_cannot_be_made() -> None:
    with pytest.raises(AssertionError, match=r"run\.csv"):
        FileAccount("run.csv", "run", "camera", "0" * 64, 10, 8, {"purged": 1})


def test_its_table_is_of_numbers() -> None:
    table = Ledger((RUN, BINS)).table()
    assert table["rows read"].dropna().tolist() == [31_440, 12]
    assert table["rows used"].dropna().tolist() == [31_116, 12]
    assert table["rows"].dropna().tolist() == [84, 240]
    for name in ("rows read", "rows used", "rows"):
        assert pd.api.types.is_integer_dtype(table[name])
    # Every row that was read is used or set aside.
    assert table["rows read"].sum() == table["rows used"].sum() + table["rows"].sum()


def test_its_text_says_the_same() -> None:
    ledger = Ledger((RUN, BINS))
    shown = ledger.shown()
    assert shown.loc[0].tolist() == ["run.csv", "run", "camera", "31,440", "31,116", "", ""]
    assert shown.loc[1].tolist() == ["", "", "", "", "", "purged", "84"]
    assert ledger.statement.startswith("31,452 rows read from 2 files, 31,128 used, 324 excluded")


def test_values_set_aside_stand_by_characteristic() -> None:
    values = Ledger((RUN, BINS)).values()
    assert values.to_dict("records") == [
        {
            "file": "run.csv",
            "characteristic": "width",
            "values read": 31_116,
            "values used": 31_100,
            "reason": "no reading",
            "values": 16,
        }
    ]


def test_what_results_json_holds() -> None:
    record = RUN.record()
    assert record["set_aside"] == [
        {"reason": "purged", "rows": 84},
        {"reason": "repeated", "rows": 240},
    ]
    assert record["values"]["width"] == {
        "read": 31_116,
        "used": 31_100,
        "set_aside": [{"reason": "no reading", "values": 16}],
    }
