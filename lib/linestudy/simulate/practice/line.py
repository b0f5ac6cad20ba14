"""The honest study that faults are planted in: one line, three measured characteristics, one judged.

Everything is small, so that a class of thirty is written in a minute, and far from every criterion, so that a decision
turns on the faults and on nothing else: without them each index is about 2.5 and %GRR about 6 % of tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

PARTS = 2_400
COILS = 6
BEGIN = "2026-06-08T06:00:00"
LANES = ("L", "R")
PEOPLE = ("Ada", "Ben", "Cem")
#: Strokes that an exclusion takes: fewer than the share of the readings that asks for approval by itself.
SET_ASIDE = (70, 110)
#: Days from the calibration's end to the run, where it has not ended yet.
STILL_GOOD = 200


@dataclass(frozen=True)
class Feature:
    """A measured characteristic as it is made and read.

    Attributes
    ----------
    id, name : str
    level, sd : float
        [mm]
    lower : float or None
    upper : float
        Limits of the drawing.
    """

    id: str
    name: str
    level: float
    sd: float
    lower: float | None
    upper: float

    @property
    def tolerance(self) -> float:
        """Width between the limits, or from nought to the only one."""
        return self.upper - (self.lower or 0.0)


FEATURES = {
    "width": Feature("width", "Width", 6.300, 0.010, 6.225, 6.375),
    "height": Feature("height", "Height", 2.800, 0.008, 2.740, 2.860),
    "burr": Feature("burr", "Burr", 0.040, 0.010, None, 0.160),
}


@dataclass
class PracticeLine:
    """A study before it is written, as tables that a fault may change.

    Attributes
    ----------
    run : pandas.DataFrame
        One row for each part: stroke, clock, coil, lane, image, a column for each characteristic.
    crossed, masters, drift : dict of str to pandas.DataFrame
        Gauge studies by characteristic.
    appearance : pandas.DataFrame
        Judgements.
    missed : int
        Rejected parts that the bins hold and the run does not.
    plausible : dict of str to (float, float)
        What study.toml lets a reading be; of an honest line far beyond the limits.
    aside : dict of str to (int, int)
        Strokes that study.toml sets aside as setting; of an honest line their parts are like the others.
    drawing : dict of str to (float or None, float)
        Limits as the drawing has them.
    due_in : int
        Days from the run until the gauge's calibration ends.
    """

    run: pd.DataFrame
    crossed: dict[str, pd.DataFrame]
    masters: dict[str, pd.DataFrame]
    drift: dict[str, pd.DataFrame]
    appearance: pd.DataFrame
    drawing: dict[str, tuple[float | None, float]]
    missed: int = 0
    plausible: dict[str, tuple[float, float]] = field(default_factory=dict)
    aside: dict[str, tuple[int, int]] = field(default_factory=dict)
    due_in: int = STILL_GOOD

    def values(self, feature: str) -> Any:
        """Return the readings of one characteristic, in order, as an array that may be changed."""
        return self.run[feature].to_numpy(float, copy=True)

    def made_anew(self, feature: str, values: Any) -> None:
        """Put other readings in the place of those of a characteristic; a blank cell stays blank.

        Cells that were all filled would show that something was planted, whatever it is.
        """
        self.run[feature] = np.where(np.isnan(self.values(feature)), np.nan, values)

    def write(self, folder: Path) -> None:
        """Write study.toml and its files.

        Parameters
        ----------
        folder : pathlib.Path
            Made if absent.
        """
        import pandas as pd

        data = folder / "data"
        data.mkdir(parents=True)
        run = self.run.copy()
        outside = np.zeros(len(run), dtype=bool)
        for item in FEATURES.values():
            # The sorter knows the limits that study.toml names.
            outside |= (run[item.id] > item.upper).to_numpy()
            outside |= (run[item.id] < (item.lower or -np.inf)).to_numpy()
        run["verdict"] = np.where(outside, "nok", "ok")
        seen = run.drop_duplicates("image")
        good = int((seen["verdict"] == "ok").sum())
        period = pd.Timestamp(BEGIN).date().isoformat()
        bins = pd.DataFrame(
            {"period": [period], "good": [good], "scrap": [len(seen) - good + self.missed]}
        )
        for name in FEATURES:
            run[name] = run[name].map(lambda v: "" if np.isnan(v) else f"{v:.4f}")
        for name, table in (
            ("run", run),
            ("bins", bins),
            ("appearance", self.appearance),
            ("drawing", self._drawing()),
        ):
            table.to_csv(data / f"{name}.csv", index=False, lineterminator="\n")
        for kind in ("crossed", "masters", "drift"):
            for name, table in getattr(self, kind).items():
                text = table.to_csv(index=False, float_format="%.4f", lineterminator="\n")
                (data / f"{kind}_{name}.csv").write_text(text, encoding="utf-8")
        (folder / "study.toml").write_text(self._toml(), encoding="utf-8")

    def _drawing(self) -> pd.DataFrame:
        import pandas as pd

        rows = [(name, "mm", low, high) for name, (low, high) in self.drawing.items()]
        return pd.DataFrame(rows, columns=["characteristic", "unit", "lower", "upper"])

    def _toml(self) -> str:
        import pandas as pd

        due = (pd.Timestamp(BEGIN) + pd.Timedelta(days=self.due_in)).date().isoformat()
        parts = [_HEAD.format(date=BEGIN[:10])]
        for item in FEATURES.values():
            limits = f"lower = {item.lower}\n" if item.lower is not None else "bound = 0\n"
            parts.append(
                f'[[characteristic]]\nid = "{item.id}"\nname = "{item.name}"\nunit = "mm"\n'
                f"{limits}upper = {item.upper}\n{self._range(item.id)}"
            )
        parts.append('[[characteristic]]\nid = "appearance"\nname = "Appearance"\n')
        parts.append(_GAUGE.format(due=due))
        columns = ", ".join(f'{name} = "{name}"' for name in FEATURES)
        parts.append(_RUN.format(columns=columns))
        for name in FEATURES:
            parts.append(_STUDIES.format(name=name))
        parts.append(_REST)
        parts += [
            _ASIDE.format(first=first, last=last, name=name)
            for name, (first, last) in self.aside.items()
        ]
        return "\n".join(parts)

    def _range(self, name: str) -> str:
        low, high = self.plausible.get(name, (None, None))
        return "" if low is None else f"plausible = [{low:.3f}, {high:.3f}]\n"


_HEAD = """format = 1

[study]
title = "Practice line"
part = "P-100"
revision = "A"
date = "{date}"
line_rate = 60
"""
_GAUGE = """[[gauge]]
id = "camera"
name = "Camera"
resolution = 0.0001
unit = "mm"
due = "{due}"
"""
_RUN = """[[data]]
role = "run"
gauge = "camera"
file = "data/run.csv"
columns = {{ {columns} }}
order = "stroke"
time = "time"
coil = "coil"
station = "lane"
image = "image"
verdict = "verdict"
accept = ["ok"]
reject = ["nok"]
subgroup = {{ size = 5, every = 40 }}
"""
_STUDIES = """[[data]]
role = "crossed"
gauge = "camera"
file = "data/crossed_{name}.csv"
columns = {{ {name} = "value" }}
part = "part"
appraiser = "appraiser"
trial = "trial"

[[data]]
role = "reference"
gauge = "camera"
file = "data/masters_{name}.csv"
columns = {{ {name} = "value" }}
part = "master"
reference = "reference"

[[data]]
role = "drift"
gauge = "camera"
file = "data/drift_{name}.csv"
columns = {{ {name} = "value" }}
order = "stroke"
reference = "reference"
"""
_REST = """[[data]]
role = "attribute"
file = "data/appearance.csv"
characteristic = "appearance"
part = "part"
appraiser = "appraiser"
trial = "trial"
judgement = "judgement"
reference = "reference"
accept = ["ok"]
reject = ["nok"]

[[data]]
role = "bins"
file = "data/bins.csv"
period = "period"
accepted = "good"
rejected = "scrap"

[[master]]
name = "five masters of each dimension"
gauge = "camera"
expanded_uncertainty = "0.0002 mm (k = 2)"
certificate = "K 25-5120"
"""
_ASIDE = """[[set_aside]]
first = {first}
last = {last}
reason = "setting"
characteristic = "{name}"
"""


def honest_line(rng: np.random.Generator) -> PracticeLine:
    """Make the study without any fault.

    Parameters
    ----------
    rng : numpy.random.Generator

    Returns
    -------
    PracticeLine
    """
    import pandas as pd

    stroke = np.arange(1, PARTS + 1)
    run = pd.DataFrame(
        {
            "stroke": stroke,
            "time": (pd.Timestamp(BEGIN) + pd.to_timedelta(stroke, unit="s")).strftime(
                "%Y-%m-%dT%H:%M:%S"
            ),
            "coil": [f"C{1 + number * COILS // PARTS}" for number in range(PARTS)],
            "lane": np.array(LANES)[stroke % 2],
            "image": stroke + 10_000,
        }
    )
    studies: dict[str, dict[str, Any]] = {"crossed": {}, "masters": {}, "drift": {}}
    for item in FEATURES.values():
        if item.lower is None:
            run[item.id] = rng.gamma(16.0, item.level / 16.0, PARTS)
        else:
            run[item.id] = item.level + item.sd * rng.standard_normal(PARTS)
        run.loc[rng.random(PARTS) < 0.002, item.id] = np.nan
        studies["crossed"][item.id] = _crossed(item, rng)
        studies["masters"][item.id] = _masters(item, rng)
        at = np.linspace(20, PARTS, 60).astype(int)
        read = item.level + _repeat(item) * rng.standard_normal(at.size)
        studies["drift"][item.id] = pd.DataFrame(
            {"stroke": at, "reference": item.level, "value": read}
        )
    plausible, aside = {}, {}
    for item in FEATURES.values():
        if item.lower is None:
            continue
        # Each line has a range and an exclusion: what they leave out, and not that they are there, may be a fault.
        half = (0.5 + rng.uniform(0.6, 1.0)) * item.tolerance
        plausible[item.id] = (item.level - half, item.level + half)
        first = int(rng.uniform(0.1, 0.8) * PARTS)
        aside[item.id] = (first, first + int(rng.uniform(*SET_ASIDE)))
    return PracticeLine(
        plausible=plausible,
        aside=aside,
        run=run,
        appearance=judgements(rng, 20),
        drawing={item.id: (item.lower, item.upper) for item in FEATURES.values()},
        crossed=studies["crossed"],
        masters=studies["masters"],
        drift=studies["drift"],
    )


def _repeat(item: Feature) -> float:
    """Return the standard deviation of repeated readings: %GRR of about 6 % of tolerance."""
    return 0.15 * item.sd


def _crossed(item: Feature, rng: np.random.Generator) -> pd.DataFrame:
    import pandas as pd

    true = item.level + 2.2 * item.sd * rng.permutation(np.linspace(-1, 1, 10))
    part, who, trial = (index.ravel() for index in np.indices((10, 3, 3)))
    table = pd.DataFrame({"part": part + 1, "appraiser": np.array(PEOPLE)[who], "trial": trial + 1})
    table["value"] = true[part] + _repeat(item) * rng.standard_normal(len(table))
    return table


def _masters(item: Feature, rng: np.random.Generator) -> pd.DataFrame:
    import pandas as pd

    low = item.lower if item.lower is not None else 0.02
    known = np.repeat(np.linspace(low, item.upper, 5), 10)
    return pd.DataFrame(
        {
            "master": [f"M{1 + number // 10}" for number in range(50)],
            "reference": known,
            "value": known + _repeat(item) * rng.standard_normal(50),
        }
    )


def judgements(
    rng: np.random.Generator, bad: int, misses: dict[str, float] | None = None
) -> pd.DataFrame:
    """Simulate judgements of forty parts by three people, twice.

    Parameters
    ----------
    rng : numpy.random.Generator
    bad : int
        Parts among the forty that the reference rejects.
    misses : dict of str to float, optional
        Share of bad parts that a person accepts, where it is not nought.

    Returns
    -------
    pandas.DataFrame

    Notes
    -----
    One miss of forty would be more than the 2 % that AIAG MSA allows, so an honest person has none, and rejects a good
    part at most once.
    """
    import pandas as pd

    is_bad = rng.permutation(np.arange(40) < bad)
    good = np.flatnonzero(~is_bad)
    alarms = {name: (int(rng.integers(1, 4)), int(rng.choice(good))) for name in PEOPLE}
    if all(trial > 2 for trial, _ in alarms.values()):
        # A study in which nobody ever errs shows no part near the limit.
        alarms[PEOPLE[0]] = (1, alarms[PEOPLE[0]][1])
    rows = []
    for trial in (1, 2):
        for name in PEOPLE:
            wrong = is_bad & (rng.random(40) < (misses or {}).get(name, 0.0))
            # A third of them in a trial that there is not.
            wrong[alarms[name][1]] = trial == alarms[name][0]
            for part in range(40):
                judged = "nok" if is_bad[part] != wrong[part] else "ok"
                rows.append((part + 1, name, trial, judged, "nok" if is_bad[part] else "ok"))
    return pd.DataFrame(rows, columns=["part", "appraiser", "trial", "judgement", "reference"])
