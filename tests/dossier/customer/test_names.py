"""Names on offer to a customer's form."""

from __future__ import annotations

import re

import pytest

from linestudy.cli import main
from linestudy.dossier.content.sheet import sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.forms.customer.names import OF_CHARACTERISTIC, OF_STUDY, listed, on_offer


def test_every_name_has_a_value_and_it_is_the_documents(evaluation: Evaluation) -> None:
    values = on_offer(evaluation)
    known = sheets(evaluation)
    assert len(values) == len(OF_STUDY) + len(known) * len(OF_CHARACTERISTIC)
    for one in known:
        assert values[f"{one.item.id}.decision"] == one.decision
        for name in ("mean", "sd", "Ppk", "ndc", "grr"):
            value, text = values[f"{one.item.id}.{name}"], getattr(one, name)
            assert value == text or value == float(text.replace(",", ""))
    assert values["blade.upper"] == 2.85
    assert values["blade.special"] == "yes"
    assert values["study.made"] == 31_200.0
    assert values["study.drawing"] == "QC-28-100"
    assert values["study.contact"] == ""


def test_the_list_shows_every_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["help", "form"]) == 0
    said = capsys.readouterr().out
    assert said.strip() == listed().strip()
    assert set(re.findall(r"^  study\.(\w+) ", said, re.MULTILINE)) == set(OF_STUDY)
    assert set(re.findall(r"^  ID\.(\w+) ", said, re.MULTILINE)) == set(OF_CHARACTERISTIC)
