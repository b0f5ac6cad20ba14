"""Tests of laboratories that stand out: printed critical values."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges.comparison.outlying_laboratories import cochran_p, grubbs_p


@pytest.mark.checks(
    "critical values of Cochran's test", source="ISO 5725-2, table of Cochran's C", memory=True
)
@pytest.mark.parametrize(
    ("labs", "readings", "level", "printed"),
    [
        (5, 2, 0.05, 0.841),
        (10, 2, 0.05, 0.602),
        (10, 2, 0.01, 0.718),
        (10, 3, 0.05, 0.445),
        (8, 3, 0.01, 0.615),
    ],
)
def test_cochrans_printed_values(labs: int, readings: int, level: float, printed: float) -> None:
    p = [
        cochran_p(np.array([c] + [(1 - c) / (labs - 1)] * (labs - 1)), readings - 1)
        for c in (printed - 0.0006, printed + 0.0006)
    ]
    assert p[0] > level > p[1]


@pytest.mark.checks(
    "critical values of Grubbs' test", source="Grubbs (1969), two-sided", memory=True
)
@pytest.mark.parametrize(
    ("labs", "level", "printed"),
    [(5, 0.05, 1.715), (10, 0.05, 2.290), (10, 0.01, 2.482), (20, 0.05, 2.709)],
)
def test_grubbs_printed_values(labs: int, level: float, printed: float) -> None:
    p = [
        grubbs_p(np.array([h] + [-h / (labs - 1)] * (labs - 1)))
        for h in (printed - 0.0015, printed + 0.0015)
    ]
    assert p[0] > level > p[1]
