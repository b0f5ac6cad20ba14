"""An own study of a line, as tables that can be changed before it is written, and what its decision sheet says."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

N = 2000
_TOML = """format = 1
[study]
title = "Line"
part = "A-1"
revision = "B"
{head}
{criteria}
[[characteristic]]
id = "width"
name = "Width"
unit = "mm"
lower = {lower}
upper = {upper}
special = {special}
{width}
[[characteristic]]
id = "force"
name = "Force"
unit = "N"
lower = 60.0
{force}
[[gauge]]
id = "cam"
name = "Camera"
resolution = 0.001
{cam}
[[gauge]]
id = "cell"
name = "Load cell"
resolution = 0.1
[[data]]
role = "run"
gauge = "cam"
file = "run.csv"
columns = {{ width = "width" }}
order = "stroke"
subgroup = {{ size = 5, every = {every} }}
verdict = "verdict"
accept = ["ok"]
reject = ["nok"]
{tags}
{run}
[[data]]
role = "run"
gauge = "cell"
file = "force.csv"
columns = {{ force = "force" }}
order = "stroke"
{unit}
[[data]]
role = "bins"
file = "bins.csv"
period = "period"
accepted = "accepted"
rejected = "rejected"
"""
_STUDIES = """
[[data]]
role = "crossed"
gauge = "cam"
file = "crossed.csv"
columns = { width = "width" }
part = "part"
appraiser = "who"
trial = "trial"
[[data]]
role = "crossed"
gauge = "cell"
file = "pulled.csv"
columns = { force = "force" }
part = "part"
appraiser = "who"
trial = "trial"
[[data]]
role = "reference"
gauge = "cam"
file = "masters.csv"
columns = { width = "width" }
reference = "master"
reference_uncertainty = 0.0005
[[data]]
role = "reference"
gauge = "cell"
file = "weights.csv"
columns = { force = "force" }
reference = "master"
reference_uncertainty = 0.05
"""
_TAGS = 'time = "time"\ncoil = "coil"\nstation = "station"'


@dataclass
class Folder:
    """A study folder before it is written."""

    run: pd.DataFrame
    force: pd.DataFrame
    crossed: pd.DataFrame
    pulled: pd.DataFrame
    masters: pd.DataFrame
    weights: pd.DataFrame
    bins: pd.DataFrame
    lower: float = 4.5
    upper: float = 5.5
    special: bool = True
    every: int = 25
    studies: str = _STUDIES
    tags: str = _TAGS
    more: dict[str, str] = field(default_factory=dict)
    end: str = ""
    earlier: dict[str, Any] | None = None

    def write(self, folder: Path) -> Path:
        """Write study.toml and its files."""
        folder.mkdir(parents=True, exist_ok=True)
        words = dict.fromkeys(("head", "criteria", "width", "force", "cam", "run", "unit"), "")
        limits = {"lower": self.lower, "upper": self.upper, "every": self.every}
        text = _TOML.format(
            **{**words, **self.more, **limits},
            special=str(self.special).lower(),
            tags=self.tags,
        )
        (folder / "study.toml").write_text(text + self.studies + self.end)
        for name in ("run", "force", "crossed", "pulled", "masters", "weights", "bins"):
            getattr(self, name).to_csv(folder / f"{name}.csv", index=False)
        if self.earlier is not None:
            (folder / "earlier.json").write_text(json.dumps(self.earlier))
        return folder


def _crossed(draw: Any, name: str, middle: float, parts: float, repeat: float, step: float) -> Any:
    part, who, trial = (at.ravel() for at in np.indices((10, 3, 3)))
    value = draw.normal(middle, parts, 10)[part] + draw.normal(0, repeat, 90)
    value = np.round(value / step) * step
    return pd.DataFrame(
        {"part": part, "who": np.array(list("ABC"))[who], "trial": trial, name: value}
    )


def honest(seed: int = 5) -> Folder:
    """The study as it was measured."""
    draw = np.random.default_rng(seed)
    at = np.arange(N)
    width = np.round(draw.normal(5, 0.12, N), 3)
    run = pd.DataFrame(
        {
            "stroke": at + 1,
            "time": pd.Timestamp("2026-03-02 06:00")
            + pd.to_timedelta(at * 0.25, unit="s").round("ms"),
            "coil": np.repeat(["K1", "K2", "K3", "K4"], N // 4),
            "station": np.where(at % 2, "L", "R"),
            "width": width,
        }
    )
    run["verdict"] = np.where(np.abs(width - 5) > 0.5, "nok", "ok")
    force = pd.DataFrame({"stroke": at[:600] + 1, "force": np.round(draw.normal(85, 6.4, 600), 1)})
    masters = np.repeat([4.5, 4.75, 5.0, 5.25, 5.5], 12)
    weights = np.repeat([55.0, 70.0, 85.0, 100.0], 12)
    bins = (run["verdict"] == "ok").groupby(run["coil"]).agg(["sum", "size"])
    return Folder(
        run=run,
        force=force,
        crossed=_crossed(draw, "width", 5.0, 0.12, 0.01, 0.001),
        pulled=_crossed(draw, "force", 85.0, 6.4, 0.6, 0.1),
        masters=pd.DataFrame(
            {"master": masters, "width": np.round(masters + draw.normal(0, 0.01, 60), 3)}
        ),
        weights=pd.DataFrame(
            {"master": weights, "force": np.round(weights + draw.normal(0, 0.6, 48), 1)}
        ),
        bins=pd.DataFrame(
            {"period": bins.index, "accepted": bins["sum"], "rejected": bins["size"] - bins["sum"]}
        ),
    )


def sheet(evaluation: Any) -> str:
    """Everything of the decision sheet in one text: table, objections, conditions, counts to hold against."""
    verdict = evaluation.findings.get(None, "verdict")
    lines = [*verdict.conditions]
    lines += verdict.shown().astype(str).agg(" | ".join, axis=1).tolist()
    lines += verdict.own_records.astype(str).agg(" | ".join, axis=1).tolist()
    for item in verdict.verdicts.values():
        lines += [f"{item.name}: {reason}" for reason in item.objections]
    return "\n".join(lines)
