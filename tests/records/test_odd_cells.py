"""One odd cell sets one row aside, not the study; and no line or number makes a reader hang."""

from __future__ import annotations

import time
import warnings
from pathlib import Path

import numpy as np
import pytest

from linestudy import open_study
from linestudy.dossier.doubts import doubts
from linestudy.records import read
from linestudy.records.infer.data_table import infer_data_table
from linestudy.results import InputError

HEAD = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 2.7
upper = 2.9
[[characteristic]]
id = "v"
name = "Depth"
[[gauge]]
id = "g"
name = "Camera"
[[data]]
file = "f.csv"
"""
RUN = HEAD + 'role = "run"\ngauge = "g"\ncolumns = { w = "W", v = "V" }\norder = "N"\n'


def study(folder: Path, text: str, toml: str = RUN):
    (folder / "study.toml").write_text(toml, encoding="utf-8")
    (folder / "f.csv").write_text(text, encoding="utf-8")
    return open_study(folder)


def rows(n: int = 50) -> list[str]:
    return [f"{i},{2.8 + i % 5 / 100:.2f},{1 + i % 3 / 10:.1f}" for i in range(1, n + 1)]


def account(folder: Path, lines: list[str], toml: str = RUN, head: str = "N,W,V"):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        records = read(study(folder, "\n".join([head, *lines]) + "\n", toml))
    found = records.ledger.accounts[0]
    assert found.rows_read == found.rows_used + sum(found.set_aside.values())
    return records, found


@pytest.mark.parametrize("cell", ["", "NA", "1e308", "-1e308", "1e20", "9" * 5000])
def test_a_row_without_a_usable_order_number(tmp_path: Path, cell: str) -> None:
    lines = rows()
    lines[7] = f"{cell},2.80,1.0"
    records, found = account(tmp_path, lines)
    assert found.set_aside == {"no order number": 1}
    assert len(records.table("run", "w")) == 49
    assert np.isfinite(records.table("run", "w")["order"]).all()


def test_a_file_without_any_order_number_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="nor has any other row"):
        account(tmp_path, [f",{row.split(',', 1)[1]}" for row in rows()])


@pytest.mark.parametrize("cell", ["1e308", "-1e308", "1e-320", "9" * 5000, "1e15"])
def test_a_wild_reading_leaves_its_row(tmp_path: Path, cell: str) -> None:
    lines = rows()
    lines[7] = f"8,{cell},1.0"
    records, found = account(tmp_path, lines)
    assert found.rows_used == 50
    (reason,) = found.values["w"].set_aside
    assert reason.startswith("no measurement")
    assert len(records.table("run", "w")) == 49
    assert len(records.table("run", "v")) == 50


VERDICT = RUN + 'verdict = "ok"\naccept = ["ok"]\nreject = ["nok"]\n'


@pytest.mark.parametrize("cell", ["", " ", "NA"])
def test_a_blank_verdict_sets_its_row_aside(tmp_path: Path, cell: str) -> None:
    lines = [f"{row},ok" for row in rows()]
    lines[7] = f"8,2.80,1.0,{cell}"
    _, found = account(tmp_path, lines, VERDICT, "N,W,V,ok")
    assert found.set_aside == {"no verdict": 1}


def test_a_blank_verdict_may_be_named(tmp_path: Path) -> None:
    lines = [f"{row},ok" for row in rows()]
    lines[7] = "8,2.80,1.0,"
    toml = VERDICT + 'set_aside_verdict = { "" = "the camera was off" }\n'
    _, found = account(tmp_path, lines, toml, "N,W,V,ok")
    assert found.set_aside == {"verdict : the camera was off": 1}


def test_an_unknown_verdict_is_still_a_question(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="neither in accept nor in reject"):
        account(tmp_path, [f"{row},perhaps" for row in rows()], VERDICT, "N,W,V,ok")


def test_bins_without_a_count(tmp_path: Path) -> None:
    toml = HEAD.replace('[[characteristic]]\nid = "v"\nname = "Depth"\n', "")
    toml = toml.replace(
        "[[data]]", '[[data]]\nrole = "run"\nfile = "f.csv"\ncolumns = { w = "W" }\n[[data]]'
    )
    toml += 'role = "bins"\nperiod = "N"\naccepted = "A"\nrejected = "R"\n'
    lines = [f"{i},2.8,100,{i}" for i in range(5)]
    lines[3] = "3,2.8,,4"
    records, _ = account(tmp_path, lines, toml, "N,W,A,R")
    assert records.ledger.accounts[1].set_aside == {"no count of accepted parts": 1}
    assert list(records.table("bins")["rejected"]) == [0, 1, 2, 4]


def test_readings_of_a_period_set_aside_stand_in_the_ledger(tmp_path: Path) -> None:
    toml = RUN + '[[set_aside]]\nreason = "regrind"\nfirst = 11\nlast = 20\n'
    records, found = account(tmp_path, rows(), toml)
    table = records.table("run", "w")
    assert found.values["w"].used == int((~table["set_aside"]).sum()) == 40
    assert sum(found.values["w"].set_aside.values()) == 10
    assert any("10 rows lie in periods" in note for note in records.ledger.cautions)


def test_a_line_that_is_too_long(tmp_path: Path) -> None:
    text = "N,W,V\n1,2.8,1\n" + "9" * 20_000_000 + "\n"
    opened = study(tmp_path, text)
    begin = time.process_time()
    with pytest.raises(InputError, match="line 3: is longer than"):
        read(opened)
    assert time.process_time() - begin < 5


def test_columns_of_a_wrong_delimiter(tmp_path: Path) -> None:
    opened = study(tmp_path, "N,W,V" + ",a" * 50_000 + "\n1,2,3\n")
    begin = time.process_time()
    with pytest.raises(InputError, match="columns"):
        read(opened)
    assert time.process_time() - begin < 20


def test_a_title_padded_with_delimiters_is_no_header(tmp_path: Path) -> None:
    text = "Messprotokoll Linie 4;;\n;;\nHub;Breite;Tiefe\n" + "".join(
        f"{i};2,80{i % 7};1,{i % 3}\n" for i in range(1, 60)
    )
    file = tmp_path / "f.csv"
    file.write_text(text, encoding="utf-8")
    told = infer_data_table(file)
    assert "header_row = 3" in told
    assert "Messprotokoll" not in told


def test_slips_are_named(tmp_path: Path) -> None:
    toml = RUN.replace('name = "Depth"', 'name = "Depth"\nfamily = "gaus"\nunit = "furlong"')
    toml = toml.replace("upper = 2.9", "upper = 2.9\nbound = 3.0")
    told = "\n".join(doubts(study(tmp_path, "\n".join(["N,W,V", *rows()]), toml)))
    assert 'no distribution is called "gaus"' in told
    assert '"furlong" is no unit' in told
    assert "one that parts cannot exceed" in told
