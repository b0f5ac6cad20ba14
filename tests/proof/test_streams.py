"""Coverage of what is said of streams and of tool life, over simulated tools of two to eight streams with coils and wear.

Nominal 95 %. Streams are normal with levels and spreads of their own, as a tool with one bad cavity has; the truth is
that of the long run: quantiles of each stream, the lowest of them, and of their mixture.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pytest
from kernels import FULL

pytestmark = pytest.mark.proof

LIMITS = (-6.0, 6.5)
#: Of each small method, and of whole tools; all of them are drawn with LINESTUDY_FULL=1.
RUNS, TOOLS = (1000, 200) if FULL else (300, 12)


def mixed_index(means: Any, sds: Any, limits: tuple[float, float] = LIMITS) -> float:
    """Ppk of equal shares of normal distributions, by SciPy."""
    from scipy.optimize import brentq
    from scipy.stats import norm

    low, middle, high = (
        brentq(lambda x, p=p: float(np.mean(norm.cdf(x, means, sds))) - p, -60, 60)
        for p in (0.00135, 0.5, 0.99865)
    )
    lower, upper = limits
    return min((upper - middle) / (high - middle), (middle - lower) / (middle - low))


def tool(rng: np.random.Generator, streams: int, n: int, alike: bool) -> dict[str, bool]:
    from linestudy.capability import process_capability, stream_capability
    from linestudy.capability.streams.streams_together import StreamMixture
    from linestudy.shape import fit

    lower, upper = LIMITS
    means = np.zeros(streams) if alike else rng.normal(0, 0.5, streams)
    sds = np.ones(streams) if alike else np.exp(0.15 * rng.standard_normal(streams))
    values = [rng.normal(m, s, n) for m, s in zip(means, sds, strict=True)]
    truth = [min(upper - m, m - lower) / (3 * s) for m, s in zip(means, sds, strict=True)]
    found = {str(k): process_capability(y, lower, upper) for k, y in enumerate(values)}
    worst = stream_capability(found)
    fits = [fit(y, "normal", with_covariance=True) for y in values]
    whole = process_capability(
        np.concatenate(values), lower, upper, fitted=StreamMixture.of(fits, values)
    )
    return {
        "one stream": truth[0] in found["0"].Ppk,
        "worst stream": min(truth) in worst.Ppk,
        "bound of the worst": worst.lower_bound <= min(truth),
        "whole tool": mixed_index(means, sds) in whole.Ppk,
    }


@pytest.mark.parametrize("alike", [True, False])
@pytest.mark.parametrize("streams", [2, 4, 8])
def test_worst_stream_and_whole_tool(
    measure: Callable[..., dict], streams: int, alike: bool
) -> None:
    found = measure(
        "capability",
        "streams",
        f"{streams} streams {'alike' if alike else 'that differ'}, n 300 each",
        tool,
        runs=RUNS,
        note="the worst of several streams alike is held more often: its ends allow for the choice",
        streams=streams,
        n=300,
        alike=alike,
    )
    for claim, row in found.items():
        high = 1.0 if "worst" in claim else 0.975
        assert row.within(0.935, high), (claim, row)


def life(rng: np.random.Generator, rho: float, streams: int) -> dict[str, bool]:
    from scipy.optimize import brentq
    from scipy.signal import lfilter
    from scipy.stats import norm

    from linestudy.capability import tool_life

    strokes, span, wear, sd = 6000, 2000, -0.2, 0.1
    order = np.repeat(np.arange(float(strokes)), streams)
    stream = np.tile(np.arange(streams), strokes)
    noise = rng.standard_normal((strokes, streams))
    if rho:
        noise[1:] *= np.sqrt(1 - rho**2)
        noise = lfilter([1.0], [1.0, -rho], noise, axis=0)
    shift = 0.1 * np.arange(streams)
    y = 50.3 + wear * (order % span) / 1000 + shift[stream] + sd * noise.ravel()
    found = tool_life(
        y, order, 49.0, 51.2, resets=[2000, 4000], station=stream if streams > 1 else None
    )
    along = 50.3 + wear * (np.arange(2000) + 0.5) / 2000 * span / 1000
    whole = []
    for d in shift:
        low, middle, high = (
            brentq(lambda x, p=p, d=d: norm.cdf((x - along - d) / sd).mean() - p, 45, 55)
            for p in (0.00135, 0.5, 0.99865)
        )
        whole.append(min((51.2 - middle) / (high - middle), (middle - 49.0) / (middle - low)))
    reach = 3 * sd
    end = min(min(51.2 - 49.9 - d, 49.9 + d - 49.0) / reach for d in shift)
    return {
        "slope": wear in found.slope_per_thousand,
        "at the end": end in found.Ppk_end,
        "whole life": min(whole) in found.Ppk_whole,
        "strokes to the index": (50.3 - 49.0 - 1.33 * reach) / 0.2 * 1000 in found.strokes_to_index,
    }


@pytest.mark.parametrize("streams", [1, 2, 4])
@pytest.mark.parametrize("rho", [0.0, 0.5, 0.9])
def test_tool_life(measure: Callable[..., dict], rho: float, streams: int) -> None:
    found = measure(
        "capability",
        "tool life",
        f"{streams} {'stream' if streams == 1 else 'streams'}, neighbours correlated {rho}",
        life,
        runs=RUNS,
        rho=rho,
        streams=streams,
    )
    for claim, row in found.items():
        assert row.within(0.92, 0.99), (claim, row)


def slope_over_coils(
    rng: np.random.Generator, coil: int, life: int, between: float, rho: float
) -> bool:
    """One slope over 1,500 strokes of two to eight streams; coils of so many strokes, SD between them at most `between`."""
    from scipy.signal import lfilter
    from scipy.special import stdtrit

    from linestudy.capability.wear.trend import sawtooth

    streams, strokes, slope = int(rng.integers(2, 9)), 1500, 2.0 / life
    stroke, lane = np.repeat(np.arange(strokes), streams), np.tile(np.arange(streams), strokes)
    noise = rng.standard_normal((strokes, streams))
    noise[1:] *= np.sqrt(1 - rho**2)
    noise = lfilter([1.0], [1.0, -rho], noise, axis=0)
    coils = stroke // coil
    level = rng.uniform(0, between) * rng.standard_normal(int(coils.max()) + 1)
    y = slope * (stroke % life) + noise.ravel() + level[coils]
    found = sawtooth(y, stroke + 1.0, [at + 1.0 for at in range(life, strokes, life)], lane, coils)
    half = float(stdtrit(found.df, 0.975)) * found.slope_error
    return bool(abs(found.slope - slope) <= half)


@pytest.mark.parametrize(
    ("coil", "life", "between", "rho"),
    [(75, 500, 0.5, 0.0), (375, 750, 0.5, 0.0), (75, 500, 0.0, 0.0), (75, 500, 0.5, 0.5)],
)
def test_slope_of_wear_over_coils(
    measure: Callable[..., dict], coil: int, life: int, between: float, rho: float
) -> None:
    found = measure(
        "capability",
        "slope of wear over coils",
        f"{1500 // coil} coils, {1500 // life} lives, SD between coils up to {between}, neighbours correlated {rho}",
        slope_over_coils,
        runs=RUNS,
        coil=coil,
        life=life,
        between=between,
        rho=rho,
    )
    assert all(row.within(0.935, 0.99) for row in found.values()), found


STUDY = """format = 1
[study]
title = "Tool"
part = "P"
[tool]
parts_per_stroke = {streams}
[[characteristic]]
id = "w"
name = "W"
unit = "mm"
lower = {lower}
upper = {upper}
[[data]]
role = "run"
file = "run.csv"
columns = {{ w = "W" }}
order = "Stroke"
station = "Lane"
coil = "Coil"
subgroup = {{ size = 5, every = 25 }}
"""
REGROUND = '[[event]]\nname = "reground"\nat = {at}\ncharacteristic = "w"\n'
STROKES, LIFE, COIL = 1500, 500, 75


def whole_tool(rng: np.random.Generator) -> dict[str, bool]:
    """Two to eight streams, wear with two regrinds, twenty coils: from the files to what is said of the tool.

    The truth is of the long run: coils and wear as they come.
    """
    import pandas as pd

    from linestudy import open_study, read
    from linestudy.capability.evaluation import evaluate
    from linestudy.results import Findings, Unjudged
    from linestudy.shape.evaluation import of_characteristic as shaped
    from linestudy.stability.evaluation import of_characteristic as charted

    streams = int(rng.integers(2, 9))
    means, sds = rng.normal(0, 0.5, streams), np.exp(0.1 * rng.standard_normal(streams))
    wear, between = float(rng.uniform(1.5, 3.0)), float(rng.uniform(0.0, 0.5))
    limits = -7.0, 9.0
    stroke, lane = (
        np.repeat(np.arange(STROKES), streams),
        np.tile(np.arange(streams), STROKES),
    )
    coil = stroke // COIL
    y = (
        means[lane]
        + wear * (stroke % LIFE + 0.5) / LIFE
        + sds[lane] * rng.standard_normal(lane.size)
    )
    y += between * rng.standard_normal(STROKES // COIL)[coil]
    columns = {"Stroke": stroke + 1, "Lane": [f"L{k}" for k in lane], "Coil": coil, "W": y.round(4)}
    with TemporaryDirectory() as name:
        folder = Path(name)
        pd.DataFrame(columns).to_csv(folder / "run.csv", index=False)
        text = STUDY.format(streams=streams, lower=limits[0], upper=limits[1])
        text += "".join(REGROUND.format(at=at + 1) for at in range(LIFE, STROKES, LIFE))
        (folder / "study.toml").write_text(text, encoding="utf-8")
        study = open_study(folder)
        records, item = read(study), study.characteristic("w")
        found = charted(study, records, item)
        found.update(shaped(study, records, item, found))
        found.update(evaluate(study, records, found))
    assert isinstance(found, Findings)
    total = np.sqrt(sds**2 + between**2)
    along = wear * (np.arange(100) + 0.5) / 100
    own = [mixed_index(m + along, s, limits) for m, s in zip(means, total, strict=True)]
    every = mixed_index(np.add.outer(means, along).ravel(), np.repeat(total, 100), limits)
    end = min(
        min(limits[1] - wear - m, wear + m - limits[0]) / (3 * s)
        for m, s in zip(means, total, strict=True)
    )
    worst, life = found.get("w", "capability", "streams"), found.get("w", "capability", "tool_life")
    return {
        "one stream": own[0] in found.get("w", "streams", "L0", "capability").Ppk,
        "worst stream": min(own) in worst.Ppk,
        "bound of the worst": bool(worst.lower_bound <= min(own)),
        "whole tool": every in found.get("w", "capability").Ppk,
        # Where a slope is not told from none nothing is claimed.
        "wear": isinstance(life, Unjudged) or 1000 * wear / LIFE in life.slope_per_thousand,
        "at the end of a life": isinstance(life, Unjudged) or end in life.Ppk_end,
        "worst stream over a life": isinstance(life, Unjudged) or min(own) in life.Ppk_whole,
    }


def test_whole_tools_with_streams_wear_and_coils(measure: Callable[..., dict]) -> None:
    found = measure(
        "capability",
        "tools",
        "2 to 8 streams, wear with two regrinds, 20 coils, from files",
        whole_tool,
        runs=TOOLS,
    )
    for claim, row in found.items():
        assert row.within(0.935, 1.0), (claim, row)
