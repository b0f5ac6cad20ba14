"""How far a stored number may move, relative to the largest of its line, and why."""

from __future__ import annotations

#: Sums, quantiles of draws from a seed, roots found to the last digits: what another order of adding changes.
CLOSED_FORM = 1e-9
#: A maximum that was searched: where the search ends moves by this when another kernel adds in another order.
SEARCHED_NUMBERS = 1e-6
SEARCHED: dict[str, tuple[float, str]] = {}


def of(name: str) -> tuple[float, str]:
    """The tolerance of a scene and its reason."""
    for start, found in SEARCHED.items():
        if name.startswith(start):
            return found
    return CLOSED_FORM, "closed form"
