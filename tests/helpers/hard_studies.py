"""Two studies made to bring out choices that hang on last digits, written without the library.

One is full of ties: values that lie the same about their middle, parts and appraisers that are alike,
constants, one reading, steps as coarse as the spread. The other is a line of 30,000 parts: sorted, worn, walking,
flat-topped, and mixtures that are none.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
from own_studies import STUDY, write_study
from scipy.special import ndtri

_DATA = '\n[[data]]\nrole = "{role}"\nfile = "{role}{more}.csv"\n'


def _characteristic(
    name: str, lower: float | None, upper: float | None, bound: float | None = None, more: str = ""
) -> str:
    text = f'\n[[characteristic]]\nid = "{name}"\nname = "{name.title()}"\nunit = "mm"\n'
    for key, value in (("lower", lower), ("upper", upper), ("bound", bound)):
        text += f"{key} = {value}\n" if value is not None else ""
    return text + more


def write_ties(folder: Path, seed: int = 21) -> Path:
    """Whatever can be the same twice, is."""
    draw = np.random.default_rng(seed)
    n = 600
    # The same on both sides of the middle: skewed to the left fits as well as skewed to the right.
    even = draw.permutation(ndtri((np.arange(n) + 0.5) / n))
    normal = draw.normal(size=n)
    angle = draw.uniform(0, 2 * np.pi, n)
    run = pd.DataFrame(
        {
            "stroke": np.arange(1, n + 1),
            "station": np.where(np.arange(n) % 2, "A", "B"),
            "coil": np.repeat(["x", "y", "z"], n // 3),
            "even": 8 + 0.25 * np.round(even * 64) / 64,
            # So far from nought that normal, lognormal, gamma and their like can hardly be told apart.
            "far": 50 + 0.01 * normal,
            "same": 3.5,
            "three": 6 + 0.01 * np.round(0.6 * normal),
            "two": 6 + 0.01 * (np.arange(n) % 2),
            "peaks": 4 + np.where(np.arange(n) % 2, 0.03, -0.03) + 0.015 * even,
            "single": np.where(np.arange(n) == 17, 1.25, np.nan),
            "few": np.where(np.arange(n) % 60 == 0, 2 + 0.01 * normal, np.nan),
            "zero": np.maximum(np.round(0.01 * normal, 3), 0.0),
            "x": 0.02 * normal + 0.005,
            "y": 0.02 * np.roll(normal, 1) * np.cos(angle),
        }
    )
    limits = {
        "even": (6.5, 9.5, None),
        "far": (49.95, 50.05, 0.0),
        "same": (3.0, 4.0, None),
        "three": (5.97, 6.03, None),
        "two": (5.9, 6.1, None),
        "peaks": (3.85, 4.15, None),
        "single": (1.0, 1.5, None),
        "few": (1.9, 2.1, None),
        "zero": (None, 0.06, 0.0),
    }
    text = STUDY.format(title="Ties", seed=seed)
    for name, (lower, upper, bound) in limits.items():
        text += _characteristic(name, lower, upper, bound)
    text += _characteristic("place", None, 0.15, 0.0, "position = { at = [0, 0] }\n")
    text += '\n[[characteristic]]\nid = "look"\nname = "Look"\n'
    text += '\n[[gauge]]\nid = "eye"\nname = "Camera"\nresolution = 0.001\nunit = "mm"\n'
    text += '\n[[gauge]]\nid = "cmm"\nname = "CMM"\n'
    text += _DATA.format(role="run", more="") + 'gauge = "eye"\norder = "stroke"\n'
    text += 'station = "station"\ncoil = "coil"\nsubgroup = { size = 5, every = 10 }\n'
    names = ", ".join(f'{name} = "{name}"' for name in limits)
    text += f'columns = {{ {names}, place = ["x", "y"] }}\n'

    # Parts in pairs, appraisers with the same mean, readings in whole steps: whoever is left out, it is the same.
    part, appraiser, trial = (at.ravel() for at in np.indices((8, 3, 2)))
    step = np.array([-2, -2, -1, -1, 1, 1, 2, 2])[part]
    twin = (appraiser + part) % 3 - 1
    crossed = pd.DataFrame(
        {
            "part": part,
            "who": appraiser,
            "trial": trial,
            "even": 8 + 0.1 * step + 0.01 * twin * (2 * trial - 1),
            "same": 3.5,
            "far": 50 + 0.01 * step + 0.001 * (trial == 1) * twin,
            "three": 6.0 + 0.01 * (appraiser == 1),
        }
    )
    crossed.loc[[3, 44], "far"] = np.nan
    text += _DATA.format(role="crossed", more="") + 'gauge = "eye"\npart = "part"\n'
    text += 'appraiser = "who"\ntrial = "trial"\n'
    text += 'columns = { even = "even", same = "same", far = "far", three = "three" }\n'

    masters = np.repeat([7.0, 8.0, 9.0], 6)
    wobble = np.tile([-1, 1, 0, 0, 1, -1], 3)
    reference = pd.DataFrame(
        {"master": masters, "even": masters + 0.01 * wobble, "same": np.full(18, 3.5)}
    )
    text += _DATA.format(role="reference", more="") + 'gauge = "eye"\nreference = "master"\n'
    text += 'columns = { even = "even" }\n'
    paired = pd.DataFrame({"part": range(20), "a": 8 + 0.01 * np.arange(20)})
    paired["b"] = paired["a"] + 0.002 * (np.arange(20) % 2)
    text += _DATA.format(role="paired", more="") + 'gauges = ["eye", "cmm"]\npart = "part"\n'
    text += 'columns = { even = ["a", "b"] }\n'
    judged = pd.DataFrame(
        {
            "part": np.repeat(range(12), 6),
            "who": np.tile(np.repeat(["a", "b", "c"], 2), 12),
            "trial": np.tile([1, 2], 36),
        }
    )
    judged["truth"] = np.where(judged["part"] < 6, "ok", "nok")
    turned = (judged["part"] % 3 == 0) & (judged["trial"] == 2)
    judged["call"] = np.where((judged["truth"] == "ok") ^ turned, "ok", "nok")
    text += _DATA.format(role="attribute", more="") + 'characteristic = "look"\npart = "part"\n'
    text += 'appraiser = "who"\ntrial = "trial"\njudgement = "call"\nreference = "truth"\naccept = ["ok"]\n'
    coil, strip, _ = (at.ravel() for at in np.indices((5, 3, 2)))
    nested = pd.DataFrame({"coil": coil, "strip": strip, "far": 50 + 0.01 * (coil % 2)})
    nested["far"] += 0.005 * (strip - 1)
    text += _DATA.format(role="nested", more="") + 'levels = ["coil", "strip"]\n'
    text += 'columns = { far = "far" }\n'
    machine = pd.DataFrame({"even": 8 + 0.2 * np.round(ndtri((np.arange(50) + 0.5) / 50), 1)})
    text += _DATA.format(role="machine", more="") + 'gauge = "eye"\ncolumns = { even = "even" }\n'
    tables = {"run": run, "crossed": crossed, "reference": reference, "paired": paired}
    tables |= {"attribute": judged, "nested": nested, "machine": machine}
    return write_study(folder, text, tables)


def write_line(folder: Path, seed: int = 22) -> Path:
    """A line of 30,000 parts, sorted, with wear, stops and readings missing."""
    draw = np.random.default_rng(seed)
    n = 30_000
    at = np.arange(n)
    walk = np.zeros(n)
    push = draw.normal(size=n)
    for i in range(1, n):
        walk[i] = 0.97 * walk[i - 1] + push[i]
    coil = at // 3000
    station = at % 3
    made = {
        "wear": 2 + 0.02 * (at % 10_000) / 10_000 + 0.004 * draw.normal(size=n),
        "walk": 7 + 0.002 * walk + 0.004 * draw.normal(size=n) + 0.004 * (station == 1),
        # Two levels nearer than their spread: no test tells them apart.
        "near": 5 + 0.01 * draw.normal(size=n) + 0.007 * (coil % 2),
        "none": 4 + 0.01 * draw.normal(size=n),
        "flat": 9 + 0.05 * draw.beta(1.3, 1.3, n),
        "skew": 0.02 + 0.01 * draw.gamma(1.6, 1.0, n),
    }
    run = pd.DataFrame(made | {"stroke": 5 * at + 1000, "coil": coil, "station": station})
    run["stop"] = np.searchsorted(np.sort(draw.choice(n, 25, replace=False)), at)
    limits = {
        "wear": (1.985, 2.035, None),
        "walk": (6.97, 7.04, None),
        "near": (4.96, 5.05, None),
        "none": (3.96, 4.04, None),
        "flat": (8.99, 9.06, None),
        "skew": (None, 0.12, 0.0),
    }
    bad = np.zeros(n, dtype=bool)
    for name, (lower, upper, _) in limits.items():
        bad |= run[name] > upper
        bad |= (run[name] < lower) if lower is not None else False
        run[name] = run[name].round(4)
    run["verdict"] = np.where(bad, "nok", "ok")
    for name in limits:
        # Rejected parts were not measured: what is left is cut at the limits.
        run.loc[bad if name in ("none", "skew") else draw.choice(n, 40), name] = np.nan
    text = STUDY.format(title="Line", seed=seed)
    for name, (lower, upper, bound) in limits.items():
        text += _characteristic(name, lower, upper, bound)
    text += '\n[[gauge]]\nid = "eye"\nname = "Camera"\nresolution = 0.0001\nunit = "mm"\n'
    text += _DATA.format(role="run", more="") + 'gauge = "eye"\norder = "stroke"\n'
    text += 'station = "station"\ncoil = "coil"\nstop = "stop"\nverdict = "verdict"\n'
    text += 'accept = ["ok"]\nreject = ["nok"]\nsubgroup = { size = 5, every = 50 }\n'
    names = ", ".join(f'{name} = "{name}"' for name in limits)
    text += f"columns = {{ {names} }}\n"
    text += '\n[[event]]\nname = "tool changed"\nat = 51000\n'
    return write_study(folder, text, {"run": run})
