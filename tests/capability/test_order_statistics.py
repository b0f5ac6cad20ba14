"""Shares that extremes hold: printed sample sizes, the binomial, the inverse."""

from __future__ import annotations

import pytest
from scipy.stats import binom

from linestudy.capability import tolerance_interval_sample_size
from linestudy.capability.order_statistics import confidence_of, share_held


@pytest.mark.checks(
    "sample sizes of distribution-free tolerance intervals",
    source="Wilks; ISO 16269-6",
    memory=True,
)
@pytest.mark.parametrize(
    ("content", "confidence", "sides", "n"),
    [
        (0.90, 0.95, 1, 29),
        (0.95, 0.95, 1, 59),
        (0.99, 0.95, 1, 299),
        (0.95, 0.90, 1, 45),
        (0.90, 0.90, 1, 22),
        (0.90, 0.95, 2, 46),
        (0.95, 0.95, 2, 93),
        (0.99, 0.95, 2, 473),
        (0.99, 0.99, 2, 662),
    ],
)
def test_sample_sizes_of_the_tables(content: float, confidence: float, sides: int, n: int) -> None:
    # Tables of Wilks' sample sizes, as in ISO 16269-6 and many handbooks (values from memory).
    assert tolerance_interval_sample_size(content, confidence=confidence, sides=sides) == n


@pytest.mark.checks(
    "confidence of a distribution-free tolerance interval", source="SciPy: binomial"
)
@pytest.mark.parametrize(
    ("n", "content", "out"), [(100, 0.95, 1), (500, 0.99, 2), (1000, 0.95, 37)]
)
def test_confidence_by_the_binomial(n: int, content: float, out: int) -> None:
    # Independent derivation, SciPy: at least `out` of n parts fall outside the share.
    assert confidence_of(n, content, out) == pytest.approx(
        binom.sf(out - 1, n, 1 - content), rel=1e-9
    )


def test_share_held_is_the_inverse() -> None:
    assert confidence_of(250, share_held(250, confidence=0.9), 2) == pytest.approx(0.9)
