"""The tables that rooms downstream rely on, checked column by column with pandera, for every role.

pandera serves the tests only: `records.roles` makes these types, and a second check of each table at run time would
cost 0.4 s of import and find nothing that these tests do not.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

import pandas as pd
import pandera.pandas as pa
import pytest

from linestudy import open_study, read
from linestudy.records import Records
from linestudy.study.model import Data

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
COUNT = pa.Column("int64", pa.Check.ge(0))
#: Roles that not every characteristic has: whose table, and what it holds.
SPECIAL = {
    "paired": (
        ("blade", "camera~cmm"),
        pa.DataFrameSchema({"part": NAME, "first": VALUE, "second": VALUE}, strict=True),
    ),
    "nested": (
        ("pull",),
        pa.DataFrameSchema({"Batch": NAME, "size": VALUE, "value": VALUE}, strict=True),
    ),
    "attribute": (
        ("appearance",),
        pa.DataFrameSchema(
            {
                "part": NAME,
                "appraiser": NAME,
                "trial": NAME,
                "judgement": pa.Column(bool),
                "reference": pa.Column(bool),
            },
            strict=True,
        ),
    ),
    "bins": (
        (),
        pa.DataFrameSchema(
            {"period": NAME, "accepted": COUNT, "rejected": COUNT, "purged": COUNT}, strict=True
        ),
    ),
}


@pytest.fixture(scope="module")
def records(request: pytest.FixtureRequest) -> Records:
    return read(open_study(request.config.rootpath / "sample_data" / "fork_receptacle"))


@pytest.mark.parametrize("role", list(SCHEMAS))
@pytest.mark.parametrize("key", ["blade", "throat", "offset", "shoulder", "seam"])
def test_tables_of_every_role(records: Records, role: str, key: str) -> None:
    SCHEMAS[role].validate(records.table(role, key), lazy=True)


@pytest.mark.parametrize("role", list(SPECIAL))
def test_tables_of_single_characteristics(records: Records, role: str) -> None:
    whose, schema = SPECIAL[role]
    schema.validate(records.table(role, *whose), lazy=True)


def test_a_short_run_of_the_machine(make_study: Callable) -> None:
    study = make_study(
        "m.csv",
        "Stroke,Width\n3,2.80\n1,2.79\n2,NA\n4,2.81\n",
        'role = "machine"\ngauge = "camera"\ncolumns = { width = "Width" }\norder = "Stroke"\nmissing = ["NA"]',
    )
    schema = pa.DataFrameSchema(
        {"order": pa.Column(float, pa.Check(lambda s: s.is_monotonic_increasing)), "value": VALUE},
        strict=True,
    )
    schema.validate(read(study).table("machine", "width"), lazy=True)


def test_every_role_has_its_contract() -> None:
    # A layout's table is held in across/test_dimensions.py, row by row.
    assert {*SCHEMAS, *SPECIAL, "machine", "layout"} == set(
        get_args(Data.model_fields["role"].annotation)
    )


def test_what_there_is_no_table_of(records: Records) -> None:
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
