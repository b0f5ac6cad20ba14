"""Certificates that had run out: told with days, by the clock of the run or the date of the study."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from linestudy import open_study, read, start_study
from linestudy.dossier.content.cautions.destinations import destination
from linestudy.gauges import evaluate
from linestudy.gauges.budget.certificates import certified_together, day_of, measured_on, run_out


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    start_study(tmp_path / "s")
    toml = tmp_path / "s" / "study.toml"
    text = toml.read_text(encoding="utf-8")
    text = (
        text.replace("[study]", '[study]\ndate = "2026-03-02"', 1) if "date =" not in text else text
    )
    text += '\n[[master]]\nname = "Pin 2.6"\ndue = "2026-01-31"\n'
    text += '\n[[master]]\nname = "Pin 2.8"\ngauge = "camera"\ndue = "next spring"\n'
    toml.write_text(text, encoding="utf-8")
    return tmp_path / "s"


def test_what_ran_out_is_told(folder: Path) -> None:
    study = open_study(folder)
    records = read(study)
    item = study.characteristics[0]
    said = run_out(study, item.id, "camera", date(2026, 3, 2))
    assert "was due on 2026-01-31, 30 days before the study" in said[0]
    assert (
        said[1] == 'The due date "next spring" of Pin 2.8 cannot be read; write it as 2026-12-31.'
    )
    assert [destination(text)[0] for text in said] == ["rule", "author"]
    when = measured_on(study, records, item)
    budget = evaluate(study, records).get(item.id, "gauges", "camera", "uncertainty")
    assert when is not None
    assert (said[0].split(",")[0] in budget.cautions[0]) == (when > date(2026, 1, 31))


def test_what_still_holds_is_not_told(folder: Path) -> None:
    study = open_study(folder)
    key = study.characteristics[0].id
    assert len(run_out(study, key, "camera", date(2026, 1, 31))) == 1
    assert len(run_out(study, key, "camera", None)) == 1


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-12-31", date(2026, 12, 31)),
        (" 31.12.2026", date(2026, 12, 31)),
        ("12/31/2026", None),
        (None, None),
    ],
)
def test_days_as_people_write_them(text: str | None, day: date | None) -> None:
    assert day_of(text) == day


@pytest.mark.parametrize(
    ("certificates", "together"),
    [(("A 17", "a 17"), True), (("A 17", "A 18"), False), (("A 17", None), False), ((), False)],
)
def test_masters_on_one_certificate_are_certified_together(
    certificates: tuple[str | None, ...], together: bool
) -> None:
    masters = [
        SimpleNamespace(certificate=one, characteristic=None, gauge="camera")
        for one in certificates
    ]
    study = cast(Any, SimpleNamespace(file=SimpleNamespace(master=masters)))
    assert certified_together(study, "gap", "camera") is together
    assert certified_together(study, "gap", "cmm") is False
