"""Names on offer to a customer's form."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from linestudy import evaluate
from linestudy.cli import main
from linestudy.dossier.content.sheet import BLANK, sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.forms.customer.names import OF_CHARACTERISTIC, OF_STUDY, listed, on_offer
from linestudy.gauges.judgement.grades import GRADES, GradedStudy


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


def test_judgements_go_into_a_form_too(evaluation: Evaluation) -> None:
    values = on_offer(evaluation)
    study = evaluation.findings.get("appearance", "attribute")
    assert values["appearance.miss_rate"] == round(
        100 * max(rate.estimate for rate in study.miss.values()), 1
    )
    lowest = min(kappa.estimate for kappa in study.kappa_with_reference.values())
    assert values["appearance.kappa"] == round(lowest, 2)
    assert values["appearance.kappa_between"] == round(study.kappa_between.estimate, 2)
    assert values["appearance.graded_kappa"] == values["blade.miss_rate"] == BLANK


def test_grades_go_into_a_form_too(tmp_path: Path) -> None:
    """Nobody errs but one, once, by a grade; kappas of a perfect appraiser are one by definition."""
    rows = [
        (part, who, trial, "ABC"[part % 3], "ABC"[part % 3])
        for part in range(30)
        for who in ("Ada", "Ben")
        for trial in (1, 2)
    ]
    rows[-1] = (29, "Ben", 2, "B", "C")
    text = "p,o,t,j,r\n" + "\n".join(",".join(map(str, row)) for row in rows)
    (tmp_path / "eye.csv").write_text(text, encoding="utf-8")
    (tmp_path / "study.toml").write_text(_GRADED, encoding="utf-8")
    found = evaluate(tmp_path, progress=lambda stage: None)
    values, graded = on_offer(found), found.findings.get("burr", *GRADES.at())
    assert isinstance(graded, GradedStudy)
    assert values["burr.graded_kappa"] == round(graded.kappa_with_reference["Ben"].estimate, 2) < 1
    assert values["burr.graded_kappa_between"] == round(graded.kappa_between.estimate, 2) < 1
    assert values["burr.concordance"] == round(graded.concordance.w, 2)


_GRADED = """format = 1
[study]
title = "Burr"
part = "A"
[[characteristic]]
id = "burr"
name = "Burr"
[[data]]
role = "attribute"
characteristic = "burr"
file = "eye.csv"
part = "p"
appraiser = "o"
trial = "t"
judgement = "j"
reference = "r"
grades = ["A", "B", "C"]
accept = ["A", "B"]
"""
