"""The page of keys and the schema of results.json, held against the code and against dossiers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from linestudy.dossier import keys
from linestudy.dossier.evaluation import Evaluation
from linestudy.results.declared import declaration_of, declarations

HERE = Path(keys.__file__).parent


def test_page_and_schema_are_those_of_the_code() -> None:
    for name, text in keys.written().items():
        assert (HERE / name).read_text(encoding="utf-8") == text, (
            f"{name} is not what the classes say; run python -m linestudy.dossier.keys"
        )


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(keys.schema())
    assert set(keys.schema()["properties"]) >= {"format", "characteristics", "verdict"}


@pytest.mark.parametrize("which", ["evaluation", "starter"])
def test_results_follow_their_schema(which: str, request: pytest.FixtureRequest) -> None:
    evaluation: Evaluation = request.getfixturevalue(which)
    results = json.loads(json.dumps(evaluation.results()))
    validator = jsonschema.Draft202012Validator(keys.schema())
    wrong = [
        f"{'.'.join(map(str, error.absolute_path))}: {error.message[:120]}"
        for error in validator.iter_errors(results)
    ]
    assert wrong == []


def test_a_wrong_value_is_found(starter: Evaluation) -> None:
    results = json.loads(json.dumps(starter.results()))
    key = next(iter(results["characteristics"]))
    results["characteristics"][key]["capability"]["Ppk"]["low"] = "1.5"
    assert not jsonschema.Draft202012Validator(keys.schema()).is_valid(results)


@pytest.mark.parametrize("which", ["evaluation", "starter"])
def test_every_finding_is_declared_and_every_key_described(
    which: str, request: pytest.FixtureRequest
) -> None:
    evaluation: Evaluation = request.getfixturevalue(which)
    undeclared, undescribed = set(), set()
    for place, finding in evaluation.findings.items():
        declared = declaration_of(place.path, of_study=place.characteristic is None)
        if declared is None:
            undeclared.add(".".join(place.path))
            continue
        record = finding.record()
        if "absent" in record:
            continue
        known = {key.name: key for key in keys.keys_of(declared.finding)}
        undescribed |= {
            f"{declared.key}.{name}"
            for name in set(record) - {"statement", "cautions"}
            if name not in known or not _told(known[name], name)
        }
    assert undeclared == set()
    assert sorted(undescribed) == []


def _told(key: keys.Key, name: str) -> bool:
    """A key that says itself what it is, or is described."""
    return bool(key.meaning or key.formula) or name in ("unit", "lower", "upper", "n")


def test_declared_places_are_told_apart() -> None:
    places: dict[Any, str] = {}
    for item in declarations(*keys.PACKAGES):
        pattern = (item.of_study, tuple("*" if p.startswith("{") else p for p in item.path))
        assert places.setdefault(pattern, item.key) == item.key
