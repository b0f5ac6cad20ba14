"""Mutated study folders: each is read whole or refused in one line, never anything else.

Seven and a half thousand folders are made from six sound ones (csv, parquet, QIF, xlsx, xls, JSON lines) by flipping,
dropping, doubling and splicing bytes of the data file or of study.toml, from a fixed seed.
The reading runs in this process, so a traceback, a hang or an unbalanced ledger shows at once.
"""

from __future__ import annotations

import io
import json
import random
import signal
import warnings
from pathlib import Path

import pandas as pd
import pytest
import xlwt

from linestudy import open_study
from linestudy.records import read
from linestudy.results import InputError

ROUNDS = 7500
SECONDS = 20

TOML = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
nominal = 2.8
lower = 2.7
upper = 2.9
bound = 0.0
[[gauge]]
id = "g"
name = "Camera"
resolution = 0.001
[[data]]
role = "run"
gauge = "g"
file = "{file}"
{columns}
missing = ["", "9999"]
largest_mb = 5
"""
WIDE = 'columns = { w = "Width" }\norder = "Stroke"\nsubgroup = { size = 2, every = 5 }'
LONG = 'long = { characteristic = "characteristic", value = "actual" }'
TOKENS = [
    b"9999",
    b"nan",
    b"inf",
    b"-1e308",
    b"1e999",
    b'"',
    b";",
    b",",
    b"\t",
    b"\n",
    b"\r",
    b"\x00",
    b"\xff",
    b"\xef\xbb\xbf",
    b"<!DOCTYPE a [<!ENTITY b 'c'>]>",
    b"../",
    b"mm",
    b"[",
    b"]",
    b"{",
    b"=",
    b"''",
    b"\\",
    b"1_000",
    b"0x10",
    b"True",
    b"2026-13-45",
    "µ".encode(),
    b"Total,",
    b"%s",
]


def sources() -> dict[str, tuple[str, bytes, str]]:
    rows = [(i, 2.8 + (i % 7 - 3) / 100) for i in range(1, 31)]
    text = "Stroke,Width\n" + "".join(f"{i},{v:.3f}\n" for i, v in rows) + "31,9999\n"
    frame = pd.DataFrame(rows, columns=["Stroke", "Width"])
    parquet, sheet = io.BytesIO(), io.BytesIO()
    frame.to_parquet(parquet, index=False)
    frame.to_excel(sheet, index=False)
    old, book = io.BytesIO(), xlwt.Workbook()
    page = book.add_sheet("Data")
    for i, row in enumerate([("Stroke", "Width"), *rows]):
        for j, value in enumerate(row):
            page.write(i, j, value)
    book.save(old)
    objects = "\n".join(json.dumps({"Stroke": i, "Width": v}) for i, v in rows)
    measured = "".join(
        f'<LengthCharacteristicMeasurement id="1{i}"><CharacteristicItemId>3</CharacteristicItemId>'
        f"<Value>{v:.3f}</Value></LengthCharacteristicMeasurement>"
        for i, v in rows
    )
    qif = (
        '<QIFDocument xmlns="http://qifstandards.org/xsd/qif3"><CharacteristicItems>'
        '<LengthCharacteristicItem id="3"><Name>w</Name></LengthCharacteristicItem>'
        '</CharacteristicItems><MeasurementResults id="9"><CharacteristicMeasurements>'
        f"{measured}</CharacteristicMeasurements></MeasurementResults></QIFDocument>"
    )
    return {
        "csv": ("f.csv", text.encode(), WIDE),
        "parquet": ("f.parquet", parquet.getvalue(), WIDE),
        "qif": ("f.qif", qif.encode(), LONG),
        "xlsx": ("f.xlsx", sheet.getvalue(), WIDE),
        "xls": ("f.xls", old.getvalue(), WIDE),
        "json lines": ("f.jsonl", objects.encode(), WIDE),
    }


def mutated(raw: bytes, chance: random.Random) -> bytes:
    content = bytearray(raw)
    for _ in range(chance.choice((1, 1, 2, 3, 8))):
        at = chance.randrange(len(content) + 1)
        kind = chance.randrange(5)
        if kind == 0 and at < len(content):
            content[at] ^= 1 << chance.randrange(8)
        elif kind == 1:
            del content[at : at + chance.choice((1, 2, 10, 200))]
        elif kind == 2:
            content[at:at] = chance.choice(TOKENS)
        elif kind == 3:
            content[at:at] = content[at : at + chance.choice((5, 50))] * 2
        else:
            content[at : at + 4] = chance.choice(TOKENS)
    return bytes(content)


def too_long(*_: object) -> None:
    raise AssertionError(f"reading hangs: more than {SECONDS} s")


@pytest.mark.proof
@pytest.mark.parametrize("kind", ["csv", "parquet", "qif", "xlsx", "xls", "json lines"])
def test_mutated_folders_are_read_or_refused(kind: str, tmp_path: Path) -> None:
    name, raw, columns = sources()[kind]
    toml = TOML.replace("{file}", name).replace("{columns}", columns).encode()
    chance = random.Random(f"records {kind}")
    outcomes = {"read": 0, "refused": 0}
    lines = {0}
    before = signal.signal(signal.SIGALRM, too_long)
    try:
        for number in range(ROUNDS // 6):
            settings, content = toml, raw
            if number % 4 == 0:
                settings = mutated(toml, chance)
            else:
                content = mutated(raw, chance)
            (tmp_path / "study.toml").write_bytes(settings)
            (tmp_path / name).write_bytes(content)
            signal.alarm(SECONDS)
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("error")
                    accounts = read(open_study(tmp_path)).ledger.accounts
                outcomes["read"] += 1
                for account in accounts:
                    assert account.rows_read == account.rows_used + sum(account.set_aside.values())
            except InputError as refusal:
                outcomes["refused"] += 1
                lines.add(str(refusal).count("\n"))
            except BaseException as error:
                keep = tmp_path.parent / f"kept_{kind}_{number}"
                keep.mkdir(exist_ok=True)
                (keep / "study.toml").write_bytes(settings)
                (keep / name).write_bytes(content)
                raise AssertionError(f"{kind} {number}: {error!r}, kept in {keep.name}") from error
            finally:
                signal.alarm(0)
    finally:
        signal.signal(signal.SIGALRM, before)
    assert sum(outcomes.values()) == ROUNDS // 6
    assert lines == {0}
    # Both ends must have been reached, or the mutation tests nothing.
    assert min(outcomes.values()) > 0
