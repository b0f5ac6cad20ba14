"""Numbers that are found by a search are the same on every machine and in every order of the rows."""

from __future__ import annotations

from pathlib import Path

import pytest
import shape_numbers
from machines import farthest, under_each

#: Of its scale: a standard error, the width of an interval.
SAME = 1e-8
#: Ends of likelihood intervals whose contour meets the end of the family's range (see `likelihood_interval`):
#: families of many parameters on 125 values of another family.
ROUGH = {"normal mixture": 0.2, "Johnson S_B": 1e-3, "Johnson S_U": 1e-5, "Box-Cox normal": 1e-6}


def allowed(name: str) -> float:
    of_a_family = name.endswith((" low", " high")) or " refit " in name
    return max(
        [rough for family, rough in ROUGH.items() if family in name and of_a_family] + [SAME]
    )


@pytest.mark.machines
@pytest.mark.timeout(3600)
def test_kernels_and_threads_do_not_matter() -> None:
    found = under_each(Path(shape_numbers.__file__))
    first, *others = found
    for name in others:
        apart, where = farthest(found[first], found[name], allowed)
        print(f"{name}: {apart:.1e} of what is allowed ({where})")
        assert apart < 1, (name, where)


def test_the_order_of_the_rows_does_not_matter() -> None:
    kinds = ("gamma", "mixture")
    as_they_come = shape_numbers.numbers((125,), kinds, intervals=False)
    assert sum(isinstance(value, list) for value in as_they_come.values()) > 100
    for seed in range(20):
        shuffled = shape_numbers.numbers((125,), kinds, shuffle=seed, intervals=False)
        apart, where = farthest(as_they_come, shuffled, lambda name: SAME)
        assert apart < 1, (seed, where)
