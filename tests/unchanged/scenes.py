"""Scenes: calls of public functions on fixed data, and the data that several rooms share.

A scene is a name and a call without arguments, chosen so that every branch, caution and sentence is met once.
What it gives is stored; see `test_unchanged`. The rooms' scenes are in the files beside this one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from linestudy.results import Interval

SCENES: dict[str, Callable[[], Any]] = {}


def scene(name: str, call: Callable[[], Any]) -> None:
    assert name not in SCENES, name
    SCENES[name] = call


def rng(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def normal(n: int = 125, mean: float = 2.0, sd: float = 0.1, seed: int = 1) -> Any:
    return rng(seed).normal(mean, sd, n)


def slow(n: int = 2000, serial: float = 0.8, seed: int = 2) -> Any:
    """A first-order autoregression."""
    from scipy.signal import lfilter

    return 5 + 0.1 * lfilter([np.sqrt(1 - serial**2)], [1, -serial], rng(seed).normal(size=n))


def around(estimate: float, half: float) -> Interval:
    return Interval(estimate, estimate - half, estimate + half, 0.95, "given")


#: Two gauges on forty parts; a process that begins at zero; forty subgroups of five, which move at the 25th.
first = rng(7).normal(4, 0.5, 40)
second = 0.02 + 1.01 * first + rng(8).normal(0, 0.03, 40)
first = first + rng(9).normal(0, 0.03, 40)
gamma = rng(41).gamma(4, 0.25, 300)
groups = np.repeat(np.arange(40), 5)
steady = normal(200, seed=20)
moved = steady + np.where(np.arange(200) >= 120, 0.12, 0.0)
