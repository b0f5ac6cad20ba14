"""The same numbers of stability under other kernels, with two threads, and from rows in another order."""

from __future__ import annotations

import gzip
import json
import math
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from kernels import under_each

from linestudy import open_study, read
from linestudy.stability import evaluate

pytestmark = pytest.mark.machines

#: Relative to a number itself; shares and p are also alike where they differ by less than this of one.
ALIKE, OF_ONE = 1e-9, 1e-15
#: Of a p-value, whose statistic a search leads to: what results.json declares for such.
OF_P = 1e-6

STUDY = """
import json, sys
from linestudy import open_study, read
from linestudy.stability import evaluate
study = open_study({folder!r})
found = evaluate(study, read(study))
print(json.dumps({{str(c.id): found.nested(c.id) for c in study.characteristics}}, default=float))
"""

#: Runs that are hard to judge: nearly aliased sources, a walk, steps with a slope, rules that are simulated.
HARD = """
import json
import numpy as np, pandas as pd
from scipy.signal import lfilter
from linestudy.results import CannotJudge
from linestudy.stability import (
    autocorrelation, change_points, design_cusum, design_ewma, residual_chart, run_length, time_model, tool_wear,
    variance_components, variance_sources,
)
rng = np.random.default_rng(5)
n = 4000
at = np.arange(n)
found = {}


def judged(method):
    try:
        return method().record()
    except CannotJudge as stop:
        return stop.reason


walk = lfilter([1], [1, -0.98], rng.normal(size=n))
for name, level in {
    "wear": 2.0 * at / n, "step": 2.0 * (at >= 2500), "coils": np.repeat(rng.normal(size=8), n // 8),
    "walk": walk, "none": 0 * at,
}.items():
    y = 6.3 + 0.02 * (level + rng.normal(size=n))
    run = pd.DataFrame({
        "order": at + 1e6, "value": y, "coil": at // 500,
        # All but one with another coil, so that stations and coils are almost the same.
        "station": np.where((at // 500) % 2, "left", "right"), "stop": at // 250,
    })
    run.loc[7, "station"] = "left"
    found[name] = [
        judged(lambda: variance_sources(run, resets=(1e6 + 2000,), seed=1)),
        judged(lambda: variance_sources(run.assign(coil=run["station"]), seed=1)),
        judged(lambda: variance_components(run, levels=("coil", "stop"), seed=2)),
        judged(lambda: tool_wear(y, run["order"], marks=[1e6 + 2000], upper=6.4, station=run["station"])),
        judged(lambda: change_points(y, run["order"], station=run["station"])),
        judged(lambda: autocorrelation(y, station=run["station"])),
        judged(lambda: time_model(y, at // 5, run["order"], batch=run["coil"])),
        judged(lambda: residual_chart(y[::5])),
    ]
found["rules"] = run_length("Nelson 1984", n=3, runs=300, seed=4).record()
found["western"] = run_length("Western Electric 1956", n=5).record()
found["design"] = [design_ewma(w, s) for w in (100, 500) for s in (0.3, 1.0, 2.5)]
found["cusum"] = [design_cusum(w, s) for w in (100, 500) for s in (0.3, 1.0, 2.5)]
print(json.dumps(found, default=float))
"""


def leaves(tree: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every number and word of a record, with its place."""
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from leaves(value, f"{path}.{key}")
    elif isinstance(tree, list | tuple):
        for number, value in enumerate(tree):
            yield from leaves(value, f"{path}.{number}")
    else:
        yield path, tree


def differences(one: Any, two: Any) -> list[str]:
    """Where two records differ by more than the digits that a processor may cost."""
    a, b = dict(leaves(one)), dict(leaves(two))
    assert a.keys() == b.keys()
    assert len(a) > 100
    return [
        f"{key}: {a[key]} and {b[key]}"
        for key in a
        if a[key] != b[key]
        and not (
            isinstance(a[key], float)
            and isinstance(b[key], float)
            and math.isclose(
                a[key], b[key], rel_tol=OF_P if key.endswith("_p") else ALIKE, abs_tol=OF_ONE
            )
        )
    ]


@pytest.mark.timeout(900)
@pytest.mark.parametrize("which", ["the sample study", "runs that are hard to judge"])
def test_kernels_and_threads(which: str, sample_study: Path) -> None:
    script = HARD if which.startswith("runs") else STUDY.format(folder=str(sample_study))
    first, *others = under_each(script).items()
    assert others
    for name, found in others:
        assert differences(first[1], found) == [], f"{first[0]} and {name}"


@pytest.mark.timeout(900)
def test_rows_in_another_order(sample_study: Path, tmp_path: Path) -> None:
    # The run has order numbers, so the order of its rows in the file says nothing.
    def judged(folder: Path) -> Any:
        study = open_study(folder)
        found = evaluate(study, read(study))
        return json.loads(
            json.dumps({c.id: found.nested(c.id) for c in study.characteristics}, default=float)
        )

    folder = tmp_path / "study"
    shutil.copytree(sample_study, folder)
    file = folder / "data" / "run.csv.gz"
    head, *rows = gzip.decompress(file.read_bytes()).splitlines(keepends=True)
    first = judged(folder)
    for seed in range(20):
        mixed = np.random.default_rng(seed).permutation(len(rows))
        file.write_bytes(gzip.compress(head + b"".join(rows[i] for i in mixed), 1))
        assert differences(first, judged(folder)) == [], f"seed {seed}"


def test_parts_in_another_order_within_subgroups_and_cells() -> None:
    # Sums over a quarter hour are taken in another order: nothing but the last digits may move.
    from linestudy.linelog.quarter_hours import (
        quarter_hour_sums_of,
        sources_of_quarter_hours,
    )

    rng = np.random.default_rng(2)
    n = 60_000
    parts = pd.DataFrame(
        {
            "x": np.arange(n, dtype=float),
            "y": rng.normal(0, 0.01, n) + 2e-7 * np.arange(n),
            "coil": np.arange(n) // 15_000,
            "station": np.arange(n) % 2,
            "quarter": np.arange(n) // 1000,
        }
    )

    def judged(table: pd.DataFrame) -> Any:
        keys = ["quarter", "coil", "station"]
        made = table.assign(
            n=1.0, xx=table["x"] ** 2, xy=table["x"] * table["y"], yy=table["y"] ** 2
        )
        cells = made.groupby(keys)[["n", "x", "y", "xx", "xy", "yy"]].sum().reset_index()
        cells["first"] = made.groupby(keys)["x"].min().to_numpy()
        cells.attrs = {"offset": 2.8, "origin": 1}
        study = sources_of_quarter_hours(quarter_hour_sums_of(cells), seed=3)
        return {"sources": study.record(), "twice": [study.record()] * 4}

    first = judged(parts)
    for seed in range(20):
        assert differences(first, judged(parts.sample(frac=1, random_state=seed))) == []
