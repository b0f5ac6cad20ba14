"""The picture of a measurement system shows what the rules were decided on."""

from __future__ import annotations

from linestudy.dossier.content.blocks import Album, Bullets, Image
from linestudy.dossier.content.report.adequacy import measurement, said
from linestudy.dossier.content.sheet import sheets
from linestudy.dossier.evaluation import Evaluation


def test_shares_are_those_of_the_facts(evaluation: Evaluation) -> None:
    for sheet in sheets(evaluation):
        blocks = measurement(evaluation, sheet, Album())
        drawn = [b for b in blocks if isinstance(b, Image) and "measurement errors" in b.question]
        if sheet.grr == "–":
            assert not drawn
            continue
        assert f"GRR: {sheet.grr} %" in drawn[0].alt


def test_rules_without_evidence_say_nothing_to_the_customer(evaluation: Evaluation) -> None:
    blade = sheets(evaluation)[0]
    told = said(blade, "measurement system")
    assert told
    silent = [r.reason for r in blade.verdict.rulings if r.effect == "no evidence"]
    assert silent
    assert not set(silent) & set(told)
    assert any(isinstance(b, Bullets) for b in measurement(evaluation, blade, Album()))
