"""How far a stored number may move, relative to the largest of its line, and why.

Measured with `kernels.py` on four kernels of the numerical library (Haswell, Zen, SkylakeX, Nehalem) of one processor: scenes
that are not named below moved by less than 1e-9, those that are by less than what stands beside them.
"""

from __future__ import annotations

#: Sums, roots found to the last digits, quantiles of draws from a seed: moved by the order of adding alone.
CLOSED_FORM = 1e-9
#: A maximum that was searched: the search ends elsewhere when another kernel adds in another order.
SEARCHED_NUMBERS = 1e-6

_LIKELIHOOD = "the maximum of a likelihood is searched"
_REML = "components of an unbalanced table are searched (REML)"
#: By the beginning of a scene's name; the first that fits holds.
SEARCHED: dict[str, tuple[float, str]] = {
    "fit many: Johnson S_U": (
        1e-2,
        "its likelihood is so flat that the search ends up to half a per cent away (measured 4.7e-3)",
    ),
    "choose: normal": (
        1e-4,
        "the flattest of the families that are tried beside the normal (measured 1.6e-5)",
    ),
    "fit": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "goodness": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "choose": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "capability: gamma": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "capability: several": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "capability: beyond the limit": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "quantile": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "machine: zero bound": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "before sorting": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "judgement curve": (SEARCHED_NUMBERS, _LIKELIHOOD),
    "crossed: missing": (SEARCHED_NUMBERS, _REML),
    "crossed: empty cell": (SEARCHED_NUMBERS, _REML),
    "left out": (SEARCHED_NUMBERS, _REML),
    "nested": (SEARCHED_NUMBERS, _REML),
}


def of(name: str) -> tuple[float, str]:
    """The tolerance of a scene and its reason."""
    for start, found in SEARCHED.items():
        if name.startswith(start):
            return found
    return CLOSED_FORM, "closed form, or a root to its last digits"
