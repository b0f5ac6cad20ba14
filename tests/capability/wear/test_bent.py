"""Whether the halves of tool lives wear by different amounts."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability.wear.bent import bend_of

ORDER = np.arange(6000.0)
AGE = (ORDER % 2000) / 2000
NOISE = np.random.default_rng(4).normal(0, 0.1, 6000)


def test_a_curve_moves_as_far_as_its_halves_do() -> None:
    found = bend_of(AGE**2 + NOISE, ORDER, [2000, 4000])
    assert found is not None
    # Of x squared a quarter in the first half and three quarters in the second, by the least-squares lines.
    assert (found.first, found.second) == pytest.approx((0.25, 0.75), abs=0.04)
    assert found.lives == 3


@pytest.mark.parametrize(
    ("values", "resets"),
    [
        (AGE + NOISE, [2000, 4000]),
        (NOISE, [2000, 4000]),
        # Two lives do not tell a bend from what happened once.
        (AGE**2 + NOISE, [3000]),
        # Up and back again is no wear.
        (np.sin(np.pi * AGE) + NOISE, [2000, 4000]),
    ],
)
def test_nothing_is_said_of_what_is_straight_or_no_wear(values: np.ndarray, resets: list) -> None:
    assert bend_of(values, ORDER, resets) is None
