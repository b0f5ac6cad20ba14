"""Whole study folders of plants whose true index is known, as honest people would write them.

Every plant has a process of some shape, one to four named streams, coils, perhaps wear with regrinds, readings in steps,
a plan of subgroups, an adequate camera with a crossed study, masters and perhaps control masters along the run, verdicts
and bins; some have pulled welds with a lower limit, a short run, or nothing but the run and its gauge study. The truth is the
index of the worst stream by quantiles (ISO 22514-2), so that a decision on such a folder is right or wrong.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scipy import stats

#: Shapes with SD near one: name → distribution and whether it has a physical bound at its lower end.
SHAPES: dict[str, tuple[Any, bool]] = {
    "normal": (stats.norm(), False),
    "logistic": (stats.logistic(scale=0.5513), False),
    "t, 6 df": (stats.t(6, scale=0.8165), False),
    "gamma, 4": (stats.gamma(4, scale=0.5), False),
    "lognormal, 0.25": (stats.lognorm(0.25, scale=3.9), False),
    "Weibull, 1.5, bound": (stats.weibull_min(1.5, scale=1.632), True),
    "half-normal, bound": (stats.halfnorm(scale=1.659), True),
    "beta, 4 and 4": (stats.beta(4, 4, scale=6.0), False),
}
LEVELS = (2.2, 1.75, 1.45, 1.2)
PLANS = ((125, 40), (300, 40), (600, 25), (1500, 25), (3000, 10))
#: Step of the readings in standard deviations of the process, at most.
STEPS = (0.01, 0.05, 0.1, 0.2)


@dataclass
class Plant:
    """A study folder before it is written, and what is true of it.

    Attributes
    ----------
    what : dict
        How it was made.
    truth : dict of str to float
        True index of each measured characteristic.
    text : str
        study.toml.
    tables : dict of str to DataFrame
    """

    what: dict[str, Any]
    truth: dict[str, float]
    text: str
    tables: dict[str, pd.DataFrame] = field(repr=False)

    def write(self, folder: Path) -> Path:
        """Write study.toml and its files."""
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "study.toml").write_text(self.text, encoding="utf-8")
        for name, table in self.tables.items():
            table.to_csv(folder / f"{name}.csv", index=False)
        return folder


def _limits(
    quantiles: list[tuple[float, float, float]], index: float, bounded: bool
) -> tuple[float | None, float]:
    """Limits at which the worst of the streams has this index, on both sides where there are two."""
    upper = max(m + index * (h - m) for _, m, h in quantiles)
    lower = min(m - index * (m - low) for low, m, _ in quantiles)
    return (None if bounded else lower), upper


def _worst(quantiles: list[tuple[float, float, float]], lower: float | None, upper: float) -> float:
    sides = [(upper - m) / (h - m) for _, m, h in quantiles]
    sides += [] if lower is None else [(m - lower) / (m - low) for low, m, _ in quantiles]
    return min(sides)


def plant(seed: int) -> Plant:
    """Draw a plant; the number decides level, plan and shape in turns, and the rest by chance."""
    draw = np.random.default_rng([20261128, seed])
    level = LEVELS[seed % 4]
    n, every = PLANS[(seed // 4) % len(PLANS)]
    shape = list(SHAPES)[(seed // 4) % len(SHAPES)]
    dist, bounded = SHAPES[shape]
    streams = int(draw.integers(1, 5))
    step = float(draw.choice(STEPS))
    wear = bool(draw.random() < 0.2) and not bounded and streams < 3
    unit = float(draw.choice([0.01, 0.02, 0.05]))  # one process SD in mm
    middle = 0.0 if bounded else float(draw.choice([2.8, 6.3, 12.0]))

    offsets = np.zeros(streams) if bounded else draw.normal(0, 0.5, streams) * (draw.random() < 0.6)
    spreads = np.exp(draw.normal(0, 0.08, streams))
    slope = 2.0 if wear else 0.0  # in SD over a tool's life
    quantiles = [
        _quantiles(dist, float(o), float(s), slope, bounded)
        for o, s in zip(offsets, spreads, strict=True)
    ]
    lower, upper = _limits(quantiles, level, bounded)
    truth = _worst(quantiles, lower, upper)

    # Rows of a subgroup are consecutive parts; a stroke makes a part of every stream in turn.
    starts = np.arange(n // 5) * every
    stroke = (starts[:, None] + np.arange(5)).ravel()
    if streams > 1:
        stroke = np.repeat(starts, 5) + np.tile(np.arange(5), n // 5)
    # Subgroups within a stream: the stations take turns by subgroup where there are several.
    lane = np.repeat(np.arange(n // 5) % streams, 5)
    life = max(int(stroke[-1]) // 3, 1)
    y = dist.rvs(size=stroke.size, random_state=draw)
    # Beside a bound streams differ by a factor, elsewhere by level and spread.
    centre = 0.0 if bounded else float(dist.median())
    y = offsets[lane] + (y - centre) * spreads[lane] + centre
    y = y + slope * ((stroke % life) / life - 0.5)
    low = None if lower is None else middle + unit * lower
    high = middle + unit * upper
    tolerance = high - (low if low is not None else middle)
    repeat = min(0.008 * tolerance, 0.12 * unit)
    grid = 10.0 ** np.floor(np.log10(step * unit) + 1e-9)
    value = middle + unit * y + draw.normal(0, repeat, stroke.size)
    if bounded:
        value = np.abs(value)
    value = np.round(np.round(value / grid) * grid, 6)
    ok = value <= high
    if low is not None:
        ok &= value >= low

    coils = int(draw.choice([4, 8, 15]))
    run = pd.DataFrame(
        {
            "stroke": stroke + 1,
            "time": pd.Timestamp("2026-03-02 06:00")
            + pd.to_timedelta(np.round(stroke * 0.2, 1), unit="s"),
            "coil": np.char.add("K", (stroke * coils // (stroke[-1] + 1) + 1).astype(str)),
            "width": value,
            "verdict": np.where(ok, "ok", "nok"),
        }
    )
    if streams > 1:
        run["station"] = np.array(list("ABCD"))[lane]
    tables = {"run": run}

    lines = ["format = 1", "[study]", f'title = "Plant {seed}"', 'part = "P-1"', "seed = 1"]
    lines += ["[[characteristic]]", 'id = "width"', 'name = "Width"', 'unit = "mm"']
    lines += [f"upper = {float(high)!r}", "special = true"]
    lines += ["bound = 0.0"] if low is None else [f"lower = {float(low)!r}"]
    lines += ["[[gauge]]", 'id = "cam"', 'name = "Camera"', f"resolution = {float(grid)!r}"]
    if wear:
        for k in (1, 2):
            lines += ["[[event]]", 'name = "regrind"', f"at = {k * life + 1}", "resets = true"]
    lines += ["[[data]]", 'role = "run"', 'gauge = "cam"', 'file = "run.csv"', 'order = "stroke"']
    lines += ['columns = { width = "width" }', f"subgroup = {{ size = 5, every = {every} }}"]
    lines += ['time = "time"', 'coil = "coil"', 'verdict = "verdict"']
    lines += ['accept = ["ok"]', 'reject = ["nok"]']
    lines += ['station = "station"'] if streams > 1 else []

    # Gauge: parts of the run, three people or two, two trials or three.
    people, trials = ((3, 3), (3, 2), (2, 3))[int(draw.integers(3))]
    part, who, trial = (a.ravel() for a in np.indices((10, people, trials)))
    sizes = draw.choice(value, 10, replace=False) + draw.uniform(-0.5, 0.5, 10) * grid
    read = (
        sizes[part] + draw.normal(0, 0.2 * repeat, people)[who] + draw.normal(0, repeat, part.size)
    )
    crossed = pd.DataFrame(
        {"part": part + 1, "who": np.array(list("XYZ"))[who], "trial": trial + 1}
    )
    crossed["width"] = np.round(np.abs(np.round(read / grid) * grid), 6)
    tables["crossed"] = crossed
    lines += [
        "[[data]]",
        'role = "crossed"',
        'gauge = "cam"',
        'file = "crossed.csv"',
        'part = "part"',
    ]
    lines += ['appraiser = "who"', 'trial = "trial"', 'columns = { width = "width" }']
    master = np.repeat(np.linspace(middle + 0.1 * tolerance if low is None else low, high, 5), 10)
    read = master + draw.normal(0, repeat, 50)
    tables["masters"] = pd.DataFrame(
        {"master": np.round(master, 6), "width": np.round(np.round(read / grid) * grid, 6)}
    )
    lines += ["[[data]]", 'role = "reference"', 'gauge = "cam"', 'file = "masters.csv"']
    lines += ['reference = "master"', 'columns = { width = "width" }']
    lines += [f"reference_uncertainty = {float(0.1 * repeat)!r}"]
    drift = bool(draw.random() < 0.5)
    if drift:
        at = np.linspace(1, stroke[-1], 40).astype(int)
        read = (middle + unit * 3) + draw.normal(0, repeat, 40)
        tables["drift"] = pd.DataFrame(
            {"stroke": at, "width": np.round(np.round(read / grid) * grid, 6)}
        )
        lines += ["[[data]]", 'role = "drift"', 'gauge = "cam"', 'file = "drift.csv"']
        lines += ['order = "stroke"', 'columns = { width = "width" }']
        lines += [f"reference = {float(middle + unit * 3)!r}"]
        lines += [f"reference_uncertainty = {float(0.1 * repeat)!r}"]
    bins = bool(draw.random() < 0.5)
    if bins:
        # The bins hold all parts of the run, of which those in the file are a sample.
        made = every * streams if every > 5 else 5
        share = _share_outside(dist, centre, offsets, spreads, lower, upper)
        total = (stroke[-1] + made) // coils
        bad = draw.binomial(total, share, coils)
        tables["bins"] = pd.DataFrame(
            {
                "period": [f"K{k + 1}" for k in range(coils)],
                "accepted": total - bad,
                "rejected": bad,
            }
        )
        lines += ["[[data]]", 'role = "bins"', 'file = "bins.csv"', 'period = "period"']
        lines += ['accepted = "accepted"', 'rejected = "rejected"']
    truths = {"width": truth}
    pulled = bool(draw.random() < 0.3)
    if pulled:
        truths["force"] = level
        lines += _pulled(draw, level, tables)
    short = bool(draw.random() < 0.2)
    if short:
        # Fifty parts in a row with nothing touched, of the first stream.
        y = offsets[0] + (dist.rvs(size=50, random_state=draw) - centre) * spreads[0] + centre
        y = middle + unit * y + draw.normal(0, repeat, 50)
        y = np.abs(y) if bounded else y
        tables["short"] = pd.DataFrame(
            {"part": range(1, 51), "width": np.round(np.round(y / grid) * grid, 6)}
        )
        lines += [
            "[[data]]",
            'role = "machine"',
            'gauge = "cam"',
            'file = "short.csv"',
            'order = "part"',
        ]
        lines += ['columns = { width = "width" }']
    what = {
        "level": level, "n": n, "shape": shape, "streams": streams, "step": step, "wear": wear,
        "coils": coils, "drift": drift, "bins": bins, "pulled": pulled, "short": short,
    }  # fmt: skip
    return Plant(what, truths, "\n".join(lines) + "\n", tables)


def decided(folder: Path) -> dict[str, Any]:
    """Verdicts on a folder of unsorted parts from what the rules read alone, in a third of the time of all findings."""
    from functools import partial

    from linestudy import open_study, read
    from linestudy.capability import evaluation as capability
    from linestudy.gauges.evaluation import evaluate as of_gauges
    from linestudy.results import Findings
    from linestudy.stability.evaluation import TIME_MODEL
    from linestudy.stability.runs import RunOfParts
    from linestudy.verdict.evaluation import evaluate as judge

    study = open_study(folder)
    records = read(study)
    study = records.timed(study)
    found = of_gauges(study, records, Findings())
    for item in study.characteristics:
        table = records.table("run", item.id)
        if table is None:
            continue
        found.evaluate(item.id, TIME_MODEL, RunOfParts(study, item, table).time_model)
        short = records.table("machine", item.id)
        if short is not None:
            of_short = partial(capability._machine, study, item, short)
            found.evaluate(item.id, capability.MACHINE, of_short)
    for source in records.sources:
        if source.data.role == "run" and "accepted" in source.frame:
            of_verdicts = partial(capability._yield, study, source.frame, found, found)
            found.evaluate(None, capability.YIELD, of_verdicts)
        if source.data.role == "bins":
            found.evaluate(None, capability.BINS, partial(capability._bins, study, records))
    verdicts = judge(study, records, found)
    return {item.id: verdicts.get(item.id, "verdict") for item in study.characteristics}


def _quantiles(
    dist: Any, offset: float, spread: float, slope: float, bounded: bool
) -> tuple[float, float, float]:
    """0.135, 50 and 99.865 % of a stream over whole lives of its tool."""
    from scipy.optimize import brentq

    middle = 0.0 if bounded else float(dist.median())
    along = slope * ((np.arange(400) + 0.5) / 400 - 0.5)

    def share(x: float, p: float) -> float:
        return float(np.mean(dist.cdf((x - offset - along - middle) / spread + middle))) - p

    return tuple(  # type: ignore[return-value]
        brentq(share, middle - 40, middle + 60, args=(p,)) for p in (0.00135, 0.5, 0.99865)
    )


def _share_outside(
    dist: Any, middle: float, offsets: Any, spreads: Any, lower: float | None, upper: float
) -> float:
    ends = [dist.sf((upper - offsets - middle) / spreads + middle)]
    if lower is not None:
        ends.append(dist.cdf((lower - offsets - middle) / spreads + middle))
    return float(np.mean(sum(ends)))


def _pulled(draw: Any, level: float, tables: dict[str, pd.DataFrame]) -> list[str]:
    """Welds pulled to destruction along the run: a lower limit, coils that differ by a little."""
    coils, each = 12, 15
    coil = np.repeat(np.arange(coils), each)
    force = 90 + 4 * draw.normal(size=coil.size)
    lower = 90 - level * 3 * 4
    tables["force"] = pd.DataFrame(
        {
            "stroke": np.arange(coil.size) * 100 + 50,
            "coil": np.char.add("K", (coil + 1).astype(str)),
            "force": np.round(force, 1),
        }
    )
    weights = np.repeat([50.0, 70.0, 90.0, 110.0], 10)
    tables["weights"] = pd.DataFrame(
        {"master": weights, "force": np.round(weights + draw.normal(0, 0.3, 40), 1)}
    )
    batch = np.repeat(np.arange(10), 6)
    who = np.tile(np.repeat(["X", "Y"], 3), 10)
    pairs = 90 + draw.normal(0, 4, 10)[batch] + draw.normal(0, 0.4, 60)
    tables["batches"] = pd.DataFrame({"batch": batch + 1, "who": who, "force": np.round(pairs, 1)})
    lines = ["[[characteristic]]", 'id = "force"', 'name = "Pull force"', 'unit = "N"']
    lines += [
        f"lower = {lower!r}",
        "[[gauge]]",
        'id = "cell"',
        'name = "Load cell"',
        "resolution = 0.1",
    ]
    lines += [
        "[[data]]",
        'role = "run"',
        'gauge = "cell"',
        'file = "force.csv"',
        'order = "stroke"',
    ]
    lines += [
        'coil = "coil"',
        'columns = { force = "force" }',
        "subgroup = { size = 5, every = 500 }",
    ]
    lines += ["[[data]]", 'role = "reference"', 'gauge = "cell"', 'file = "weights.csv"']
    lines += [
        'reference = "master"',
        'columns = { force = "force" }',
        "reference_uncertainty = 0.05",
    ]
    lines += ["[[data]]", 'role = "nested"', 'gauge = "cell"', 'file = "batches.csv"']
    lines += ['levels = ["batch"]', 'appraiser = "who"', 'columns = { force = "force" }']
    return lines
