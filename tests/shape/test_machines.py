"""Numbers that are found by a search are the same on every machine and in every order of the rows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shape_numbers
from kernels import under_each

#: Of its scale: a standard error, the width of an interval.
SAME = 1e-8


def farthest(one: dict[str, Any], other: dict[str, Any]) -> tuple[float, str]:
    """Largest difference between two sets of numbers, over what is allowed of its scale, and where.

    A number comes as ``[number, scale]``, the scale being what a difference is held against. Infinite where a name
    is missing on one side or a text differs.
    """
    worst = (0.0, "")
    for name in one.keys() | other.keys():
        a, b = one.get(name), other.get(name)
        if isinstance(a, list) and isinstance(b, list):
            apart = abs(a[0] - b[0]) / a[1] / SAME if a[0] != b[0] else 0.0
        else:
            apart = 0.0 if a == b else float("inf")
        worst = max(worst, (apart, name))
    return worst


@pytest.mark.machines
@pytest.mark.timeout(3600)
def test_kernels_and_threads_do_not_matter() -> None:
    found = under_each(Path(shape_numbers.__file__))
    first, *others = found
    for name in others:
        apart, where = farthest(found[first], found[name])
        print(f"{name}: {apart:.1e} of what is allowed ({where})")
        assert apart < 1, (name, where)


@pytest.mark.proof
def test_the_order_of_the_rows_does_not_matter() -> None:
    kinds = ("gamma", "mixture")
    as_they_come = shape_numbers.numbers((125,), kinds, intervals=False)
    assert sum(isinstance(value, list) for value in as_they_come.values()) > 100
    for seed in range(20):
        shuffled = shape_numbers.numbers((125,), kinds, shuffle=seed, intervals=False)
        apart, where = farthest(as_they_come, shuffled)
        assert apart < 1, (seed, where)
