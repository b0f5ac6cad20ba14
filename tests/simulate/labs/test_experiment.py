"""What a lab shows beside its sliders: the picture on top, what cannot be said in words, a run that was pinned."""

from __future__ import annotations

from typing import Any

import pytest

from linestudy.results import CannotJudge
from linestudy.simulate.labs.experiment import Experiment, _shown, play


def picture(ax: Any) -> Any:
    from linestudy.figures.style import picture as blank

    return blank("How large is it?", ax=ax)[0]


def lab(size: int = 3, share: float = 0.5, kind: str = "plain") -> Experiment:
    if size == 0:
        raise CannotJudge("A size of <nought> says nothing.")
    return Experiment(
        f"Of size {size}, share {share:g}, {kind}.", {"size": size}, (("size", str(size)),), picture
    )


def test_it_says_its_sentence_and_has_its_rows() -> None:
    found = lab(4)
    assert found.statement == "Of size 4, share 0.5, plain."
    assert found.table().to_numpy().tolist() == [["size", "4"]]
    (axes,) = found.figure().axes
    assert axes.get_title(loc="left") == "How large is it?"
    assert "draw" not in found.record()


def test_the_picture_is_that_of_a_finding_where_one_is_handed() -> None:
    inner = lab(5)
    outer = Experiment("As before.", {}, (), inner)
    assert outer.figure().axes[0].get_title(loc="left") == "How large is it?"


def test_what_moves_is_on_top_and_the_table_below() -> None:
    page = _shown(lab, {"size": 4, "kind": "a & b"})
    at = [page.find(part) for part in ("<img", "Of size 4, share 0.5, a &amp; b", "<table")]
    assert -1 not in at
    assert at == sorted(at)


def test_data_that_say_nothing_are_told_in_words() -> None:
    page = _shown(lab, {"size": 0})
    assert "Nothing can be said here." in page
    assert "size of &lt;nought&gt; says nothing" in page


def test_a_slider_is_of_the_kind_of_its_default() -> None:
    sliders = (
        play(lab, size=(1, 9, 1), share=(0.0, 1.0, 0.1), kind=["plain", "fancy"])
        .children[0]
        .children
    )
    assert [type(s).__name__ for s in sliders] == [
        "IntSlider",
        "FloatSlider",
        "Dropdown",
        "ToggleButton",
    ]
    assert [s.value for s in sliders] == [3, 0.5, "plain", False]
    assert (sliders[0].min, sliders[0].max) == (1, 9)
    assert sliders[1].description == "share"


def test_an_argument_that_the_lab_has_not_is_told_by_name() -> None:
    with pytest.raises(TypeError, match="lab has no colour, width"):
        play(lab, width=(1, 2, 1), colour=["red"])


def shown(box: Any) -> str:
    """All text of a panel."""
    if hasattr(box, "value") and isinstance(box.value, str):
        return str(box.value)
    return "".join(map(shown, getattr(box, "children", ())))


def test_a_pinned_run_stays_below_the_next_ones_until_it_is_let_go() -> None:
    box = play(lab, size=(1, 9, 1))
    slider, pin = box.children[0].children
    pin.value = True
    slider.value = 7
    page = shown(box)
    assert page.index("Of size 7") < page.index("Pinned: size = 3") < page.index("Of size 3")
    pin.value = False
    assert "Pinned" not in shown(box)
    assert "Of size 3" not in shown(box)
