"""Whole study folders of processes of known truth say what their readings say when they are judged without files.

The operating characteristics are simulated without files (a folder takes seconds); here the same readings go through a folder
and `evaluate`, and index, its bound, and the rules on the process must come out the same. One study of each process of the
grid: a part of them each time, all with LINESTUDY_FULL=1.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import evaluate
from linestudy.numerics import generator
from linestudy.results import Absent
from linestudy.simulate.operating import Truth, truths
from linestudy.simulate.operating.grid import adequate_gauge
from linestudy.verdict import Tags, describe, judge, resolve

pytestmark = pytest.mark.proof

N = 125
#: Readings beyond their bound are excluded by a folder and folded back here.
LEFT_OUT = {"half-normal, gauge error 0.15 SD, bound"}
NAMES = [name for name in truths() if name not in LEFT_OUT]
#: Every fourth of them in an ordinary run.
TAKEN = NAMES if os.environ.get("LINESTUDY_FULL") else NAMES[::4]
RULES = ("stability", "sample", "distribution", "observed against expected", "index")


def written(truth: Truth, values: np.ndarray, tags: Tags, folder: Path) -> Path:
    """The study as a folder: a run in subgroups of five with whatever names its streams, coils and regrinds."""
    table = pd.DataFrame({"stroke": tags.orders(values.size).astype(int), "value": values})
    columns = ""
    for name, held in (("coil", tags.coil), ("station", tags.stream), ("group", tags.subgroup)):
        if held is not None:
            table[name] = held
            columns += f'{"subgroup" if name == "group" else name} = "{name}"\n'
    lower, upper = truth.limits(2.0)
    text = 'format = 1\n[study]\ntitle = "Truth"\npart = "T-1"\nseed = 1\n[[characteristic]]\nid = "a"\nname = "A"\nunit = "mm"\n'
    text += f"upper = {float(upper)!r}\n" + ("" if lower is None else f"lower = {float(lower)!r}\n")
    text += "" if truth.bound is None else f"bound = {float(truth.bound)!r}\n"
    for at in tags.resets:
        text += f'[[event]]\nname = "regrind"\nat = {int(at)}\nresets = true\n'
    text += f'[[data]]\nrole = "run"\nfile = "run.csv"\ncolumns = {{ a = "value" }}\norder = "stroke"\n{columns}'
    folder.mkdir()
    table.to_csv(folder / "run.csv", index=False, float_format="%.17g")
    (folder / "study.toml").write_text(text)
    return folder


@pytest.mark.parametrize("name", TAKEN)
def test_a_folder_says_what_its_readings_say(name: str, tmp_path: Path) -> None:
    truth = truths()[name]
    values, tags = truth.study(generator(21, "whole studies", name), N)
    folder = written(truth, values, tags, tmp_path / "study")
    whole = evaluate(folder, progress=lambda stage: None).findings.get("a", "verdict")
    lower, upper = truth.limits(2.0)
    told = describe(values, tags, bound=truth.bound, seed=1)
    gauge = adequate_gauge(upper - (lower or 0.0))
    alone = judge(told, gauge, resolve(), lower=lower, upper=upper)
    one, other = whole.facts.index, alone.facts.index
    assert not isinstance(one, Absent)
    assert not isinstance(other, Absent)
    assert one.estimate == pytest.approx(other.estimate, rel=1e-6)
    assert one.bound == pytest.approx(other.bound, rel=1e-6)
    effects = [
        {item.rule: item.effect for item in found.rulings if item.rule in RULES}
        for found in (whole, alone)
    ]
    assert effects[0] == effects[1]
