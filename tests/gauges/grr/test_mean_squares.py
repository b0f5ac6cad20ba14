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
from crossed_readings import crossed_readings

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


def test_a_smaller_interaction_stays_while_a_larger_one_does() -> None:
    # Known truth: repeatability 0.10, interaction of all three 1.0. Pooled into repeatability, the
    # interaction of two would carry that of three into it.
    found = []
    for seed in range(20):
        data = crossed_readings(seed, levels=3, three_way=1.0)
        result = grr_anova(data, factor="day", draws=0, method="mls")
        assert "part:appraiser" not in result.pooled
        found.append(result.components["repeatability"].sd.estimate)
    assert np.mean(found) == pytest.approx(0.10, rel=0.05)


# -- Readings that simply add up


def additive(seed: int, taken_off: float, digits: int, lost: bool = False) -> pd.DataFrame:
    """Part plus appraiser plus trial, by construction without interaction, as a file holds it."""
    rng = np.random.default_rng(seed)
    at = np.indices((6, 3, 2)).reshape(3, -1)
    parts, people = rng.normal(0, 0.5, 6).round(digits), rng.normal(0, 0.1, 3).round(digits)
    trials = np.array([0.0, 0.01])
    # Each sum is rounded when the common value is put on, and the residues do not add up.
    value = (taken_off + (parts[at[0]] + people[at[1]] + trials[at[2]])) - taken_off
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "trial": at[2], "value": value})
    # Whole cells are lost, so that what is left still adds up.
    return data[~((at[0] == 1) & (at[1] == 2))] if lost else data


@pytest.mark.parametrize("lost", [False, True])
@pytest.mark.parametrize("digits", [2, 15])
@pytest.mark.parametrize("taken_off", [0.0, 10.0, 1000.0])
@pytest.mark.parametrize("seed", range(5))
def test_an_interaction_that_is_not_there_is_zero_and_has_no_f(
    seed: int, taken_off: float, digits: int, lost: bool
) -> None:
    # Known truth: no interaction at all. What rounding of the readings leaves
    # must not be called one, also where a nominal was taken off before the file was written.
    found = grr_anova(additive(seed, taken_off, digits, lost), pool_above=None)
    rows = {row.source: row for row in found.anova}
    assert rows["part:appraiser"].ss == 0
    assert rows["repeatability"].ss > 0
    # Part and appraiser are tested against the interaction, which is nothing to divide by.
    if not lost:
        assert rows["part"].f is None
        assert rows["part"].p is None
    assert rows["part:appraiser"].p == 1.0
    assert found.components["interaction"].variance.estimate == 0


def test_a_small_interaction_that_is_there_is_not_lost() -> None:
    # A millionth of the spread between parts, far above what rounding leaves.
    data = additive(1, 0.0, 15)
    odd = (data["part"] % 2 == 0) & (data["appraiser"] == 1)
    found = grr_anova(data.assign(value=data["value"] + 5e-7 * odd), pool_above=None)
    ss = {row.source: row.ss for row in found.anova}["part:appraiser"]
    # Six parts by three appraisers by two trials: sum over cells of the doubly centred effect, squared.
    effect = np.zeros((6, 3))
    effect[::2, 1] = 5e-7
    centred = effect - effect.mean(axis=0) - effect.mean(axis=1)[:, None] + effect.mean()
    assert ss == pytest.approx(2 * float((centred**2).sum()), rel=1e-6)
