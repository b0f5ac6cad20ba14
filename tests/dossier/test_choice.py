"""What is shown follows the choice; every finding has its cell in a submission notebook."""

from __future__ import annotations

import ast
from pathlib import Path

import nbformat
import pytest

from linestudy.dossier import Evaluation, choose
from linestudy.results.declared import Declaration, declarations


def test_a_stream_is_shown_by_itself_where_something_is_known_of_it(
    evaluation: Evaluation, cache: Path
) -> None:
    choice = choose(evaluation, subject="stability")
    chart, index, coils = (
        choice.show("stability", with_below=False),
        choice.show("capability", with_below=False),
        choice.show("stability", method="coils"),
    )
    together = [repr(view) for view in (chart, index, coils)]
    stream = choice.streams()[0]
    choice.choose(choice.characteristic, stream)
    own = evaluation.findings.get(choice.characteristic, "streams", stream, "capability")
    assert own is not None
    assert repr(index) == own.statement != together[1]
    assert repr(chart) != together[0]
    # Of coils nothing is known by stream, and that is said.
    assert repr(coils) == f"Of all streams together:\n{together[2]}"
    with pytest.raises(ValueError, match="known of"):
        choice.choose(choice.characteristic, "no such")
    with pytest.raises(KeyError):
        choice.choose("no such")


def test_what_was_not_studied_is_said_by_its_name(evaluation: Evaluation, cache: Path) -> None:
    judged = next(item for item in evaluation.study.characteristics if item.is_attribute)
    choice = choose(evaluation)
    choice.choose(judged.id)
    said = repr(choice.show("gauges", method=("bias", "drift")))
    assert (
        said
        == f"Bias on masters and Drift on a master: not studied for {judged.name}, which is judged."
    )
    assert "of two gauges: not" in repr(choice.show("agreement"))
    assert repr(choice.show_study("nothing_such")) == "Nothing such: not studied here."
    assert "is judged" in repr(choice.view(lambda item: 1 / 0, measured=True))


def shown_by(source: str) -> list[tuple[bool, tuple[str, ...], tuple[str, ...] | None, bool]]:
    """Calls of a cell that show findings: of the study, place, methods, with what lies below."""
    tree = ast.parse(source)
    names = {
        node.targets[0].id: ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.targets[0], ast.Name)
        and isinstance(node.value, ast.Tuple)
        and all(isinstance(part, ast.Constant) for part in node.value.elts)
    }
    found = []
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        if node.func.attr not in ("show", "show_study", "show_findings"):
            continue
        of_study = node.func.attr != "show"
        place = tuple(
            a.value for a in node.args if isinstance(a, ast.Constant) and a.value is not None
        )
        keys = {k.arg: k.value for k in node.keywords}
        method = keys.get("method")
        ends = (
            None
            if method is None
            else names[method.id]
            if isinstance(method, ast.Name)
            else ast.literal_eval(method)
        )
        ends = (ends,) if isinstance(ends, str) else ends
        below = keys.get("with_below")
        found.append((of_study, place, ends, below is None or ast.literal_eval(below)))
    return found


def reached(declared: Declaration, calls: list) -> bool:  # type: ignore[type-arg]
    path = declared.path
    if not declared.of_study and path[0] == "streams":
        # Of one stream: by choosing it, where the same is shown of all.
        path = ("stability",) if path[2] == "chart" else (
            ("gauges", "{gauge}", "crossed") if path[2] == "crossed" else
            ("capability",) if path[2] == "capability" else ("capability", path[2])
        )  # fmt: skip
    return any(
        of_study == declared.of_study
        and path[: len(place)] == place
        and (below or path == place)
        and (ends is None or path[-1] in ends)
        for of_study, place, ends, below in calls
    )


def test_every_finding_has_a_cell_that_shows_it(root: Path) -> None:
    calls = []
    for file in sorted((root / "notebooks" / "submission").glob("*.ipynb")):
        for cell in nbformat.read(file, as_version=4).cells:
            if cell.cell_type == "code":
                calls += shown_by(cell.source)
    all_of = declarations("gauges", "stability", "shape", "capability", "verdict", "dossier")
    assert len(all_of) > 60
    assert [d.key for d in all_of if not reached(d, calls)] == []
    # The check can fail: without its cell a finding is missed.
    without = [call for call in calls if call[2] != ("conformity_risk",)]
    assert [d.key for d in all_of if not reached(d, without)] == ["gauges.{gauge}.conformity_risk"]
