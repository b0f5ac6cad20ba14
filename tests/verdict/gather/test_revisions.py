"""Limits, units, class and criteria held against an earlier revision's results."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from linestudy import open_study, start_study
from linestudy.results import InputError
from linestudy.verdict.gather.revisions import changes_since

BEFORE: dict[str, Any] = {
    "study": {"revision": "A", "confidence": 0.99},
    "characteristics": {
        "width": {
            "unit": "mm",
            "lower": 2.76,
            "upper": None,
            "verdict": {
                "facts": {"special": True},
                "rules": [
                    {"criterion": {"key": "capability_accept", "value": 2.0}},
                    {"criterion": {"key": "decide_capability_on", "value": "lower bound"}},
                ],
            },
        }
    },
}


def opened(folder: Path, content: Any) -> Any:
    place = Path(start_study(folder / "s"))
    text = (place / "study.toml").read_text()
    text = text.replace("[study]", '[study]\nearlier = "earlier.json"', 1)
    (place / "study.toml").write_text(text)
    (place / "earlier.json").write_text(
        content if isinstance(content, str) else json.dumps(content)
    )
    return open_study(place)


def test_every_change_is_told_and_those_that_ask_for_less(tmp_path: Path) -> None:
    study = opened(tmp_path, BEFORE)
    item = study.characteristics[0]
    assert item.id == "width"
    revision, changed, relaxed = changes_since(study, item)
    assert revision == "revision A"
    assert any(text.startswith("lower limit 2.76 became") for text in changed)
    assert any(text.startswith("upper limit none became") for text in changed)
    assert not any(text.startswith("upper limit") for text in relaxed)
    assert "confidence 99% became 95%" in relaxed
    assert "criterion capability_accept = 2.0 became 1.67" in relaxed
    assert "criterion decide_capability_on = lower bound became estimate" in relaxed


def test_a_characteristic_that_is_new_is_told(tmp_path: Path) -> None:
    study = opened(tmp_path, {"study": {"revision": "A"}, "characteristics": {}})
    assert "was not in it" in changes_since(study, study.characteristics[0])[1][0]


@pytest.mark.parametrize("content", ["{", "[]", '{"study": 1, "characteristics": {}}'])
def test_another_file_is_refused_in_words(content: str, tmp_path: Path) -> None:
    study = opened(tmp_path, content)
    with pytest.raises(InputError, match=r"results\.json of a dossier"):
        changes_since(study, study.characteristics[0])


def test_without_an_earlier_revision_nothing_is_compared(tmp_path: Path) -> None:
    study = open_study(start_study(tmp_path / "s"))
    assert changes_since(study, study.characteristics[0]) == ("", (), ())
