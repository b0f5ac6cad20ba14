"""Lists that are changed redraw everything shown below them, once."""

from __future__ import annotations

from pathlib import Path

from linestudy.dossier import Evaluation, choose


def test_lists_redraw_what_is_shown(evaluation: Evaluation, cache: Path) -> None:
    choice = choose(evaluation)
    drawn: list[str] = []

    class Handle:
        def update(self, shown: object) -> None:
            drawn.append(repr(shown))

    from linestudy.dossier.choice_lists import Lists

    choice._lists = lists = Lists(choice)
    for key in ("shape", "verdict"):
        view = choice.show(key)
        choice._shown[view.key] = (Handle(), view)
    other = evaluation.study.characteristics[1]
    lists.about.value = other.id
    assert choice.characteristic == other.id
    assert len(drawn) == 2
    assert other.name in drawn[1]
    lists.stream.value = choice.streams()[0]
    assert len(drawn) == 4
    # A characteristic without that stream takes all together; nothing is drawn twice.
    judged = next(item for item in evaluation.study.characteristics if item.is_attribute)
    lists.about.value = judged.id
    assert choice.stream == ""
    assert len(drawn) == 6
    assert lists.stream.disabled
    assert f"characteristic: {judged.name}" in lists.panel._repr_mimebundle_()["text/html"]
