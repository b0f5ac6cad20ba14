"""Processes whose true index is known, for measuring what a decision is worth.

The true index of a process is that of the long-run distribution of what the line makes, by the
quantile definition of ISO 22514-2 (0.135, 50 and 99.865 %), of the worst named stream; streams that
nobody named count pooled. Here every process has its quantiles in closed form or by quadrature, so
limits can be set for any true index: ``U = x50 + index (x99.865 - x50)`` and, where there is no
physical bound, the lower limit likewise, which makes both sides as tight.

In control are independent values, named streams, an autoregression of order one up to 0.3, and wear
between named regrinds. A single step and a spread that changes have no long-run index; their limits
are those of what the whole run held.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.tails.candidate import QUANTILES
from linestudy.verdict.process.tags import Tags

Draw = Callable[[np.random.Generator, Any], tuple[Any, dict[str, Any]]]


@dataclass(frozen=True)
class Truth:
    """A process with known quantiles.

    Attributes
    ----------
    name : str
    draw : callable
        ``(rng, strokes) -> (values, tags)`` at the strokes of the study, ascending from 0.
    quantiles : tuple of float
        x0.135, x50, x99.865 of the worst named stream.
    in_control : bool
    bound : float or None
        Physical bound; then only the upper limit is set.
    kind : str
        ``"in control"``, ``"tail that 125 parts cannot show"``, ``"outliers"`` or ``"moving"``.
    """

    name: str
    draw: Draw = field(repr=False, compare=False)
    quantiles: tuple[float, float, float]
    in_control: bool = True
    bound: float | None = None
    kind: str = "in control"

    def limits(self, index: float) -> tuple[float | None, float]:
        """Limits at which the true index is `index`."""
        low, middle, high = self.quantiles
        lower = None if self.bound is not None else middle - index * (middle - low)
        return lower, middle + index * (high - middle)

    def study(self, rng: np.random.Generator, n: int) -> tuple[Any, Tags]:
        """Readings of a study of n parts in subgroups of five.

        A run of a thousand parts and more is taken whole; a smaller one is spread as subgroups
        over five thousand strokes, as an initial study of a line is.
        """
        if n >= 1000:
            strokes = np.arange(n)
        else:
            starts = np.arange(n // 5) * (5000 // max(n // 5, 1))
            strokes = (starts[:, None] + np.arange(5)).ravel()
        values, tags = self.draw(rng, strokes)
        subgroup = np.repeat(np.arange(strokes.size // 5 + 1), 5)[: strokes.size]
        return values, Tags(order=strokes + 1.0, subgroup=subgroup, **tags)


def truths() -> dict[str, Truth]:
    """All processes of the proof, by name.

    Examples
    --------
    >>> round(truths()["normal"].limits(2.0)[1], 3)
    6.0
    """
    found = [*_independent(), *_stations(), *_moving()]
    return {item.name: item for item in found}


def _plain(sample: Callable[[np.random.Generator, int], Any]) -> Draw:
    return lambda rng, strokes: (sample(rng, strokes.size), {})


def _from(dist: Any) -> tuple[float, float, float]:
    return tuple(float(v) for v in dist.ppf(QUANTILES))  # type: ignore[return-value]


def _mixture(parts: list[tuple[float, float, float]]) -> tuple[float, float, float]:
    """Quantiles of a mixture of normals: (weight, mean, sd)."""
    from scipy.optimize import brentq
    from scipy.special import ndtr

    w, m, s = (np.array(v) for v in zip(*parts, strict=True))

    def share(x: float, p: float) -> float:
        return float(w @ ndtr((x - m) / s)) - p

    low, high = float((m - 9 * s).min()), float((m + 9 * s).max())
    return tuple(brentq(share, low, high, args=(p,)) for p in QUANTILES)  # type: ignore[return-value]


def _folded(dist: Any) -> tuple[float, float, float]:
    return tuple(float(dist.ppf((1 + p) / 2)) for p in QUANTILES)  # type: ignore[return-value]


def _independent() -> list[Truth]:
    from scipy import stats

    heavy = "tail that 125 parts cannot show"
    normal = stats.norm
    found = [Truth("normal", _plain(lambda r, n: r.standard_normal(n)), _from(normal))]
    for df in (3, 4, 5, 6, 8):
        found.append(
            Truth(
                f"t, {df} df",
                _plain(lambda r, n, df=df: r.standard_t(df, n)),
                _from(stats.t(df)),
                kind=heavy,
            )
        )
    found += [
        Truth("Laplace", _plain(lambda r, n: r.laplace(size=n)), _from(stats.laplace)),
        Truth("logistic", _plain(lambda r, n: r.logistic(size=n)), _from(stats.logistic), kind=heavy),
    ]
    for share, sd in ((0.01, 4.0), (0.001, 5.0)):
        found.append(
            Truth(
                f"{share:.1%} outliers of {sd:g} SD",
                _plain(
                    lambda r, n, a=share, b=sd: r.standard_normal(n)
                    * np.where(r.random(n) < a, b, 1.0)
                ),
                _mixture([(1 - share, 0, 1), (share, 0, sd)]),
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
        found.append(
            Truth(name, _plain(lambda r, n, d=dist: d.ppf(r.random(n))), _from(dist))
        )
    bounded = {
        "gamma, shape 4, bound": stats.gamma(4),
        "lognormal, 0.8, bound": stats.lognorm(0.8),
        "Weibull, shape 1.5, bound": stats.weibull_min(1.5),
        "exponential, bound": stats.expon,
    }
    for name, dist in bounded.items():
        found.append(
            Truth(name, _plain(lambda r, n, d=dist: d.ppf(r.random(n))), _from(dist), bound=0.0)
        )
    found.append(
        Truth(
            "half-normal, bound",
            _plain(lambda r, n: np.abs(r.standard_normal(n))),
            _folded(normal),
            bound=0.0,
        )
    )
    for df in (4, 6):
        found.append(
            Truth(
                f"folded t, {df} df, bound",
                _plain(lambda r, n, df=df: np.abs(r.standard_t(df, n))),
                _folded(stats.t(df)),
                bound=0.0,
                kind=heavy,
            )
        )
    for step in (0.1, 0.5, 1.0):
        found.append(
            Truth(
                f"normal, readings in steps of {step:g} SD",
                _plain(lambda r, n, s=step: np.round(r.standard_normal(n) / s) * s),
                _from(normal),
            )
        )
    zero = 0.3
    upper = tuple(float(stats.norm.ppf(1 - (1 - p) / (1 - zero) / 2)) if p > zero else 0.0 for p in QUANTILES)
    found.append(
        Truth(
            "30 % zeros, else half-normal, bound",
            _plain(lambda r, n: np.abs(r.standard_normal(n)) * (r.random(n) >= zero)),
            upper,  # type: ignore[arg-type]
            bound=0.0,
        )
    )
    return found


def _stations() -> list[Truth]:
    """Stations that take turns, named or not; worst of the named ones where they are."""
    settings: dict[str, tuple[list[float], list[float]]] = {
        "2 stations 2 SD apart": ([0.0, 2.0], [1.0, 1.0]),
        "2 stations 4 SD apart": ([0.0, 4.0], [1.0, 1.0]),
        "4 stations, one 1.2 SD off": ([0.0, 0.0, 0.0, 1.2], [1.0] * 4),
        "8 stations, one 2 SD off": ([0.0] * 7 + [2.0], [1.0] * 8),
    }
    found = []
    for name, (means, sds) in settings.items():
        m, s = np.array(means), np.array(sds)

        def unnamed(r: Any, strokes: Any, m: Any = m, s: Any = s) -> tuple[Any, dict[str, Any]]:
            # Which station a part comes from is chance: alternating ones would be a pattern in time.
            at = r.integers(0, m.size, strokes.size)
            return m[at] + s[at] * r.standard_normal(strokes.size), {}

        def named(r: Any, strokes: Any, m: Any = m, s: Any = s) -> tuple[Any, dict[str, Any]]:
            at = np.arange(strokes.size) % m.size
            values = m[at] + s[at] * r.standard_normal(strokes.size)
            return values, {"stream": np.array([f"station {i + 1}" for i in at])}

        weights = [(1 / m.size, a, b) for a, b in zip(means, sds, strict=True)]
        found.append(Truth(f"{name}, not named", unnamed, _mixture(weights)))
        # Worst stream: with both limits about the middle of all, the farthest one.
        span = (min(means) + min(-3 * s), max(means) + max(3 * s))
        middle = sum(span) / 2
        found.append(_NamedStations(f"{name}, named", named, (middle - 1, middle, middle + 1), means=m, sds=s))
    return found


@dataclass(frozen=True)
class _NamedStations(Truth):
    means: Any = None
    sds: Any = None

    def limits(self, index: float) -> tuple[float | None, float]:
        """Limits about the middle at which the worst station has this index."""
        middle = self.quantiles[1]
        # Index of a station towards its nearer limit: (half - |mean - middle|) / (3 sd).
        half = float((np.abs(self.means - middle) + 3 * self.sds * index).max())
        return middle - half, middle + half


def _phases(parts: Any, sd: float = 1.0) -> tuple[float, float, float]:
    levels = np.asarray(parts, dtype=float)
    return _mixture([(1 / levels.size, float(level), sd) for level in levels])


def _moving() -> list[Truth]:
    found = []
    for rho in (0.3, 0.6, 0.9, 0.98):
        found.append(
            Truth(
                f"AR(1), {rho:g}",
                lambda r, strokes, rho=rho: (_autoregression(r, strokes, rho), {}),
                _phases([0.0]),
                rho <= 0.3,
                kind="in control" if rho <= 0.3 else "moving",
            )
        )
    period, rise = 1500.0, 4.0

    def sawtooth(r: Any, strokes: Any, named: bool) -> tuple[Any, dict[str, Any]]:
        begin = r.random() * period
        values = rise * (((strokes + begin) % period) / period - 0.5) + r.standard_normal(strokes.size)
        first = period - begin
        marks = np.arange(first, strokes[-1] + 1, period)
        # A regrind's stroke is the first part after it.
        return values, {"resets": tuple(np.ceil(marks) + 1.0)} if named else {}

    teeth = _phases(rise * ((np.arange(200) + 0.5) / 200 - 0.5))
    found += [
        Truth("sawtooth of 4 SD, regrinds named", lambda r, s: sawtooth(r, s, True), teeth),
        Truth(
            "sawtooth of 4 SD, regrinds not named",
            lambda r, s: sawtooth(r, s, False),
            teeth,
            False,
            kind="moving",
        ),
    ]

    def coils(r: Any, strokes: Any, named: bool) -> tuple[Any, dict[str, Any]]:
        at = strokes * 20 // 5000
        levels = r.standard_normal(int(at.max()) + 1)
        values = levels[at] + r.standard_normal(strokes.size)
        return values, {"coil": np.array([f"C{i:03d}" for i in at])} if named else {}

    of_coils = _mixture([(1.0, 0.0, np.sqrt(2.0))])
    for named in (True, False):
        found.append(
            Truth(
                f"coil levels of 1 SD, {'named' if named else 'not named'}",
                lambda r, s, named=named: coils(r, s, named),
                of_coils,
                False,
                kind="moving",
            )
        )

    def sine(r: Any, strokes: Any) -> tuple[Any, dict[str, Any]]:
        wave = 1.5 * np.sin(2 * np.pi * (strokes / 2000 + r.random()))
        return wave + r.standard_normal(strokes.size), {}

    found.append(
        Truth(
            "slow sine of 1.5 SD",
            sine,
            _phases(1.5 * np.sin(2 * np.pi * (np.arange(200) + 0.5) / 200)),
            False,
            kind="moving",
        )
    )

    def step(r: Any, strokes: Any, size: float) -> tuple[Any, dict[str, Any]]:
        late = strokes >= strokes[-1] * (0.3 + 0.4 * r.random())
        return size * late + r.standard_normal(strokes.size), {}

    for size in (1.5, 2.0):
        found.append(
            Truth(
                f"one step of {size:g} SD",
                lambda r, s, size=size: step(r, s, size),
                _phases([0.0, size]),
                False,
                kind="moving",
            )
        )

    def spread(r: Any, strokes: Any) -> tuple[Any, dict[str, Any]]:
        late = strokes >= strokes[-1] / 2
        return r.standard_normal(strokes.size) * np.where(late, 2.0, 1.0), {}

    found.append(
        Truth(
            "spread doubles half way",
            spread,
            _mixture([(0.5, 0, 1), (0.5, 0, 2)]),
            False,
            kind="moving",
        )
    )

    def restless(r: Any, strokes: Any) -> tuple[Any, dict[str, Any]]:
        groups = np.arange(strokes.size) // 5
        sd = np.exp(0.5 * r.standard_normal(int(groups.max()) + 1))[groups]
        return r.standard_normal(strokes.size) * sd, {}

    z = (np.arange(400) + 0.5) / 400
    from scipy.special import ndtri

    found.append(
        Truth(
            "spread varies from subgroup to subgroup",
            restless,
            _mixture([(1 / 400, 0.0, float(v)) for v in np.exp(0.5 * ndtri(z))]),
            False,
            kind="moving",
        )
    )
    return found


def _autoregression(r: Any, strokes: Any, rho: float) -> Any:
    """A stationary autoregression of variance one at ascending strokes."""
    from scipy.signal import lfilter

    gaps = np.diff(strokes)
    if (gaps == 1).all():
        noise = r.standard_normal(strokes.size) * np.sqrt(1 - rho * rho)
        noise[0] /= np.sqrt(1 - rho * rho)
        return lfilter([1.0], [1.0, -rho], noise)
    z = r.standard_normal(strokes.size)
    out = z.copy()
    for i, gap in enumerate(gaps, start=1):
        keep = rho ** float(gap)
        out[i] = keep * out[i - 1] + np.sqrt(1 - keep * keep) * z[i]
    return out
