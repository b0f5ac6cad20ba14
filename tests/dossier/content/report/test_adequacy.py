"""The picture of a measurement system shows what the rules were decided on."""

from __future__ import annotations

from dataclasses import replace

from linestudy.dossier.content.elements import Album, Bullets, Image
from linestudy.dossier.content.report.adequacy import measurement, said
from linestudy.dossier.content.sheet import Sheet, sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.verdict.rulings import APPROVAL, Ruling


def test_shares_are_those_of_the_facts(evaluation: Evaluation) -> None:
    shown = set()
    for sheet in sheets(evaluation):
        blocks = measurement(evaluation, sheet, Album())
        drawn = [b for b in blocks if isinstance(b, Image) and "measurement errors" in b.question]
        if sheet.grr == "–":
            assert not drawn
            continue
        assert f"GRR: {sheet.grr} %" in drawn[0].alt
        shown.add(sheet.name)
    assert "Blade width" in shown


def test_rules_without_evidence_say_nothing_to_the_customer(evaluation: Evaluation) -> None:
    blade = sheets(evaluation)[0]
    told = said(blade, "measurement system")
    assert told
    silent = [r.reason for r in blade.verdict.rulings if r.effect == "no evidence"]
    assert silent
    assert not set(silent) & set(told)
    assert any(isinstance(b, Bullets) for b in measurement(evaluation, blade, Album()))


def test_what_a_gauge_study_contradicts_itself_in_stands_with_its_results(
    evaluation: Evaluation,
) -> None:
    blade = sheets(evaluation)[0]
    doubt = Ruling(
        "names of parts and people",
        APPROVAL,
        "Parts whose names may mean one count as several: 3, 03.",
        None,
        "record",
    )
    doubted = replace(
        blade, verdict=replace(blade.verdict, rulings=(*blade.verdict.rulings, doubt))
    )

    def told(sheet: Sheet) -> str:
        blocks = measurement(evaluation, sheet, Album())
        return " ".join(str(item) for b in blocks if isinstance(b, Bullets) for item in b.items)

    assert doubt.reason in told(doubted)
    assert "differs as independent readings do" not in told(blade)
