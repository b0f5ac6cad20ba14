"""The form: empty it decides nothing, filled in it is read as people write, and what is in no list is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.results import InputError
from linestudy.simulate.practice import KINDS
from linestudy.simulate.practice.form import DECIDED, Form, empty_form, read_form


def _read(tmp_path: Path, text: str) -> Form:
    file = tmp_path / "decisions.toml"
    file.write_text(text, encoding="utf-8")
    return read_form(file)


def test_empty_it_names_every_kind_and_decides_nothing(tmp_path: Path) -> None:
    text = empty_form()
    assert all(f"#   {kind} " in text for kind in KINDS)
    form = _read(tmp_path, text)
    assert form.decisions == dict.fromkeys(DECIDED, "")
    assert form.faults == ()


def test_numbers_as_people_write_them(tmp_path: Path) -> None:
    fault = '[[fault]]\nkind = "bias"\nabout = "width"\nnumber = {}\n'
    for written, meant in (
        ('"0,0125 mm"', 0.0125),
        ("0.0125", 0.0125),
        ('"−3 %"', -3.0),
        ('""', None),
    ):
        form = _read(tmp_path, fault.format(written))
        assert form.faults[0].number == meant


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[[fault]]\nkind = "baas"\nabout = "width"', "bias"),
        ('[[fault]]\nkind = "bias"\nabout = "widht"', "width"),
        ('[decision.width]\ndecision = "good"', "not in the list"),
        ('[fault]\nkind = "bias"', r"\[\[fault\]\]"),
        ("decision = 3", "no table"),
        ("x = ", "not valid TOML"),
    ],
)
def test_what_is_in_no_list_is_told(text: str, told: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=told):
        _read(tmp_path, text)
