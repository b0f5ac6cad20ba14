"""What sorting took away: sorted parts and process on one scale of shares, hatched beyond the limits alone."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from drawn import drawn, legend, limit_lines
from scipy.stats import norm

from linestudy.figures.sorting import truncated_distribution


def study(lower: float | None, upper: float | None, rejected: float) -> Any:
    x = np.round(np.arange(-1.8, 1.81, 0.05), 2)
    return SimpleNamespace(
        values=(x, np.round(1000 * norm.pdf(x))),
        rejected=SimpleNamespace(estimate=rejected),
        n=10_000,
        density=norm.pdf,
        lower=lower,
        upper=upper,
        unit="mm",
    )


def test_bars_and_curve_have_the_same_scale() -> None:
    # Sorted at 1.8 standard deviations: the bars hold the share that was kept, the curve holds all.
    gone = 2 * norm.sf(1.8)
    axes = drawn(truncated_distribution, study(-1.8, 1.8, gone))
    bars = [(b.get_x() + b.get_width() / 2, b.get_height(), b.get_width()) for b in axes.patches]
    assert sum(height * width for _, height, width in bars) == pytest.approx(1 - gone)
    middle = max(height for x, height, _ in bars if abs(x) < 0.2)
    assert middle == pytest.approx(norm.pdf(0), rel=0.06)
    assert limit_lines(axes) == {"lower limit": -1.8, "upper limit": 1.8}
    assert axes.get_xlabel() == "value (mm)"
    assert set(legend(axes)) == {"10,000 sorted parts", "process before sorting", "taken out"}


@pytest.mark.parametrize(("lower", "upper"), [(-1.8, None), (None, 1.8)])
def test_only_what_lies_beyond_a_limit_is_hatched(lower: float | None, upper: float | None) -> None:
    axes = drawn(truncated_distribution, study(lower, upper, norm.sf(1.8)))
    (area,) = axes.collections
    x = area.get_paths()[0].vertices[:, 0]
    assert (x <= -1.75).all() if upper is None else (x >= 1.75).all()
    assert legend(axes).count("taken out") == 1
