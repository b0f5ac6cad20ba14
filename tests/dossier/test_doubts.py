"""What the console says beside the table is said once, and of many characteristics in one line."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from linestudy.dossier.doubts import causes_without_points, covers_a_point, reasons
from linestudy.study.events import Cause


def test_a_reason_of_many_characteristics_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    why = "no crossed gauge study"
    known = [
        SimpleNamespace(name=f"Width {n}", decision="cannot be judged", reason=why)
        for n in range(5)
    ]
    known += [SimpleNamespace(name="Gap", decision="does not meet", reason="Ppk 0.90 < 1.33")]
    known += [SimpleNamespace(name="Burr", decision="meets", reason="")]
    monkeypatch.setattr("linestudy.dossier.content.sheet.sheets", lambda _: known)
    monkeypatch.setattr(
        "linestudy.dossier.content.cautions.destinations.for_the_author", lambda _: ()
    )
    evaluation: Any = SimpleNamespace(study=SimpleNamespace(file=SimpleNamespace(cause=())))
    assert reasons(evaluation) == (
        f"Width 0 and 4 others: cannot be judged: {why}",
        "Gap: does not meet: Ppk 0.90 < 1.33",
        "",
    )
    del known[2:5]
    assert reasons(evaluation)[0] == f"Width 0 and Width 1: cannot be judged: {why}"


def study_with(causes: list[Cause], points: dict[str, list[float]]) -> Any:
    """A study in whose charts points out of control begin at these order numbers."""

    def verdict(name: str, _: str) -> Any:
        found = [SimpleNamespace(order=order) for order in points[name]]
        return SimpleNamespace(facts=SimpleNamespace(process=SimpleNamespace(points=found)))

    items = {name: SimpleNamespace(id=name, name=name.upper()) for name in points}
    study = SimpleNamespace(
        characteristics=tuple(items.values()),
        characteristic=items.__getitem__,
        file=SimpleNamespace(cause=tuple(causes)),
    )
    return SimpleNamespace(study=study, findings=SimpleNamespace(get=verdict))


def cause(**where: Any) -> Cause:
    return Cause(cause="feed slipped", action="guide replaced", by="NN", **where)


@pytest.mark.parametrize(
    ("where", "said"),
    [
        ({"at": 501}, ""),
        ({"first": 490, "last": 510}, ""),
        ({"at": 501, "characteristic": "w"}, ""),
        # The third part of the subgroup, and a stroke that the run does not have.
        ({"at": 503}, "(at 503) covers no point out of control: the nearest begins at 501."),
        ({"at": 99_999}, "(at 99,999) covers no point out of control: the nearest begins at 801."),
        (
            {"first": 700, "last": 790, "characteristic": "w"},
            "(700 to 790) covers no point out of control: the nearest begins at 501.",
        ),
        (
            {"at": 501, "characteristic": "e"},
            "(at 501) covers no point out of control: there is none.",
        ),
    ],
)
def test_a_cause_that_covers_no_point_is_named(where: dict[str, Any], said: str) -> None:
    points = {"w": [101.0, 501.0], "v": [801.0], "e": []}
    known = study_with([cause(**where)], points)
    assert covers_a_point(known, known.study.file.cause[0]) == (not said)
    found = causes_without_points(known)
    assert len(found) == bool(said)
    for name, sentence in found:
        assert said in sentence
        assert name == where.get("characteristic", "all").replace("w", "W").replace("e", "E")
