"""Welds of a straight relation between width and force, for tests of strength by size."""

from __future__ import annotations

import numpy as np

SLOPE, SD = 140.0, 3.0


def welds(
    rng: np.random.Generator, n: int, batches: int = 0, between: float = 0.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray | None]:
    """Widths read by a camera, forces, batches."""
    width = rng.uniform(0.35, 0.55, n)
    force = 20 + SLOPE * width + rng.normal(0, SD, n)
    if not batches:
        return width, force, None
    batch = np.arange(n) % batches
    return width, force + rng.normal(0, between, batches)[batch], batch
