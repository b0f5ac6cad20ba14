"""What a benchmark is given to time its work with."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol


class Timed(Protocol):
    """How a test has its work timed."""

    def __call__(
        self,
        work: Callable[[], Any],
        *,
        rounds: int = 5,
        warm: int = 1,
        per: int = 1,
        peer: str = "",
        aim: str = "",
    ) -> Any: ...
