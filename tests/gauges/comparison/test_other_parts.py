"""Parts that are others under the same name, and gauges that err as much as parts differ. No source outside."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges.comparison.other_parts import refuse_other_parts
from linestudy.results import CannotJudge


def refused(part_sd: float, errors: tuple[float, float], *, others: bool = False) -> int:
    """Count refusals of 80 pairs of systems that read ten parts three times."""
    count = 0
    for seed in range(80):
        draw = np.random.default_rng(seed)
        size = part_sd * draw.normal(size=10)
        again = part_sd * draw.normal(size=10) if others else size
        read = [
            s[:, None] + sd * draw.normal(size=(10, 3))
            for s, sd in zip((size, again), errors, strict=True)
        ]
        known = [(float(cells.var(axis=1, ddof=1).mean()) / 3, 20.0) for cells in read]
        try:
            refuse_other_parts(read[0].mean(axis=1), read[1].mean(axis=1), known[0], known[1])
        except CannotJudge:
            count += 1
    return count


@pytest.mark.parametrize(
    ("part_sd", "errors"), [(5.0, (8.0, 1.0)), (1.0, (2.0, 2.0)), (1.0, (0.1, 4.0))]
)
def test_a_gauge_that_errs_as_much_as_parts_differ_is_compared(
    part_sd: float, errors: tuple[float, float]
) -> None:
    assert refused(part_sd, errors) <= 1


def test_other_parts_are_refused() -> None:
    assert refused(1.0, (0.1, 0.3), others=True) > 60


def test_without_repeated_readings_the_correlation_decides() -> None:
    size = np.arange(8.0)
    with pytest.raises(CannotJudge, match="may be other parts"):
        refuse_other_parts(size, size[[3, 0, 5, 1, 7, 2, 4, 6]][::-1], (0.0, 0.0), (0.0, 0.0))
    refuse_other_parts(size, size + 0.1, (0.0, 0.0), (0.0, 0.0))
