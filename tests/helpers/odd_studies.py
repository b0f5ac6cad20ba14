"""Studies unlike the sample: gauges alone, a study that is still planned, no limits, a sorted two-lane tool in inches."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
from own_studies import write_study


def _crossed(rng: np.random.Generator, name: str, middle: float, sds: tuple[float, ...], step: int):
    of_parts, of_people, of_readings = sds
    people = {who: rng.normal(0, of_people) for who in ("Ada", "Bo", "Cy")}
    rows = [
        (part, who, trial, round(value + shift + rng.normal(0, of_readings), step))
        for part, value in enumerate(rng.normal(middle, of_parts, 10), start=1)
        for who, shift in people.items()
        for trial in (1, 2)
    ]
    return pd.DataFrame(rows, columns=["part", "who", "trial", name])


_CROSSED = """
[[data]]
role = "crossed"
gauge = "{gauge}"
file = "{file}"
columns = {{ {key} = "{column}" }}
part = "part"
appraiser = "who"
trial = "trial"
"""


def write_gauges(folder: Path) -> Path:
    """A good gauge and a bad one, no process, 90 % confidence, a certificate that is over."""
    rng = np.random.default_rng(1)
    text = """
format = 1
[study]
title = "Two gauges"
part = "Bushing"
revision = "02"
date = "2026-05-04"
confidence = 0.90
[[characteristic]]
id = "bore"
name = "Bore"
unit = "mm"
lower = 11.98
upper = 12.03
[[characteristic]]
id = "hard"
name = "Hardness"
unit = "HV"
lower = 150
upper = 220
[[gauge]]
id = "air"
name = "Air gauge"
resolution = 0.0001
unit = "mm"
due = "2026-02-01"
[[gauge]]
id = "hv"
name = "Hardness tester"
resolution = 1
unit = "HV"
[[data]]
role = "reference"
gauge = "air"
file = "rings.csv"
columns = { bore = "reading" }
reference = "certified"
"""
    text += _CROSSED.format(gauge="air", file="bore.csv", key="bore", column="Bore")
    text += _CROSSED.format(gauge="hv", file="hard.csv", key="hard", column="HV")
    rings = [(m, round(m + rng.normal(0, 0.0004), 4)) for m in (11.98, 12.03) for _ in range(12)]
    return write_study(
        folder,
        text,
        {
            "rings": pd.DataFrame(rings, columns=["certified", "reading"]),
            "bore": _crossed(rng, "Bore", 12.005, (0.008, 0.0001, 0.0003), 4),
            "hard": _crossed(rng, "HV", 185.0, (9.0, 2.0, 6.0), 0),
        },
    )


def write_planned(folder: Path) -> Path:
    """Only readings of one master are there; all else is planned."""
    rng = np.random.default_rng(2)
    text = """
format = 1
[study]
title = "Before the trial run"
part = "Hinge plate"
revision = "0"
[[characteristic]]
id = "hole"
name = "Hole diameter"
unit = "mm"
lower = 3.15
upper = 3.25
[[characteristic]]
id = "flat"
name = "Flatness"
unit = "mm"
upper = 0.1
bound = 0
[[characteristic]]
id = "burr"
name = "Burr"
[[gauge]]
id = "pin"
name = "Pin camera"
resolution = 0.001
unit = "mm"
[[data]]
role = "reference"
gauge = "pin"
file = "masters.csv"
columns = { hole = "reading" }
reference = "certified"
[[data]]
role = "run"
planned = true
gauge = "pin"
file = "run.csv"
columns = { hole = "hole", flat = "flat" }
order = "n"
"""
    readings = [(3.2, round(3.2 + rng.normal(0.0004, 0.0006), 3)) for _ in range(25)]
    return write_study(
        folder,
        text,
        {"masters": pd.DataFrame(readings, columns=["certified", "reading"])},
    )


def write_unlimited(folder: Path) -> Path:
    """Thirty readings that nothing is asked of."""
    rng = np.random.default_rng(4)
    text = """
format = 1
[study]
title = "Strip as delivered"
part = "Strip"
revision = "A"
[[characteristic]]
id = "t"
name = "Thickness"
unit = "mm"
[[gauge]]
id = "mic"
name = "Micrometer"
resolution = 0.001
unit = "mm"
[[data]]
role = "run"
gauge = "mic"
file = "d.csv"
columns = { t = "t" }
order = "n"
"""
    values = np.round(rng.normal(0.8, 0.004, 30), 3)
    return write_study(folder, text, {"d": pd.DataFrame({"n": np.arange(1, 31), "t": values})})


def write_lanes(folder: Path, hits: int = 600) -> Path:
    """A two-lane tool in inches, sorted, with a failing width, criteria by class, a layout, attachments, judgement by eye."""
    rng = np.random.default_rng(3)
    text = """
format = 1
[study]
title = "Two lanes"
part = "Spring bracket"
revision = "F"
date = "2026-06-30"
line_rate = 120
[tool]
parts_per_stroke = 2
[criteria.special]
capability_accept = 2.0
source = "Supplier manual, 4.2"
[criteria.other]
capability_accept = 1.33
capability_review = 1.0
source = "Supplier manual, 4.3"
[[characteristic]]
id = "width"
name = "Tab width"
number = "1"
unit = "in"
nominal = 0.25
lower = 0.2465
upper = 0.2535
special = true
[[characteristic]]
id = "angle"
name = "Bend angle"
number = "4"
unit = "°"
nominal = 90
lower = 88
upper = 92
[[characteristic]]
id = "scratch"
name = "Scratches & dents (<2 s>)"
number = "10"
[[gauge]]
id = "cam"
name = "Camera"
resolution = 0.00001
unit = "in"
[[gauge]]
id = "prot"
name = "Protractor"
resolution = 0.01
unit = "°"
[[data]]
role = "run"
gauge = "cam"
file = "run.csv"
columns = { width = "width" }
order = "hit"
station = "lane"
coil = "coil"
verdict = "sorter"
accept = ["good"]
reject = ["reject"]
reason = "why"
subgroup = { size = 5, every = 25 }
[[data]]
role = "run"
gauge = "prot"
file = "run.csv"
columns = { angle = "angle" }
order = "hit"
station = "lane"
coil = "coil"
subgroup = { size = 5, every = 25 }
[[data]]
role = "attribute"
characteristic = "scratch"
file = "scratch.csv"
part = "part"
appraiser = "who"
trial = "trial"
judgement = "judgement"
reference = "truth"
accept = ["ok"]
reject = ["no"]
[[data]]
role = "layout"
file = "layout.csv"
accept = ["ok"]
reject = ["nok"]
layout = { number = "No", name = "Feature", nominal = "Nominal", lower = "LSL", upper = "USL", unit = "Unit", values = ["P1", "P2"] }
[[attachment]]
title = "Flow chart"
file = "flow.txt"
"""
    text += _CROSSED.format(gauge="cam", file="w.csv", key="width", column="width")
    text += _CROSSED.format(gauge="prot", file="a.csv", key="angle", column="angle")
    rows = []
    for hit in range(1, hits + 1):
        for lane, middle, sd, tilt in (("L", 0.2502, 0.0009, 0.0), ("R", 0.2489, 0.0011, 0.4)):
            width = round(rng.normal(middle, sd), 5)
            bad = not 0.2465 <= width <= 0.2535
            rows.append(
                (
                    hit,
                    lane,
                    f"C{100 + hit // 150}",
                    width,
                    round(rng.normal(90 + tilt, 0.35), 2),
                    "reject" if bad else "good",
                    "width" if bad else "",
                )
            )
    judged = []
    for part in range(1, 51):
        truth = "ok" if part <= 30 else "no"
        other = "no" if truth == "ok" else "ok"
        for who, wrong in (("Ada", 0.02), ("Bo", 0.15)):
            for trial in (1, 2):
                said = truth if rng.random() > wrong else other
                judged.append((part, who, trial, said, truth))
    layout = [
        ("2", "Overall length", "1.2500", "1.2450", "1.2550", "in", "1.2500", "1.2498"),
        ("3", "Hole to edge", "0.3750", "0.3720", "0.3780", "in", "0.3751", "0.3785"),
        ("6", "Marking", "", "", "", "", "ok", "ok"),
        ("7", "Plating", "", "0.0001", "", "in", "", ""),
    ]
    run = pd.DataFrame(rows, columns=["hit", "lane", "coil", "width", "angle", "sorter", "why"])
    write_study(
        folder,
        text,
        {
            "run": run,
            "w": _crossed(rng, "width", 0.2495, (0.0012, 0.00005, 0.0001), 5),
            "a": _crossed(rng, "angle", 90.0, (0.5, 0.02, 0.05), 2),
            "scratch": pd.DataFrame(judged, columns=["part", "who", "trial", "judgement", "truth"]),
            "layout": pd.DataFrame(
                layout, columns=["No", "Feature", "Nominal", "LSL", "USL", "Unit", "P1", "P2"]
            ),
        },
    )
    (folder / "flow.txt").write_text("flow", encoding="utf-8")
    return folder
