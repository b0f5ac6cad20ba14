"""Readings and crossed studies that nobody touched, of many shapes, roundings and sizes, and what is done to them."""

from __future__ import annotations

from typing import Any

import numpy as np

SIZES = (60, 125, 300, 600, 2000, 5000)
#: Step of the readings, in standard deviations of the process.
STEPS = (0.001, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0)


def _ar(draw: Any, n: int, rho: float) -> Any:
    from scipy.signal import lfilter

    return lfilter([1], [1, -rho], draw.normal(size=n + 300))[300:] * np.sqrt(1 - rho**2)


SHAPES: dict[str, Any] = {
    "normal": lambda d, n: d.normal(size=n),
    "t, 3 df": lambda d, n: d.standard_t(3, n) / np.sqrt(3),
    "Laplace": lambda d, n: d.laplace(size=n) / np.sqrt(2),
    "uniform": lambda d, n: d.uniform(-1.73, 1.73, n),
    "gamma": lambda d, n: d.gamma(2, 1, n) / np.sqrt(2),
    "lognormal": lambda d, n: np.exp(0.4 * d.normal(size=n)) / 0.43,
    "folded normal": lambda d, n: np.abs(d.normal(size=n)) / 0.6,
    "exponential": lambda d, n: d.exponential(size=n),
    "sine": lambda d, n: np.sqrt(2) * np.sin(d.uniform(0, 2 * np.pi, n)),
    "outliers": lambda d, n: d.normal(size=n) * np.where(d.random(n) < 0.01, 5, 1),
    "AR(1), 0.3": lambda d, n: _ar(d, n, 0.3),
    "AR(1), 0.9": lambda d, n: _ar(d, n, 0.9),
    "AR(1), 0.98": lambda d, n: _ar(d, n, 0.98),
    "over-adjusted, -0.4": lambda d, n: _ar(d, n, -0.4),
    "two stations": lambda d, n: 0.5 * d.normal(size=n) + np.tile([-0.9, 0.9], n)[:n],
    "four stations": lambda d, n: 0.6 * d.normal(size=n) + np.tile([-1.2, 0, 0.4, 1], n)[:n],
    "eight stations": lambda d, n: d.normal(size=n) + 0.5 * np.tile(np.arange(8) % 3, n)[:n],
    "sawtooth": lambda d, n: 0.5 * d.normal(size=n) + (np.arange(n) % 400) / 150,
    "steps": lambda d, n: 0.6 * d.normal(size=n) + d.normal(size=40).repeat(n // 40 + 1)[:n],
    "slow sine": lambda d, n: 0.7 * d.normal(size=n) + np.sin(np.arange(n) / 60),
    "levels of subgroups": lambda d, n: (
        d.normal(size=n) * 0.7 + d.normal(size=n).repeat(5)[:n] * 0.7
    ),
    "spread doubles": lambda d, n: d.normal(size=n) * np.where(np.arange(n) < n / 2, 0.7, 1.3),
}


def readings(draw: Any, shape: str, n: int, step: float) -> Any:
    """`n` honest readings in steps of so many standard deviations."""
    return np.round(50 / step + SHAPES[shape](draw, n) / step) * step


def crossed(
    draw: Any, parts: int, people: int, trials: int, step: float, heavy: bool
) -> tuple[Any, Any, Any, Any]:
    """Part, appraiser, trial and reading of an honest study; repetition has a standard deviation of one."""
    part, who, trial = (at.ravel() for at in np.indices((parts, people, trials)))
    error = draw.standard_t(4, part.size) if heavy else draw.normal(size=part.size)
    value = 8 * draw.normal(size=parts)[part] + 0.5 * draw.normal(size=people)[who] + error
    if draw.random() < 0.3:
        value = value + draw.normal(size=(parts, people))[part, who]
    return part, who, trial, np.round(value / step) * step


#: What is done to readings: name → function of (draw, readings, step).
DONE: dict[str, Any] = {
    "a tenth copied": lambda d, y, s: _copied(y, y[: y.size // 10]),
    "copied, constant added": lambda d, y, s: _copied(y, y[: y.size // 10] + 3 * s),
    "copied, last digit changed": lambda d, y, s: _copied(
        y, y[: y.size // 10] + s * d.integers(-1, 2, y.size // 10)
    ),
    "copied, shuffled in subgroups": lambda d, y, s: _shuffled(d, y),
    "average of two": lambda d, y, s: _average(y, 2, s),
    "average of three": lambda d, y, s: _average(y, 3, s),
    "average of five": lambda d, y, s: _average(y, 5, s),
    "average of ten": lambda d, y, s: _average(y, 10, s),
    "0 and 5 preferred in a third": lambda d, y, s: np.where(
        d.random(y.size) < 1 / 3, np.round(y / s / 5) * 5 * s, y
    ),
    "cut to 1.7 SD": lambda d, y, s: (
        np.round(np.clip(y, y.mean() - 1.7 * y.std(), y.mean() + 1.7 * y.std()) / s) * s
    ),
    "taken out beyond 1.7 SD": lambda d, y, s: y[np.abs(y - y.mean()) <= 1.7 * y.std()],
    "no neighbours equal": lambda d, y, s: _without_repeats(d, y),
}

#: What is done to a crossed study: name → function of (draw, study, another gauge's study, masters, step), which gives study and masters.
DONE_TO_STUDIES: dict[str, Any] = {
    "trial typed off another": lambda d, s, o, m, step: (_typed(d, s, step, 0), m),
    "trial typed off another, a step changed": lambda d, s, o, m, step: (_typed(d, s, step, 1), m),
    "study of another gauge": lambda d, s, o, m, step: ((*s[:3], o[3] + 7 * step), m),
    "study of another gauge, a third of an SD changed": lambda d, s, o, m, step: (
        (*s[:3], np.round((o[3] + d.normal(0, 0.3, o[3].size)) / step) * step),
        m,
    ),
    "parts read again under other names": lambda d, s, o, m, step: (_again(d, s, step), m),
    "masters with values of their readings": lambda d, s, o, m, step: (
        s,
        (m[1].reshape(5, -1).mean(axis=1).repeat(12), m[1]),
    ),
}


def _typed(draw: Any, study: Any, step: float, changed: int) -> Any:
    part, who, trial, value = study
    table = value.reshape(part.max() + 1, who.max() + 1, -1).copy()
    table[:, 1, 2] = table[:, 1, 0] + step * draw.integers(-changed, changed + 1, len(table))
    return part, who, trial, table.ravel()


def _again(draw: Any, study: Any, step: float) -> Any:
    """The second half of the parts are the first, and something moved in between."""
    part, who, trial, value = study
    table = value.reshape(part.max() + 1, -1).copy()
    half = len(table) // 2
    moved = 4 + draw.normal(0, 1, (half, 1)) + draw.normal(size=(half, table.shape[1]))
    means = table[:half].mean(axis=1, keepdims=True)
    table[half:] = np.round((means + moved) / step) * step
    return part, who, trial, table.ravel()


def _copied(y: Any, part: Any) -> Any:
    out = y.copy()
    begin = y.size - part.size - y.size // 7
    out[begin : begin + part.size] = part
    return out


def _shuffled(draw: Any, y: Any) -> Any:
    out = y.copy()
    groups = max(y.size // 5 // 10, 2)
    begin = (y.size // 5 - groups) * 5
    for k in range(groups):
        out[begin + 5 * k : begin + 5 * k + 5] = draw.permutation(y[5 * k : 5 * k + 5])
    return out


def _average(y: Any, k: int, step: float) -> Any:
    mean = np.convolve(np.concatenate([y, y[: k - 1]]), np.ones(k) / k, "valid")
    return np.round(mean / step) * step


def _without_repeats(draw: Any, y: Any) -> Any:
    out = y.copy()
    for i in range(1, out.size):
        for _ in range(20):
            if out[i] != out[i - 1]:
                break
            out[i] = y[draw.integers(y.size)]
    return out
