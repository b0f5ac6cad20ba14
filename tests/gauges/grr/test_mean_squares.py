"""One-way analysis of variance against NIST certified values (Statistical Reference Datasets).

The data files ship inside SciPy. An automatic gauge without appraisers is a one-way layout: the
treatments are its parts.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import scipy.stats

from linestudy.gauges import grr_anova, nested_components

FOLDER = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"

# How many digits double precision leaves: the values of the later sets agree in seven and in
# thirteen leading digits, so their deviations are known to eight and to two or three.
DIGITS = {
    "SiRstv": 12,
    "AtmWtAg": 8,
    "SmLs01": 13,
    "SmLs02": 12,
    "SmLs03": 12,
    "SmLs04": 8,
    "SmLs05": 8,
    "SmLs06": 8,
    "SmLs07": 2,
    "SmLs08": 2,
    "SmLs09": 2,
}


def certified(text: str) -> tuple[float, float, float]:
    """Sums of squares between and within, and F."""
    number = r"[-+0-9.E]+"
    between = re.search(rf"^Between \S+\s+\d+\s+({number})\s+{number}\s+({number})", text, re.M)
    within = re.search(rf"^Within \S+\s+\d+\s+({number})", text, re.M)
    assert between is not None
    assert within is not None
    return float(between[1]), float(within[1]), float(between[2])


def observations(text: str) -> pd.DataFrame:
    rows = re.findall(r"^\s+(\d+)\s+([-0-9.]+)\s*$", text.split("Data:")[-1], re.M)
    return pd.DataFrame({"part": [r[0] for r in rows], "value": [float(r[1]) for r in rows]})


def digits(found: float, exact: float) -> float:
    return 15.0 if found == exact else -math.log10(abs(found - exact) / abs(exact))


@pytest.mark.checks("one-way table of variance", source="NIST StRD, certified")
@pytest.mark.parametrize("name", list(DIGITS))
def test_certified_one_way_analyses(name: str) -> None:
    text = (FOLDER / f"{name}.dat").read_text()
    between, within, f = certified(text)
    data = observations(text)
    table = {
        row.source: row for row in grr_anova(data, appraiser=None, trial=None, draws=200).anova
    }
    assert digits(table["part"].ss, between) >= DIGITS[name]
    assert digits(table["repeatability"].ss, within) >= DIGITS[name]
    assert digits(table["part"].f, f) >= DIGITS[name]
    rows = {row.source: row for row in nested_components(data, ("part",), draws=200).anova}
    assert digits(rows["part"].ss, between) >= DIGITS[name] - 1
    assert digits(rows["repeatability"].ss, within) >= DIGITS[name] - 1


def test_the_sets_are_read_whole() -> None:
    data = observations((FOLDER / "SmLs09.dat").read_text())
    assert len(data) == 9 * 2001
    assert np.isclose(data["value"].min(), 1e12, rtol=1e-6)


def study(
    seed: int,
    parts: int = 10,
    people: int = 3,
    levels: int = 1,
    trials: int = 2,
    error: float = 0.1,
    three_way: float = 0.0,
    person: float = 0.0,
) -> pd.DataFrame:
    """Readings with known truth; a third factor where it has more than one level."""
    rng = np.random.default_rng(seed)
    shape = (parts, people, levels, trials)
    at = np.indices(shape).reshape(4, -1)
    value = rng.normal(0, 3, parts)[at[0]] + rng.normal(0, 1, people)[at[1]] * person
    value = value + rng.normal(0, 1, shape[:3])[at[0], at[1], at[2]] * three_way
    value = value + rng.normal(0, error, at.shape[1])
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "day": at[2], "value": value})
    return data if levels > 1 else data.drop(columns="day")


def test_a_smaller_interaction_stays_while_a_larger_one_does() -> None:
    # Known truth: repeatability 0.10, interaction of all three 1.0. Pooled into repeatability, the
    # interaction of two would carry that of three into it.
    found = []
    for seed in range(20):
        data = study(seed, levels=3, three_way=1.0)
        result = grr_anova(data, factor="day", draws=0, method="mls")
        assert "part:appraiser" not in result.pooled
        found.append(result.components["repeatability"].sd.estimate)
    assert np.mean(found) == pytest.approx(0.10, rel=0.05)
