"""Recorded numbers in the place of recomputed ones: each where it stands, nothing else, and the original untouched."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
import pytest

from linestudy.dossier.audit.adopt import _Walk, adopted
from linestudy.dossier.audit.numbers import leaf, leaves
from linestudy.results import Interval, plain


class Pair(NamedTuple):
    low: float
    high: float


@dataclass(frozen=True)
class Inner:
    sd: float = 0.5
    index: Interval = field(default_factory=lambda: Interval(1.5, 1.25, 1.75, 0.95, "example"))


@dataclass(frozen=True)
class Whole:
    mean: float = 6.125
    pair: Pair = field(default_factory=lambda: Pair(1.0, 2.0))
    listed: tuple[Inner, ...] = (Inner(), Inner(0.25))
    by_name: dict[str, float] = field(default_factory=lambda: {"L": 1.5, "R": 2.5})
    array: Any = field(default_factory=lambda: np.array([[1.5, 2.5], [3.5, 4.5]]))
    frame: Any = field(default_factory=lambda: pd.DataFrame({"x": [1.5, 2.5], "y": ["a", "b"]}))

    @cached_property
    def doubled(self) -> float:
        return 2 * self.mean


def recorded(value: Any) -> Any:
    return plain(value)


NUMBERS = [path for path, value in leaves(recorded(Whole())) if isinstance(value, float)]


@pytest.mark.parametrize("path", [path for path in NUMBERS if path[-1] != "confidence"])
def test_a_number_is_put_where_it_stands_and_nowhere_else(path: tuple[Any, ...]) -> None:
    whole = Whole()
    before = recorded(whole)
    new = leaf(before, path) * (1 + 1e-9)
    changed = recorded(_Walk({path: new}).take(whole, ()))
    assert leaf(changed, path) == new
    others = {p: v for p, v in leaves(changed) if p != path}
    assert others == {p: v for p, v in leaves(before) if p != path}
    assert recorded(whole) == before


def test_types_are_kept_and_what_was_worked_out_before_is_worked_out_again() -> None:
    whole = Whole()
    assert whole.doubled == 12.25
    near = {("mean",): 6.25, ("pair", "low"): 1.5, ("pair", 0): 1.5}
    changed = _Walk(near).take(whole, ())
    assert type(changed.pair) is Pair
    assert changed.doubled == 12.5
    assert whole.doubled == 12.25


def test_ends_that_change_places_leave_the_interval_as_it_was() -> None:
    narrow = Interval(1.0, 1.0, 1.0, 0.95, "example")
    assert _Walk({("low",): 1.1}).take(narrow, ()) == narrow


def test_what_two_places_share_is_changed_for_both() -> None:
    shared = Inner()
    walk = _Walk({("a", "sd"): 0.75})
    assert walk.take(shared, ("a",)).sd == 0.75
    assert walk.take(shared, ("b",)).sd == 0.75


def test_where_nothing_is_near_the_evaluation_is_the_same_one() -> None:
    evaluation: Any = SimpleNamespace()
    assert adopted(evaluation, {}) is evaluation
