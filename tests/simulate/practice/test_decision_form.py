"""The form: empty it decides nothing, filled in it is read as people write, and what is in no list is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.results import InputError
from linestudy.simulate.practice import KINDS
from linestudy.simulate.practice.decision_form import DECIDED, Form, empty_form, read_form


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
        ('[fault]\nkind = "bias"', "has no about"),
        ("fault = 3\n", "is one table"),
        ("decision = 3", "no table"),
        ("x = ", "not valid TOML"),
    ],
)
def test_what_is_in_no_list_is_told(text: str, told: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=told):
        _read(tmp_path, text)


def test_a_form_typed_in_a_hurry_says_what_it_says(tmp_path: Path) -> None:
    """Other letters, colons for signs, brackets missing, quotes left out, and a table that was copied and left blank."""
    form = _read(
        tmp_path,
        "Student = Mia K.\n\n[Decision.Width]\nDecision: Does Not Meet.\n[decision.burr]\n"
        "decision = meets   # sure\n[Fault]\nKind = TOOL WEAR\nabout: Width \nnumber = -0,004 mm\n"
        'ask = cause\n[[fault]]\nkind = ""\nabout = ""\nnumber = ""\n',
    )
    assert form.student == "Mia K."
    assert form.decisions == {"width": "does not meet", "burr": "meets"}
    (fault,) = form.faults
    assert (fault.kind, fault.about, fault.ask) == ("tool_wear", "width", "cause")
    assert (fault.number, fault.where, fault.reason) == (-0.004, "", "")


def test_a_sentence_with_a_colon_is_no_answer_of_another_key(tmp_path: Path) -> None:
    form = _read(tmp_path, '[decision.width]\nreason = "number: 3 of 5, kind: none"\n')
    assert form.reasons["width"] == "number: 3 of 5, kind: none"
