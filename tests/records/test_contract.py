"""The tables that rooms downstream rely on, checked column by column with pandera."""

from __future__ import annotations

import pandas as pd
import pandera.pandas as pa
import pytest

from linestudy import open_study, read
from linestudy.records import Records

VALUE = pa.Column(float, nullable=False)
NAME = pa.Column(str, nullable=False)
SCHEMAS = {
    "run": pa.DataFrameSchema(
        {
            "order": pa.Column(float, pa.Check(lambda s: s.is_monotonic_increasing), unique=True),
            "time": pa.Column("datetime64[us]", coerce=True),
            "coil": NAME,
            "station": NAME,
            "verdict": pa.Column(str, pa.Check.isin(["ok", "nok"])),
            "accepted": pa.Column(bool),
            "subgroup": pa.Column("Int64", nullable=True),
            "set_aside": pa.Column(bool),
            "value": VALUE,
        }
    ),
    "crossed": pa.DataFrameSchema(
        {"part": NAME, "appraiser": NAME, "trial": NAME, "value": VALUE}, strict=True
    ),
    "reference": pa.DataFrameSchema(
        {"part": NAME, "reference": VALUE, "value": VALUE}, strict=True
    ),
    "drift": pa.DataFrameSchema({"order": VALUE, "reference": VALUE, "value": VALUE}, strict=True),
}


@pytest.fixture(scope="module")
def records(request: pytest.FixtureRequest) -> Records:
    return read(open_study(request.config.rootpath / "sample_data" / "fork_receptacle"))


@pytest.mark.parametrize("role", list(SCHEMAS))
@pytest.mark.parametrize("key", ["blade", "throat", "offset", "shoulder", "seam"])
def test_tables_of_every_role(records: Records, role: str, key: str) -> None:
    SCHEMAS[role].validate(records.table(role, key), lazy=True)


def test_the_other_tables(records: Records) -> None:
    assert list(records.table("paired", "blade", "camera~cmm")) == ["part", "first", "second"]
    assert list(records.table("nested", "pull")) == ["Batch", "value"]
    judged = records.table("attribute", "appearance")
    assert {"part", "appraiser", "trial", "judgement", "reference"} <= set(judged)
    assert judged["judgement"].dtype == bool
    assert {"period", "accepted", "rejected", "purged"} <= set(records.table("bins"))
    assert records.table("run", "pull") is None
    assert records.gauges("crossed", "blade") == ("camera", "cmm")
    assert records.pairs("blade") == (("camera", "cmm"),)


def test_subgroups_are_taken_by_order_number(records: Records) -> None:
    run = records.table("run", "blade")
    inside = run[run["subgroup"].notna()]
    assert inside.groupby("subgroup").size().max() == 5
    first = run["order"].iloc[0]
    assert ((inside["order"] - first) % 250 < 5).all()


def test_the_ledger_of_the_sample_adds_up(records: Records) -> None:
    for account in records.ledger.accounts:
        assert account.rows_read == account.rows_used + sum(account.set_aside.values())
        for counts in account.values.values():
            assert counts.read == counts.used + sum(counts.set_aside.values())
    run = records.ledger.accounts[0]
    assert run.rows_read == 31_440
    assert sum(run.set_aside.values()) == 240 + 84
    assert isinstance(records.ledger.shown(), pd.DataFrame)
