"""Readings in another unit: another scale and another zero."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Unit:
    """Readings become ``scale * reading + zero``."""

    scale: float = 1.0
    zero: float = 0.0

    def limits(self, lower: float | None, upper: float | None) -> tuple[float | None, float | None]:
        """Limits turned alike; with a negative scale they change places."""
        turned = [None if v is None else self.scale * v + self.zero for v in (lower, upper)]
        return (turned[1], turned[0]) if self.scale < 0 else (turned[0], turned[1])

    def place(self, value: float) -> float:
        return self.scale * value + self.zero

    def size(self, value: float) -> float:
        return abs(self.scale) * value
