"""What a benchmark is given to time its work with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Timed:
    """Times work by pytest-benchmark's fixture, and notes what its group's ratios need."""

    benchmark: Any

    def __call__(
        self,
        work: Callable[[], Any],
        *,
        rounds: int = 5,
        warm: int = 1,
        per: int = 1,
        peer: str = "",
        aim: str = "",
    ) -> Any:
        """Time work `rounds` times after `warm` untimed ones; `per` is how much of it one call does.

        `peer` names what the others of the group are compared with; `aim` is the wish.
        """
        self.benchmark.extra_info.update(per=per, peer=peer, aim=aim)
        return self.benchmark.pedantic(work, rounds=rounds, iterations=1, warmup_rounds=warm)
