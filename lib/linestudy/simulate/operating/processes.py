"""The processes of the proof: independent ones here, stations and movement in `moving`."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from linestudy.simulate.operating.moving import moving, stations
from linestudy.simulate.operating.truth import Draw, Truth, mixture_quantiles
from linestudy.tails.candidate import QUANTILES


def truths() -> dict[str, Truth]:
    """Return all processes of the proof, by name.

    Examples
    --------
    >>> round(truths()["normal"].limits(2.0)[1], 3)
    6.0
    """
    found = [*_independent(), *stations(), *moving()]
    return {item.name: item for item in found}


def _plain(sample: Callable[[np.random.Generator, int], Any]) -> Draw:
    return lambda rng, strokes: (sample(rng, strokes.size), {})


def _student(df: float, r: np.random.Generator, n: int) -> Any:
    return r.standard_t(df, n)


def _folded_student(df: float, r: np.random.Generator, n: int) -> Any:
    return np.abs(r.standard_t(df, n))


def _by_quantiles(dist: Any, r: np.random.Generator, n: int) -> Any:
    return dist.ppf(r.random(n))


def _in_steps(step: float, r: np.random.Generator, n: int) -> Any:
    return np.round(r.standard_normal(n) / step) * step


def _with_outliers(share: float, sd: float, r: np.random.Generator, n: int) -> Any:
    return r.standard_normal(n) * np.where(r.random(n) < share, sd, 1.0)


def _from(dist: Any) -> tuple[float, float, float]:
    return tuple(float(v) for v in dist.ppf(QUANTILES))  # type: ignore[return-value]


def _folded(dist: Any) -> tuple[float, float, float]:
    return tuple(float(dist.ppf((1 + p) / 2)) for p in QUANTILES)  # type: ignore[return-value]


def _read_with(dist: Any, error: float) -> tuple[float, float, float]:
    """Compute the quantiles of readings with a normal gauge error."""
    from scipy.optimize import brentq

    nodes, weights = np.polynomial.hermite_e.hermegauss(64)
    weights = weights / weights.sum()

    def share(x: float, p: float) -> float:
        return float(weights @ dist.cdf(x - error * nodes)) - p

    return tuple(float(brentq(share, -3.0, 40.0, args=(p,))) for p in QUANTILES)  # type: ignore[return-value]


def _independent() -> list[Truth]:
    from scipy import stats

    heavy = "tail that 125 parts cannot show"
    normal = stats.norm
    found = [Truth("normal", _plain(lambda r, n: r.standard_normal(n)), _from(normal))]
    for df in (3, 4, 5, 6, 8):
        found.append(
            Truth(
                f"t, {df} df",
                _plain(partial(_student, df)),
                _from(stats.t(df)),
                kind=heavy,
            )
        )
    found += [
        Truth("Laplace", _plain(lambda r, n: r.laplace(size=n)), _from(stats.laplace)),
        Truth(
            "logistic", _plain(lambda r, n: r.logistic(size=n)), _from(stats.logistic), kind=heavy
        ),
    ]
    for share, sd in ((0.01, 4.0), (0.001, 5.0)):
        found.append(
            Truth(
                f"{share:.1%} outliers of {sd:g} SD",
                _plain(partial(_with_outliers, share, sd)),
                mixture_quantiles([(1 - share, 0, 1), (share, 0, sd)]),
                kind="outliers",
            )
        )
    skewed = {
        "gamma, shape 16": stats.gamma(16),
        "gamma, shape 4": stats.gamma(4),
        "gamma, shape 2": stats.gamma(2),
        "lognormal, 0.25": stats.lognorm(0.25),
        "lognormal, 0.4": stats.lognorm(0.4),
        "Weibull, shape 1.5": stats.weibull_min(1.5),
        "Weibull, shape 3": stats.weibull_min(3),
        "inverse Gaussian, 0.3": stats.invgauss(0.3),
        "uniform": stats.uniform,
        "beta (2, 2)": stats.beta(2, 2),
        "triangular": stats.triang(0.5),
    }
    for name, dist in skewed.items():
        found.append(Truth(name, _plain(partial(_by_quantiles, dist)), _from(dist)))
    bounded = {
        "gamma, shape 4, bound": stats.gamma(4),
        "lognormal, 0.8, bound": stats.lognorm(0.8),
        "Weibull, shape 1.5, bound": stats.weibull_min(1.5),
        "exponential, bound": stats.expon,
    }
    for name, dist in bounded.items():
        found.append(Truth(name, _plain(partial(_by_quantiles, dist)), _from(dist), bound=0.0))
    found.append(
        Truth(
            "half-normal, bound",
            _plain(lambda r, n: np.abs(r.standard_normal(n))),
            _folded(normal),
            bound=0.0,
        )
    )
    # The gauge scatters readings about the bound; the index is that of the readings.
    found += [
        Truth(
            "half-normal, gauge error 0.15 SD, bound",
            _plain(lambda r, n: np.abs(r.standard_normal(n)) + 0.15 * r.standard_normal(n)),
            _read_with(stats.halfnorm, 0.15),
            bound=0.0,
        ),
        Truth(
            "gamma, shape 4, gauge error 0.1 SD, bound",
            _plain(lambda r, n: r.gamma(4.0, size=n) + 0.2 * r.standard_normal(n)),
            _read_with(stats.gamma(4), 0.2),
            bound=0.0,
        ),
    ]
    for df in (4, 6):
        found.append(
            Truth(
                f"folded t, {df} df, bound",
                _plain(partial(_folded_student, df)),
                _folded(stats.t(df)),
                bound=0.0,
                kind=heavy,
            )
        )
    for step in (0.1, 0.5, 1.0):
        found.append(
            Truth(
                f"normal, readings in steps of {step:g} SD",
                _plain(partial(_in_steps, step)),
                _from(normal),
            )
        )
    zero = 0.3
    upper = tuple(
        float(stats.norm.ppf(1 - (1 - p) / (1 - zero) / 2)) if p > zero else 0.0 for p in QUANTILES
    )
    found.append(
        Truth(
            "30 % zeros, else half-normal, bound",
            _plain(lambda r, n: np.abs(r.standard_normal(n)) * (r.random(n) >= zero)),
            upper,  # type: ignore[arg-type]
            bound=0.0,
        )
    )
    return found
