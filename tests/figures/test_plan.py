"""Pictures of plans: power and number of parts at their values, a dot for each size, designs in order."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from drawn import dots, drawn, legend, limit_lines

from linestudy.figures.plan import chance_of_designs, chance_of_success, narrowing
from linestudy.plan import interval_size


def plan(found: bool) -> Any:
    chances = [
        SimpleNamespace(n=n, chance=c, **({"found": c - 0.1} if found else {}))
        for n, c in ((30, 0.2), (100, 0.6), (300, 0.95))
    ]
    return SimpleNamespace(chances=chances, power=0.8, n=180)


def test_one_curve_with_power_and_number_where_they_belong() -> None:
    axes = drawn(chance_of_success, plan(found=False))
    assert limit_lines(axes) == {"power 80 %": 0.8, "180 parts": 180.0}
    assert dots(axes).tolist() == [[30, 0.2], [100, 0.6], [300, 0.95]]
    assert legend(axes) == []
    assert axes.get_xscale() == "log"
    assert [t.get_text() for t in axes.get_xticklabels()] == ["30", "100", "300"]
    assert axes.get_ylim()[0] == 0


def test_what_finding_the_distribution_costs_is_a_curve_of_its_own() -> None:
    axes = drawn(chance_of_success, plan(found=True))
    assert legend(axes) == ["the verdict finds the distribution", "known to be normal"]
    lower, upper = (line.get_ydata() for line in axes.lines[:2])
    assert np.asarray(lower) == pytest.approx(np.asarray(upper) - 0.1)


def test_every_size_has_its_interval_about_the_index() -> None:
    study = interval_size(true_index=1.67, half_width=0.3)
    axes = drawn(narrowing, study)
    bars = [
        line.get_ydata()
        for line in axes.lines
        if len(set(line.get_xdata())) == 1 and len(line.get_xdata()) == 2
    ]
    for one in study.widths:
        assert [one.index.low, one.index.high] in [list(bar) for bar in bars]
    assert dots(axes).tolist() == [[one.n, 1.67] for one in study.widths]
    assert limit_lines(axes) == {f"{study.n:,} parts": float(study.n)}


def test_designs_stand_in_the_order_of_their_readings() -> None:
    designs = [
        SimpleNamespace(readings=r, chance=c, label=label)
        for r, c, label in ((90, 0.9, "10 × 3 × 3 = 90"), (30, 0.4, "5 × 3 × 2 = 30"))
    ]
    axes = drawn(chance_of_designs, SimpleNamespace(designs=designs, power=0.8))
    assert [t.get_text() for t in axes.get_yticklabels()] == ["5 × 3 × 2 = 30", "10 × 3 × 3 = 90"]
    assert dots(axes).tolist() == [[0.4, 0], [0.9, 1]]
    assert limit_lines(axes) == {"power 80 %": 0.8}
