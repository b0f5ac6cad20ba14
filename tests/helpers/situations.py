"""Runs of which it is known how they move: a hundred subgroups of five, fifty strokes from each other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.signal import lfilter

K, SIZE, APART = 100, 5, 50
STROKE = (np.arange(K)[:, None] * APART + np.arange(SIZE)).ravel().astype(float)
GROUP = np.repeat(np.arange(K), SIZE)
#: From 0 to 1 over the run.
U = STROKE / STROKE[-1]


@dataclass(frozen=True)
class Situation:
    """A kind of run.

    Attributes
    ----------
    name : str
    draw : callable
        ``rng -> (values, more)``: values and what `time_model` is told beside them.
    right : set of str
        Answers that are right: letter, or letter and words of the movement.
    """

    name: str
    draw: Callable[[np.random.Generator], tuple[Any, dict[str, Any]]] = field(repr=False)
    right: frozenset[str]


def plain(values: Callable[[np.random.Generator], Any]) -> Callable[..., Any]:
    return lambda rng: (values(rng), {})


def wandering(rng: np.random.Generator, rho: float) -> Any:
    """An autoregression at every stroke, of which the subgroups are taken."""
    n = int(STROKE[-1]) + 1
    noise = rng.standard_normal(n) * np.sqrt(1 - rho * rho)
    noise[0] /= np.sqrt(1 - rho * rho)
    return lfilter([1.0], [1.0, -rho], noise)[STROKE.astype(int)]


def of_groups(rng: np.random.Generator, level: Any) -> Any:
    return np.asarray(level)[GROUP] + rng.standard_normal(GROUP.size)


def several_steps(rng: np.random.Generator) -> Any:
    sign = rng.choice([-1.0, 1.0])
    at = np.searchsorted([0.2, 0.45, 0.75], U)
    return sign * np.array([0.0, 1.8, 0.4, 2.0])[at] + rng.standard_normal(U.size)


def sawtooth(rng: np.random.Generator, named: bool) -> Any:
    teeth, phase = 4.0, rng.random()
    t = teeth * U + phase
    values = rng.choice([-1.0, 1.0]) * 4 * (t % 1.0) + rng.standard_normal(U.size)
    marks = [(m - phase) / teeth * STROKE[-1] for m in range(1, 6)]
    return values, {"resets": tuple(m for m in marks if 0 < m < STROKE[-1])} if named else {}


def coils(rng: np.random.Generator, named: bool) -> Any:
    coil = np.minimum((U * 10).astype(int), 9)
    values = 1.5 * rng.standard_normal(10)[coil] + rng.standard_normal(U.size)
    return values, {"batch": coil} if named else {}


def wide_coils(rng: np.random.Generator) -> Any:
    coil = np.minimum((U * 10).astype(int), 9)
    sd = np.exp(0.5 * rng.permutation(np.linspace(-1.3, 1.3, 10)))[coil]
    return rng.standard_normal(U.size) * sd, {"batch": coil}


def stations(rng: np.random.Generator, apart: float, named: bool, moves: float = 0.0) -> Any:
    station = np.arange(U.size) % 2
    late = 0.3 + 0.4 * rng.random() < U
    values = apart * station + moves * late * (station == 1) + rng.standard_normal(U.size)
    return values, {"station": station} if named else {}


def one_step(rng: np.random.Generator, size: float = 1.5) -> Any:
    at = 0.25 + 0.5 * rng.random()
    return rng.choice([-size, size]) * (at < U) + rng.standard_normal(U.size)


def both(rng: np.random.Generator) -> Any:
    return (
        np.where(U > 0.5, 2.2, 1.0) * rng.standard_normal(U.size)
        + 3 * rng.standard_normal(K)[GROUP]
    )


def outliers(rng: np.random.Generator) -> Any:
    return rng.standard_normal(U.size) * np.where(rng.random(U.size) < 0.02, 5.0, 1.0)


def situations() -> list[Situation]:
    """Every kind of run of the proof."""
    at_rest, other = {"A1"}, {"A2"}
    return [
        Situation(name, draw, frozenset(right))
        for name, draw, right in (
            ("normal", plain(lambda r: r.standard_normal(U.size)), at_rest),
            ("gamma, shape 4", plain(lambda r: r.gamma(4, size=U.size)), other),
            ("t, 4 df", plain(lambda r: r.standard_t(4, U.size)), other),
            ("uniform", plain(lambda r: r.random(U.size)), other),
            (
                "readings in steps of 0.5 SD",
                plain(lambda r: np.round(2 * r.standard_normal(U.size)) / 2),
                at_rest,
            ),
            (
                "readings in steps of 1 SD",
                plain(lambda r: np.round(r.standard_normal(U.size))),
                at_rest,
            ),
            ("2 stations 4 SD apart, not named", lambda r: stations(r, 4.0, False), other),
            ("2 stations 4 SD apart, named", lambda r: stations(r, 4.0, True), at_rest),
            ("2 % outliers of 5 SD", plain(outliers), other),
            ("AR(1), 0.3", plain(lambda r: wandering(r, 0.3)), at_rest),
            ("AR(1), 0.6", plain(lambda r: wandering(r, 0.6)), {"C1"}),
            ("AR(1), 0.9", plain(lambda r: wandering(r, 0.9)), {"C1"}),
            ("AR(1), 0.98", plain(lambda r: wandering(r, 0.98)), {"C1"}),
            ("subgroups at random", plain(lambda r: of_groups(r, r.standard_normal(K))), {"C1"}),
            (
                "subgroups at random, skewed",
                plain(lambda r: of_groups(r, 2 * r.exponential(size=K))),
                {"C2"},
            ),
            ("one step", plain(one_step), {"C4 by one step"}),
            ("three steps", plain(several_steps), {"C4 by steps"}),
            ("trend up", plain(lambda r: 2.5 * U + r.standard_normal(U.size)), {"C3 by a trend"}),
            (
                "trend down",
                plain(lambda r: -2.5 * U + r.standard_normal(U.size)),
                {"C3 by a trend"},
            ),
            (
                "curved trend",
                plain(lambda r: 3.5 * (1 - np.exp(-4 * U)) + r.standard_normal(U.size)),
                {"C3 by a curved trend"},
            ),
            (
                "sawtooth, resets named",
                lambda r: sawtooth(r, True),
                {"C3 by wear that starts anew at the named resets"},
            ),
            (
                "sawtooth, resets not named",
                lambda r: sawtooth(r, False),
                {"C3 by a sawtooth whose resets nobody named"},
            ),
            ("10 coils, named", lambda r: coils(r, True), {"C4 from batch to batch"}),
            ("10 coils, not named", lambda r: coils(r, False), {"C4 by steps"}),
            (
                "slow wave",
                plain(
                    lambda r: (
                        1.2 * np.sin(2 * np.pi * (3 * U + r.random())) + r.standard_normal(U.size)
                    )
                ),
                {"C3 by a wave"},
            ),
            (
                "spread doubles",
                plain(
                    lambda r: (
                        r.standard_normal(U.size) * np.where(0.3 + 0.4 * r.random() < U, 2.0, 1.0)
                    )
                ),
                {"B in a step"},
            ),
            (
                "spread drifts",
                plain(lambda r: r.standard_normal(U.size) * np.exp(1.3 * U)),
                {"B by drifting"},
            ),
            (
                "spread varies by subgroup",
                plain(
                    lambda r: r.standard_normal(U.size) * np.exp(0.8 * r.standard_normal(K))[GROUP]
                ),
                {"B from subgroup to subgroup"},
            ),
            ("spread by coil", wide_coils, {"B from batch to batch"}),
            ("location and spread", plain(both), {"D"}),
            (
                "one of two stations steps",
                lambda r: stations(r, 0.0, True, 2.0),
                {"C4 by one step"},
            ),
        )
    ]


def told(study: Any) -> str:
    """Letter and words of a study's movement."""
    words = (
        study.level_kind
        if study.model[0] == "C"
        else study.spread_kind
        if study.model == "B"
        else ""
    )
    return f"{study.model} {words}".strip()


def is_right(situation: Situation, answer: str) -> bool:
    """Whether an answer is among the right ones, by its letter where the situation asks for no more."""
    return answer in situation.right or answer.split(" ")[0] in situation.right
