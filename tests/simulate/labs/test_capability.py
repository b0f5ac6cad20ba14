"""Labs and their exercises: the right answer passes, wrong ones get their hint; sliders draw anew."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from linestudy.simulate import check, labs, play
from linestudy.simulate.exercises.calculations import (
    A_SHARE,
    EXERCISES,
    NO_SHARE,
    OTHER_SIGN,
    OTHER_WAY,
)
from linestudy.simulate.labs.experiment import Experiment

ALL = [(lab, number + 1) for lab, items in EXERCISES.items() for number in range(len(items))]


@pytest.mark.parametrize(("lab", "number"), ALL)
def test_the_right_answer_passes(lab: str, number: int) -> None:
    item = EXERCISES[lab][number - 1]
    reply = check(lab, number, item.answer())
    assert reply.right
    assert reply.text == item.why


@pytest.mark.parametrize(("lab", "number"), ALL)
def test_wrong_answers_get_a_hint_and_not_the_solution(lab: str, number: int) -> None:
    item = EXERCISES[lab][number - 1]
    right = item.answer()
    seen = set()
    tried = [
        right * f + a for f, a in ((0.5, 0.0), (2.0, 0.0), (-1.0, 0.0), (1.0, 3.0), (0.0, 5.0))
    ]
    tried += [
        1 / right if right else 7.0,
        0.0,
        1.5,
        1.96,
        2.0,
        3.25,
        5.0,
        7.0,
        30.0,
        50.0,
        95.0,
        100.0,
        109.0,
        190.0,
        370.4,
    ]
    for wrong in tried:
        reply = check(lab, number, wrong)
        if reply.right:
            continue
        seen.add(reply.text)
        slips = {A_SHARE, NO_SHARE, OTHER_SIGN, OTHER_WAY}
        assert reply.text in {*(hint for _, hint in item.hints), item.otherwise} | slips
        assert f"{right:g}" not in reply.text or right in (0.0, 1.0, 4.0, 5.0, 10.0)
    # At least one of the hints meant for a known wrong thought, and the general one.
    assert len(seen) >= 2


def test_an_empty_cell_asks_the_question() -> None:
    assert check("size", 1, None).text == EXERCISES["size"][0].question


@pytest.mark.parametrize("name", labs.__all__)
def test_every_lab_has_a_table_a_sentence_and_a_picture(name: str) -> None:
    if name == "play":
        return
    found = getattr(labs, name)()
    assert len(found.shown()) >= 2
    assert found.statement.endswith(".")
    assert found.figure().alt_text
    # ISO 80000-1: a space between a number and its per cent sign, for who hears it read too.
    assert not re.search(r"\d%", found.alt_text)
    assert getattr(labs, name)().numbers == found.numbers


def test_a_slider_draws_the_picture_anew() -> None:
    box = play(labs.sample_size_before_the_run, true_index=(1.7, 3.0, 0.1))
    slider, place = box.children[0].children[0], box.children[1]
    before = place.value
    slider.value = 2.5
    assert place.value != before
    assert "<img" in place.value
    assert not re.search(r"\d%", re.sub(r"<[^>]*>", "", place.value))
    with pytest.raises(TypeError, match="colour"):
        play(labs.sample_size_before_the_run, colour=(1, 2, 1))


def test_where_a_slider_leaves_nothing_to_say_that_is_said() -> None:
    # Nearly all parts were sorted out: what was before, nobody can tell.
    box = play(labs.good_because_sorted, limit=(0.5, 3.0, 0.1))
    before = box.children[1].value
    box.children[0].children[0].value = 0.5
    assert "Nothing can be said here" in box.children[1].value != before
    assert "rejected parts would settle it" in box.children[1].value


def test_a_pinned_run_stays_below_the_next_ones() -> None:
    box = play(labs.range_against_s, size=(2, 25, 1))
    (slider, pin), place = box.children[0].children, box.children[1]
    first = place.value
    pin.value = True
    assert place.value == first
    slider.value = 10
    assert place.value.endswith(first)
    assert "Pinned: size = 5" in place.value
    slider.value = 20
    assert place.value.count("Pinned") == 1
    assert place.value.endswith(first)
    # What is exported names the sliders, not the button.
    assert "<p>size = 20</p>" in box._repr_mimebundle_()["text/html"]
    pin.value = False
    assert "Pinned" not in place.value


def test_the_old_name_of_the_lab_on_neighbours_still_works() -> None:
    with pytest.warns(DeprecationWarning, match="'why_neighbours_overstate_cpk'"):
        assert labs.why_neighbours_flatter is labs.why_neighbours_overstate_cpk  # type: ignore[attr-defined]


@pytest.mark.parametrize("lab", [labs.what_an_interval_is, labs.why_neighbours_overstate_cpk])
def test_a_lab_draws_into_axes_of_ones_own(lab: Callable[..., Experiment]) -> None:
    from matplotlib.figure import Figure

    left, right = Figure().subplots(1, 2)
    found = lab()
    assert found.plot(left) is left
    assert left.get_title(loc="left")
    assert left.lines
    assert not right.lines


@pytest.mark.parametrize("n", [10, 300])
def test_intervals_between_those_of_a_grid_are_exact_enough(n: int) -> None:
    import numpy as np

    from linestudy.capability.indices import cpk
    from linestudy.simulate.labs.capability import _intervals

    best = np.random.default_rng(2).normal(1.33, 1.33 / np.sqrt(2 * n), 400)
    found = _intervals(best, n, 0.95)
    for at in (0, 7, 200, int(best.argmax())):
        exact = cpk(-3 * best[at], 1.0, n=n, df=n - 1, lower=None, upper=0.0)
        # A thousandth of the interval is less than a pixel.
        assert abs(found[at].low - exact.low) < 1e-3 * (exact.high - exact.low)
        assert abs(found[at].high - exact.high) < 1e-3 * (exact.high - exact.low)


def test_the_mistake_is_in_the_picture_of_the_folded_values() -> None:
    axes = labs.non_normal_is_not_wrong().figure().axes[0]
    names = [text.get_text() for text in axes.get_legend().get_texts()]
    assert {"folded normal", "taken as normal"} <= set(names)
