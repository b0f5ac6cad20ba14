"""A form as people hand it in means what it would mean as it was to be written."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from linestudy.simulate.practice.as_typed import as_toml
from linestudy.simulate.practice.decision_form import Form, empty_form, read_form

FAULT = """
[[fault]]
kind = "tool_wear"
about = "width"
where = ""
number = "0,0012"
ask = "cause"
reason = "the mean moves by 0,0012 mm, and läuft"
"""
DECIDED = empty_form().replace('decision = ""', 'decision = "does not meet"') + FAULT


def _read(tmp_path: Path, raw: bytes) -> Form:
    file = tmp_path / "decisions.toml"
    file.write_bytes(raw)
    return read_form(file)


def _from_a_spreadsheet(text: str, delimiter: str, blanks: int = 0) -> str:
    """Every line in the first cell of its row, as a spreadsheet program saves it."""
    out = io.StringIO()
    rows = ([line, *[""] * blanks] for line in text.split("\n"))
    csv.writer(out, delimiter=delimiter).writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize(
    "raw",
    [
        b"\xef\xbb\xbf" + DECIDED.replace("\n", "\r\n").encode(),
        DECIDED.encode("utf-16"),
        DECIDED.encode("cp1252", errors="replace"),
        DECIDED.replace('"', "“").encode(),
        DECIDED.replace('"', "").encode(),
        DECIDED.replace('"does not meet"', "Does not meet.").encode(),
        DECIDED.replace('"does not meet"', "'does_not_meet'").encode(),
        DECIDED.replace("tool_wear", "Tool wear").replace('"width"', '"Width"').encode(),
        DECIDED.replace('"0,0012"', "0,0012").encode(),
        DECIDED.replace('[[fault]]\nkind = "tool', '# [[fault]]\nkind = "tool').encode(),
        DECIDED.replace('meet"', 'meet",').replace("does not", "doesn’t").encode(),
        DECIDED.replace("by 0,0012 mm, ", "by 0,0012 mm,\n").encode(),
        _from_a_spreadsheet(DECIDED, ",").encode(),
        _from_a_spreadsheet(DECIDED, ";", blanks=3).encode(),
        _from_a_spreadsheet(DECIDED, "\t", blanks=1).encode("utf-16"),
    ],
)
def test_a_form_is_read_however_it_was_saved(raw: bytes, tmp_path: Path) -> None:
    meant = _read(tmp_path, DECIDED.encode())
    assert meant.faults[0].number == 0.0012
    assert set(meant.decisions.values()) == {"does not meet"}
    assert _read(tmp_path, raw) == meant


def test_what_is_toml_stays_as_it_is() -> None:
    text = 'a = 1\n[decision.width]\nreason = "Ppk 1.2 # of 1.67"  # remark\n# decision = meets'
    assert as_toml(text.encode()) == text
    assert as_toml(b"decision =") == 'decision = ""'
    assert as_toml(b"reason = Ppk 1.2 # remark") == 'reason = "Ppk 1.2"'
