"""Forces that pile up at the strength of the wire are seen, honest and rounded ones are not. No source outside."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges.destructive.pile_up import ended_elsewhere


@pytest.mark.parametrize("blur", [0.0, 0.1])
def test_a_wire_that_breaks_first_is_seen(blur: float) -> None:
    seen = 0
    for seed in range(40):
        draw = np.random.default_rng(seed)
        wire = 82 + blur * draw.normal(size=40)
        seen += bool(ended_elsewhere(np.minimum(80 + 5 * draw.normal(size=40), wire)))
    assert seen >= 30


@pytest.mark.parametrize("step", [0.0, 0.1, 1.0, 5.0])
@pytest.mark.parametrize("n", [12, 40, 200])
def test_honest_forces_are_left_alone(n: int, step: float) -> None:
    alarms = 0
    for seed in range(150):
        forces = 80 + 5 * np.random.default_rng(seed).normal(size=n)
        alarms += bool(ended_elsewhere(np.round(forces / step) * step if step else forces))
    assert alarms <= 3


def test_a_part_without_a_weld_is_named() -> None:
    (text,) = ended_elsewhere(np.array([0.0, 78.2, 81.3, 80.1]))
    assert text.startswith("1 force of 4 is nought")
    assert ended_elsewhere(np.zeros(9)) == []
