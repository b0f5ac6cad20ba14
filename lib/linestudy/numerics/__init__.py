"""Statistical tools that several packages share: constants, exact intervals, quadrature, REML, seeded randomness."""

from linestudy.numerics.randomness import DEFAULT_SEED, generator

__all__ = ["DEFAULT_SEED", "generator"]
