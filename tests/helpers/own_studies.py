"""Two studies of our own that put every searched number to work, written without the library.

They are no examples of good practice: one is full of shapes that lie between families, mixtures,
cuts and readings missing; the other of small samples, coarse steps and a third factor.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

#: Head of a study.toml.
STUDY = """format = 1
[study]
title = "{title}"
part = "{title}"
line_rate = 300
seed = {seed}
"""


def write_shapes(folder: Path, seed: int = 11) -> Path:
    """Skewed, heavy-tailed, bounded, mixed and sorted characteristics of one run, and their gauges."""
    draw = np.random.default_rng(seed)
    n = 2500
    station = np.where(np.arange(n) % 2, "A", "B")
    level = np.repeat(draw.normal(0, 0.4, 10), n // 10)
    sorted_values = draw.normal(5, 0.05, 3 * n)
    run = pd.DataFrame(
        {
            "stroke": np.arange(1, n + 1),
            "station": station,
            "coil": np.repeat([f"C{k}" for k in range(1, 11)], n // 10),
            "skew": 2 + 0.1 * draw.gamma(3.0, 1.0, n),
            "heavy": 10 + 0.02 * draw.standard_t(5, n) + 0.01 * level,
            "offset": np.abs(draw.normal(0.01, 0.02, n)),
            "mixed": 4 + 0.03 * draw.normal(size=n) + np.where(station == "A", 0.05, -0.05),
            "cut": sorted_values[np.abs(sorted_values - 5) < 0.09][:n],
            "coarse": np.round(7 + 0.01 * draw.normal(size=n), 2),
        }
    )
    limits = {
        "skew": (1.9, 3.6, None),
        "heavy": (9.8, 10.2, None),
        "offset": (None, 0.12, 0.0),
        "mixed": (3.75, 4.25, None),
        "cut": (4.91, 5.09, None),
        "coarse": (6.95, 7.05, None),
    }
    text = STUDY.format(title="Shapes", seed=seed)
    for name, (lower, upper, bound) in limits.items():
        text += f'\n[[characteristic]]\nid = "{name}"\nname = "{name.title()}"\nunit = "mm"\n'
        text += "".join(
            f"{key} = {value}\n"
            for key, value in (("lower", lower), ("upper", upper), ("bound", bound))
            if value is not None
        )
    text += '\n[[gauge]]\nid = "eye"\nname = "Camera"\nresolution = 0.0001\nunit = "mm"\n'
    text += '\n[[data]]\nrole = "run"\ngauge = "eye"\nfile = "run.csv"\norder = "stroke"\n'
    text += 'station = "station"\ncoil = "coil"\nsubgroup = { size = 5, every = 25 }\n'
    columns = ", ".join(f'{name} = "{name}"' for name in limits)
    text += f"columns = {{ {columns} }}\n"

    part = np.repeat(np.arange(10), 9)
    appraiser = np.tile(np.repeat(["a", "b", "c"], 3), 10)
    truth = draw.normal(2.3, 0.2, 10)[part]
    crossed = pd.DataFrame(
        {
            "part": part,
            "appraiser": appraiser,
            "trial": np.tile([1, 2, 3], 30),
            "skew": truth + draw.normal(0, 0.01, 90) + (appraiser == "b") * 0.006,
            "heavy": 10 + 0.02 * (truth - 2.3) + 0.004 * draw.standard_t(4, 90),
        }
    )
    # A reading here and there is missing, so that the components come from a search.
    crossed.loc[[4, 31, 32, 77], "skew"] = np.nan
    text += '\n[[data]]\nrole = "crossed"\ngauge = "eye"\nfile = "crossed.csv"\npart = "part"\n'
    text += (
        'appraiser = "appraiser"\ntrial = "trial"\ncolumns = { skew = "skew", heavy = "heavy" }\n'
    )
    return write_study(folder, text, {"run": run, "crossed": crossed})


def write_small(folder: Path, seed: int = 12) -> Path:
    """Small samples: masters, drift, two gauges, judgements, a nested test, a third factor, a short run."""
    draw = np.random.default_rng(seed)
    masters = np.repeat([1.9, 2.0, 2.1, 2.2, 2.3], 8)
    reference = pd.DataFrame(
        {"master": masters, "y": masters + 0.02 * (masters - 2) + draw.normal(0, 0.004, 40)}
    )
    drift = pd.DataFrame(
        {
            "stroke": np.arange(0, 40_000, 1000),
            "y": 2.1 + 1e-7 * np.arange(0, 40_000, 1000) + draw.normal(0, 0.003, 40),
        }
    )
    true = draw.normal(2.1, 0.06, 30)
    paired = pd.DataFrame(
        {
            "part": range(30),
            "eye": true * 1.01 + draw.normal(0, 0.004, 30),
            "cmm": true + draw.normal(0, 0.002, 30),
        }
    )
    size = np.repeat(np.linspace(1.8, 2.4, 20), 4)
    judged = pd.DataFrame(
        {
            "part": np.repeat(range(20), 4),
            "who": np.tile(["a", "a", "b", "b"], 20),
            "trial": np.tile([1, 2, 1, 2], 20),
            "size": size,
            "call": np.where(size + draw.normal(0, 0.04, 80) < 2.3, "ok", "nok"),
            "truth": np.where(size < 2.3, "ok", "nok"),
        }
    )
    coil = np.repeat(range(6), 6)
    pull = pd.DataFrame(
        {
            "coil": coil,
            "strip": np.tile(np.repeat([1, 2, 3], 2), 6),
            "force": 80 + draw.normal(0, 2, 6)[coil] + draw.normal(0, 3, 36),
        }
    )
    day = np.tile(np.repeat(["mon", "tue"], 2), 24)
    third = pd.DataFrame(
        {
            "part": np.repeat(range(8), 12),
            "who": np.tile(np.repeat(["a", "b", "c"], 4), 8),
            "day": day,
            "trial": np.tile([1, 2], 48),
            "y": draw.normal(2.1, 0.06, 8)[np.repeat(range(8), 12)]
            + draw.normal(0, 0.004, 96)
            + (day == "tue") * 0.003,
        }
    )
    short = pd.DataFrame({"y": np.round(draw.normal(2.1, 0.03, 50), 3)})
    text = (
        STUDY.format(title="Small", seed=seed)
        + """
[[characteristic]]
id = "width"
name = "Width"
unit = "mm"
lower = 1.9
upper = 2.3
[[characteristic]]
id = "force"
name = "Pull force"
unit = "N"
lower = 60
[[characteristic]]
id = "look"
name = "Look"
[[gauge]]
id = "eye"
name = "Camera"
resolution = 0.001
unit = "mm"
expanded_uncertainty = 0.004
[[gauge]]
id = "cmm"
name = "CMM"
[[data]]
role = "reference"
gauge = "eye"
file = "reference.csv"
reference = "master"
reference_uncertainty = 0.001
columns = { width = "y" }
[[data]]
role = "drift"
gauge = "eye"
file = "drift.csv"
order = "stroke"
columns = { width = "y" }
[[data]]
role = "paired"
gauges = ["eye", "cmm"]
file = "paired.csv"
part = "part"
columns = { width = ["eye", "cmm"] }
[[data]]
role = "attribute"
characteristic = "look"
file = "judged.csv"
part = "part"
appraiser = "who"
trial = "trial"
judgement = "call"
reference = "truth"
accept = ["ok"]
[[data]]
role = "nested"
file = "pull.csv"
levels = ["coil", "strip"]
columns = { force = "force" }
[[data]]
role = "crossed"
gauge = "eye"
file = "third.csv"
part = "part"
appraiser = "who"
factor = "day"
trial = "trial"
columns = { width = "y" }
[[data]]
role = "machine"
gauge = "eye"
file = "short.csv"
columns = { width = "y" }
"""
    )
    return write_study(
        folder,
        text,
        {
            "reference": reference,
            "drift": drift,
            "paired": paired,
            "judged": judged,
            "pull": pull,
            "third": third,
            "short": short,
        },
    )


def write_study(folder: Path, text: str, tables: dict[str, pd.DataFrame]) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False)
    return folder
