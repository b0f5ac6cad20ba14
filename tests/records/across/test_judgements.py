"""Judgements across the columns of a sheet; one odd word sets its cell aside, many are a question."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import open_study
from linestudy.records import Records, read
from linestudy.results import InputError

TOML = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Weld"
[[data]]
role = "attribute"
file = "f.csv"
characteristic = "w"
part = "Part"
reference = "Ref"
accept = ["ok"]
reject = ["nok"]
judgement = { A = ["A1", "A2"], B = ["B1", "B2"] }
"""


def records(folder: Path, lines: list[str], toml: str = TOML) -> Records:
    (folder / "study.toml").write_text(toml, encoding="utf-8")
    text = "\n".join(["Part,Ref,A1,A2,B1,B2", *lines])
    (folder / "f.csv").write_text(text + "\n", encoding="utf-8")
    return read(open_study(folder))


GOOD = [f"{i},{'ok' if i % 3 else 'nok'},ok,ok,ok,nok" for i in range(1, 13)]


def test_a_sheet_of_judgements(tmp_path: Path) -> None:
    found = records(tmp_path, GOOD)
    table = found.table("attribute", "w")
    assert len(table) == 48
    assert set(zip(table["appraiser"], table["trial"], strict=True)) == {
        (a, t) for a in "AB" for t in "12"
    }
    worst = (table["appraiser"] == "B") & (table["trial"] == "2")
    assert not table.loc[worst, "judgement"].any()
    assert table.loc[~worst, "judgement"].all()
    assert table.groupby("part")["reference"].first().sum() == 8
    assert found.ledger.accounts[0].values["w"].used == 48


def test_blank_and_odd_cells_are_set_aside_one_by_one(tmp_path: Path) -> None:
    lines = [*GOOD]
    lines[3] = "4,ok,ok,,ok,hmm"
    found = records(tmp_path, lines)
    account = found.ledger.accounts[0]
    assert len(found.table("attribute", "w")) == 46
    assert account.rows_used == 12
    assert sorted((c.line, c.column, c.entry) for c in account.cells) == [
        (5, "A2", ""),
        (5, "B2", "hmm"),
    ]


def test_a_word_that_many_cells_hold_is_asked_about(tmp_path: Path) -> None:
    lines = [line.replace(",nok", ",rework", 1) if i > 5 else line for i, line in enumerate(GOOD)]
    lines = [line[: line.rindex(",")] + ",rework" for line in lines]
    with pytest.raises(InputError, match='"rework" is neither in accept nor in reject'):
        records(tmp_path, lines)


@pytest.mark.parametrize("level", ['["A1", "A2", "B1", "B2"]', '{ A = "A1", B = "B1" }'])
def test_trials_alone_and_appraisers_alone(tmp_path: Path, level: str) -> None:
    toml = TOML.replace('{ A = ["A1", "A2"], B = ["B1", "B2"] }', level)
    table = records(tmp_path, GOOD, toml).table("attribute", "w")
    assert ("trial" in table, "appraiser" in table) == (level[0] == "[", level[0] == "{")
