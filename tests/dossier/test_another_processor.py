"""Last digits accuse nobody: a dossier held against numbers that another processor might have found.

Every recorded number is moved as far as its tolerance allows, which no real processor does to all of them at once,
and decisions and words are formed again. Nothing outside the project says what must come out but the demand itself:
an untouched dossier agrees, and one changed beyond the tolerance does not.
"""

from __future__ import annotations

import json
from pathlib import Path
from random import Random

import pytest

from linestudy.dossier import evaluate, tolerances, write
from linestudy.dossier.audit.adopt import adopted
from linestudy.dossier.audit.numbers import compare, dotted, leaf, leaves
from linestudy.dossier.audit.recomputation import audit
from linestudy.dossier.content.contents import build
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.forms.page import write_page
from linestudy.study import start_study


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Evaluation, Path]:
    folder = start_study(tmp_path_factory.mktemp("processor") / "study")
    evaluation = evaluate(folder)
    return evaluation, write(evaluation, folder.parent / "out")


def moved(evaluation: Evaluation, seed: int, share: float = 0.9) -> Evaluation:
    """The same evaluation with every number moved by at most a share of its tolerance."""
    rng = Random(seed)
    results = json.loads(json.dumps(evaluation.results()))
    near = {}
    for path, value in leaves(results):
        settled = path[0] in ("study", "inputs", "tolerances") or path[-1] in (
            "confidence",
            "nominal",
            "lower",
            "upper",
        )
        if isinstance(value, float) and value and not settled and "verdict" not in path:
            by = tolerances.allowed(dotted(path), value, leaf(results, path[:-1])).by
            near[path] = value + rng.uniform(-share, share) * min(by, abs(value) * 1e-7)
    return adopted(evaluation, near)


def page(evaluation: Evaluation, out: Path) -> str:
    document = build(evaluation)
    write_page(document, dict.fromkeys(document.pictures, b""), out, "foot")
    return out.read_text(encoding="utf-8")


@pytest.mark.proof
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_numbers_within_their_tolerance_accuse_nobody(
    small: tuple[Evaluation, Path], seed: int
) -> None:
    evaluation, dossier = small
    other = moved(evaluation, seed)
    found = compare(
        json.loads(json.dumps(evaluation.results())), json.loads(json.dumps(other.results()))
    )
    assert len(found.near) > 200
    report = audit(dossier, other)
    assert report.agrees, report.details()


@pytest.mark.proof
def test_the_sample_study_too(evaluation: Evaluation, dossier: Path) -> None:
    report = audit(dossier, moved(evaluation, 1))
    assert report.agrees, report.details()


def test_numbers_beyond_their_tolerance_are_named(small: tuple[Evaluation, Path]) -> None:
    evaluation, dossier = small
    path = ("characteristics", "width", "capability", "mean")
    value = leaf(evaluation.results(), path)
    other = adopted(evaluation, {path: value * (1 + 3e-7)})
    report = audit(dossier, other)
    assert [item.place for item in report.differences] == [dotted(path)]


def test_a_page_is_written_from_recorded_numbers(
    small: tuple[Evaluation, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Numbers moved so far that printed digits change: put back, the page is what it was."""
    evaluation, _ = small
    monkeypatch.setattr(tolerances, "OF_INTERVAL", 0.5)
    monkeypatch.setattr(tolerances, "SEARCHED", 0.5)
    monkeypatch.setattr(tolerances, "P_VALUE", 0.5)
    monkeypatch.setattr(tolerances, "FORMULA", 0.5)
    results = json.loads(json.dumps(evaluation.results()))
    rng = Random(5)
    far = {
        path: value * (1 + rng.uniform(-1e-3, 1e-3))
        for path, value in leaves(results)
        if path[0] == "characteristics" and len(path) > 3 and isinstance(value, float)
        if path[-1] != "confidence" and "verdict" not in path
    }
    other = adopted(evaluation, far)
    before = page(evaluation, tmp_path / "a.html")
    assert page(other, tmp_path / "b.html") != before
    found = compare(results, json.loads(json.dumps(other.results())))
    assert page(adopted(other, found.near), tmp_path / "c.html") == before
