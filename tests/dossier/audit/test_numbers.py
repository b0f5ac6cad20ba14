"""Two results.json side by side: nothing is passed over, and each difference is named with its place."""

from __future__ import annotations

import copy
import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.dossier.audit.numbers import (
    ABSENT,
    compare,
    difference,
    dotted,
    leaf,
    leaves,
    package_of,
    shown,
)

RESULTS: dict[str, Any] = {
    "format": 2,
    "study": {"title": "Blade", "seed": 7},
    "characteristics": {
        "a": {
            "lower": 6.0,
            "upper": 6.2,
            "capability": {"mean": 6.1, "n": 125, "flag": True, "none": None, "list": [1.5, 2.5]},
            "shape": {"family": "normal"},
        }
    },
}
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.floats(-5, 5) | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=8,
)


def put(path: tuple[Any, ...], value: Any) -> dict[str, Any]:
    changed = copy.deepcopy(RESULTS)
    branch: Any = changed
    for key in path[:-1]:
        branch = branch[key]
    branch[path[-1]] = value
    return changed


CAPABILITY = ("characteristics", "a", "capability")


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ((*CAPABILITY, "mean"), 6.1 * (1 + 3e-7)),
        ((*CAPABILITY, "mean"), "6.1"),
        ((*CAPABILITY, "mean"), None),
        ((*CAPABILITY, "n"), 126),
        # A count is no number with decimals, nor a truth value one.
        ((*CAPABILITY, "n"), 125.0),
        ((*CAPABILITY, "flag"), 1),
        ((*CAPABILITY, "none"), 0.0),
        ((*CAPABILITY, "list"), [1.5]),
        ((*CAPABILITY, "list"), {"0": 1.5, "1": 2.5}),
        ((*CAPABILITY, "more"), 1.0),
        (("study",), "Blade"),
    ],
)
def test_whatever_is_changed_is_a_difference(path: tuple[str, ...], value: Any) -> None:
    for one, other in ((put(path, value), RESULTS), (RESULTS, put(path, value))):
        found = compare(one, other)
        assert found.differences
        assert all(item.place.startswith(dotted(path)) for item in found.differences)
        assert not found.near


def test_last_digits_are_near_and_words_are_held_apart() -> None:
    path = (*CAPABILITY, "mean")
    found = compare(put(path, 6.1 * (1 + 1e-9)), RESULTS)
    assert found.differences == []
    assert found.near == {path: 6.1 * (1 + 1e-9)}
    family = ("characteristics", "a", "shape", "family")
    found = compare(put(family, "gamma"), RESULTS)
    assert (found.differences, found.words) == ([], [family])


@pytest.mark.proof
@given(JSON, JSON)
def test_only_the_same_has_nothing_to_tell(one: Any, other: Any) -> None:
    left, right = {"x": one}, {"x": other}
    found = compare(left, right)
    told = found.differences or found.words or found.near
    assert bool(told) == (json.dumps(left, sort_keys=True) != json.dumps(right, sort_keys=True))


def test_every_value_is_counted_once_in_its_room() -> None:
    found = compare(RESULTS, copy.deepcopy(RESULTS))
    assert sum(found.compared.values()) == len(list(leaves(RESULTS))) == 12
    assert found.compared == {
        "format": 1,
        "study": 2,
        "characteristic": 2,
        "capability": 6,
        "shape": 1,
    }


@pytest.mark.parametrize(
    ("place", "room"),
    [
        ("characteristics.a.capability.Ppk.low", "capability"),
        ("characteristics.a.nominal", "characteristic"),
        ("characteristics.a", "characteristics"),
        ("verdict.decisions.a", "verdict"),
        ("joint.share", "joint"),
    ],
)
def test_a_place_belongs_to_a_room(place: str, room: str) -> None:
    assert package_of(place) == room


@pytest.mark.parametrize(
    ("old", "new", "relative"),
    [
        (1.0, 1.5, 1 / 3),
        (-1.0, 1.0, 2.0),
        (0, 0.0, 0.0),
        (10**400, 1.5, math.inf),
        (10**400, 2 * 10**400, 0.5),
        (True, 2.0, None),
        ("1.0", 2.0, None),
        (ABSENT, 2.0, None),
    ],
)
def test_how_far_two_values_are_apart(old: Any, new: Any, relative: float | None) -> None:
    assert difference(("a", 0), old, new).relative == pytest.approx(relative)
    assert difference(("a", 0), old, new).place == "a.0"


def test_a_value_is_shown_on_one_line() -> None:
    assert shown(ABSENT) == "nothing"
    assert shown("a\nb") == '"a\\nb"'
    assert len(shown("x" * 500)) == 118
    assert shown("é") == '"\\u00e9"'


def test_a_path_finds_its_leaf_and_nothing_else() -> None:
    for path, value in leaves(RESULTS):
        assert leaf(RESULTS, path) == value
    for path in (("no",), (*CAPABILITY, "list", 2), (*CAPABILITY, "n", 0), ("study", "title", 0)):
        assert leaf(RESULTS, path) is ABSENT
