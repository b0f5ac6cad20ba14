"""Processes of several stations, and processes that move, with their quantiles in closed form."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from linestudy.simulate.operating.truth import SMALL, Truth, mixture_quantiles


def stations() -> list[Truth]:
    """List stations that take turns, named or not; of the named ones the truth is the worst's."""
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
        found.append(Truth(f"{name}, not named", unnamed, mixture_quantiles(weights)))
        # Worst stream: with both limits about the middle of all, the farthest one.
        span = (min(means) + min(-3 * s), max(means) + max(3 * s))
        middle = sum(span) / 2
        found.append(
            _NamedStations(
                f"{name}, named", named, (middle - 1, middle, middle + 1), means=m, sds=s
            )
        )
    return found


@dataclass(frozen=True)
class _NamedStations(Truth):
    means: Any = None
    sds: Any = None

    def limits(self, index: float) -> tuple[float | None, float]:
        """Compute limits about the middle at which the worst station has this index."""
        middle = self.quantiles[1]
        # Index of a station towards its nearer limit: (half - |mean - middle|) / (3 sd).
        half = float((np.abs(self.means - middle) + 3 * self.sds * index).max())
        return middle - half, middle + half


def _phases(parts: Any, sd: float = 1.0) -> tuple[float, float, float]:
    levels = np.asarray(parts, dtype=float)
    return mixture_quantiles([(1 / levels.size, float(level), sd) for level in levels])


def moving() -> list[Truth]:
    found = []
    for rho in (0.3, 0.6, 0.9, 0.98):
        found.append(
            Truth(
                f"AR(1), {rho:g}",
                partial(_of_rho, rho),
                _phases([0.0]),
                rho <= 0.3,
                kind="in control" if rho <= 0.3 else "moving",
            )
        )
    period, rise = 1500.0, 4.0

    def sawtooth(r: Any, strokes: Any, named: bool) -> tuple[Any, dict[str, Any]]:
        begin = r.random() * period
        values = rise * (((strokes + begin) % period) / period - 0.5) + r.standard_normal(
            strokes.size
        )
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

    of_coils = mixture_quantiles([(1.0, 0.0, np.sqrt(2.0))])
    for named in (True, False):
        found.append(
            Truth(
                f"coil levels of 1 SD, {'named' if named else 'not named'}",
                partial(coils, named=named),
                of_coils,
                False,
                kind="moving",
            )
        )

    def sine(r: Any, strokes: Any, size: float = 1.5) -> tuple[Any, dict[str, Any]]:
        wave = size * np.sin(2 * np.pi * (strokes / 2000 + r.random()))
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
                partial(step, size=size),
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
            mixture_quantiles([(0.5, 0, 1), (0.5, 0, 2)]),
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
            mixture_quantiles([(1 / 400, 0.0, float(v)) for v in np.exp(0.5 * ndtri(z))]),
            False,
            kind="moving",
        )
    )
    return [*found, *_below(step, sine)]


def _below(step: Any, sine: Any) -> list[Truth]:
    """List movements of sizes that a study may or may not detect, for the power curve."""
    small = [
        Truth(
            f"one step of {size:g} SD",
            partial(step, size=size),
            _phases([0.0, size]),
            False,
            kind=SMALL,
        )
        for size in (0.25, 0.5, 1.0)
    ]
    phase = np.sin(2 * np.pi * (np.arange(200) + 0.5) / 200)
    small += [
        Truth(
            f"slow sine of {a:g} SD", partial(sine, size=a), _phases(a * phase), False, kind=SMALL
        )
        for a in (0.25, 0.5, 1.0)
    ]
    return [*small, Truth("AR(1), 0.45", partial(_of_rho, 0.45), _phases([0.0]), False, kind=SMALL)]


def _of_rho(rho: float, r: np.random.Generator, strokes: Any) -> tuple[Any, dict[str, Any]]:
    return _autoregression(r, strokes, rho), {}


def _autoregression(r: Any, strokes: Any, rho: float) -> Any:
    """Simulate a stationary first-order autoregression of variance 1 at ascending strokes."""
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
