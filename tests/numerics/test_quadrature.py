"""Gauss-Legendre nodes and weights: exact for polynomials up to twice their number less one (definition)."""

from __future__ import annotations

import pytest

from linestudy.numerics.quadrature import legendre


@pytest.mark.parametrize("count", [1, 2, 5, 16, 40])
def test_polynomials_are_integrated_exactly(count: int) -> None:
    nodes, weights = legendre(count)
    for degree in range(2 * count):
        exact = 0.0 if degree % 2 else 2 / (degree + 1)
        assert float(weights @ nodes**degree) == pytest.approx(exact, abs=1e-12)
    # One degree more is not.
    error = abs(float(weights @ nodes ** (2 * count)) - 2 / (2 * count + 1))
    assert count > 12 or error > 1e-9


def test_they_cannot_be_written_to() -> None:
    nodes, _ = legendre(4)
    with pytest.raises(ValueError, match="read-only"):
        nodes[0] = 0.0
