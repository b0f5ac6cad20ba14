"""Every finding of the room speaks in whole sentences, with and without a unit, and its table is of numbers."""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from linestudy import gauges as g
from linestudy.results import Finding, Interval

RNG = np.random.default_rng(11)
PARTS = pd.DataFrame(
    {
        "part": np.repeat(np.arange(8), 6),
        "appraiser": np.tile(np.repeat(list("ab"), 3), 8),
        "value": np.repeat(RNG.normal(10, 1, 8), 6) + RNG.normal(0, 0.1, 48),
    }
)
SIZES = np.repeat([1.0, 2.0, 3.0], 8)
MASTERS = SIZES * 1.01 + RNG.normal(0, 0.02, 24)
FIRST = RNG.normal(10, 1, 30)
SECOND = FIRST + RNG.normal(0.1, 0.1, 30)
MEASURED = RNG.uniform(9, 11, 120)
JUDGED = MEASURED + RNG.normal(0, 0.2, 120) < 10
GAUGE = Interval(0.3, 0.25, 0.4, 0.95, "chi-square")
LINES = [g.Contribution("calibration", 0.01), g.Contribution("repeatability on parts", 0.02, 20)]

FINDINGS: dict[str, Callable[[str], Finding]] = {
    "crossed": lambda u: g.grr_anova(PARTS, tolerance=5.0, draws=500, unit=u),
    "crossed, no tolerance": lambda u: g.grr_anova(PARTS, draws=500, unit=u),
    "hidden spread": lambda u: g.grr_anova(
        PARTS.assign(value=PARTS.groupby("part")["value"].transform("first").round(1)), unit=u
    ),
    "averages and ranges": lambda u: g.average_and_range(PARTS, draws=500, unit=u),
    "behind steps": lambda u: g.rounded_repeatability(PARTS.round(1), tolerance=5.0, unit=u),
    "influence": lambda u: g.influence(PARTS, unit=u),
    "bias": lambda u: g.bias_study(MASTERS, SIZES, tolerance=1.0, unit=u),
    "bias, one master": lambda u: g.bias_study(MASTERS[:8], 1.0, unit=u),
    "linearity": lambda u: g.linearity_study(MASTERS, SIZES, 0.5, 3.5, unit=u),
    "uncertain references": lambda u: g.linearity_study(
        MASTERS, SIZES, 0.5, 3.5, reference_uncertainty=0.01, unit=u
    ),
    "Cg": lambda u: g.cg_cgk(MASTERS[:8], 1.0, 2.0, unit=u),
    "drift": lambda u: g.drift_study(
        np.arange(30), 1 + RNG.normal(0, 0.1, 30), 1.0, tolerance=1.0, unit=u
    ),
    "biases": lambda u: g.bias_overview(
        [("Width", "camera", g.bias_study(MASTERS, SIZES, unit=u), 1.0), ("Gap", "CMM", g.bias_study(MASTERS[:8], 1.0, unit=u), None)]
    ),
    "resolution": lambda u: g.resolution_study(
        FIRST.round(2), tolerance=5.0, process=FIRST, repeat_sd=0.1, repeat_df=20, declared=0.01, unit=u
    ),
    "two gauges": lambda u: g.method_comparison(FIRST, SECOND, lower=8.0, upper=12.0, unit=u),
    "judgements": lambda u: g.judgement_agreement(
        pd.DataFrame({"part": np.arange(120) // 2, "judgement": JUDGED, "appraiser": "a"})
    ),
    "judgements and reference": lambda u: g.judgement_agreement(
        pd.DataFrame({"part": np.arange(120), "judgement": JUDGED, "reference": MEASURED < 10})
    ),
    "performance curve": lambda u: g.gauge_performance_curve(MEASURED, JUDGED, upper=10.0, unit=u),
    "nested": lambda u: g.nested_components(PARTS, ("part", "appraiser"), draws=500, unit=u),
    "budget": lambda u: g.uncertainty_budget(LINES, 9.0, 11.0, unit=u),
    "budget, one limit": lambda u: g.uncertainty_budget(LINES, upper=11.0, unit=u),
    "budget, no limit": lambda u: g.uncertainty_budget(LINES, unit=u),
    "risk": lambda u: g.conformity_risk(
        stats.norm(0, 1.05).pdf, 0, 1.05, GAUGE, -3.0, 3.0, bias=0.1, unit=u,
        observed=g.ObservedRejects(Interval(0.004, 0.003, 0.005, 0.95, "exact"), "in the log"),
    ),
    "risk, no band": lambda u: g.conformity_risk(
        stats.norm(2.9, 1.05).pdf, 2.9, 1.05, GAUGE, -3.0, 3.0, risk_target=1e-12, unit=u
    ),
}  # fmt: skip
#: What is left where a unit or a word was not filled in.
BROKEN = re.compile(r"  | \)| [.,;:]|\( |None|nan|\bmm mm\b|\(\)|^ | $")


@pytest.mark.parametrize("unit", ["", "mm"])
@pytest.mark.parametrize("name", FINDINGS)
def test_sentences_are_whole(name: str, unit: str) -> None:
    found = FINDINGS[name](unit)
    for text in (found.statement, *found.cautions):
        assert BROKEN.findall(text) == [], text
        assert text.endswith("."), text
        assert text[0].isupper() or text[0].isdigit() or text.startswith("%GRR"), text
        assert not re.match(r"1 \w+s ", text), text


@pytest.mark.parametrize("name", FINDINGS)
def test_the_table_is_of_numbers_and_the_text_has_the_units(name: str) -> None:
    found = FINDINGS[name]("mm")
    table, shown = found.table(), found.shown()
    assert len(table) == len(shown)
    numeric = table.select_dtypes("number")
    assert numeric.shape[1] >= 1
    assert np.isfinite(numeric.to_numpy(dtype=float)).any()
    # Units stand with the names of quantities and in the heads, never in the cells of numbers.
    body = shown[["value"]] if "quantity" in shown else shown
    cells = [str(cell) for cell in body.to_numpy().ravel()]
    assert not any("%" in cell or " mm" in cell for cell in cells)
    assert not any(BROKEN.search(cell) for cell in cells)


@pytest.mark.parametrize("name", FINDINGS)
def test_pictures_are_drawn_into_axes_of_ones_own(name: str) -> None:
    import matplotlib.pyplot as plt

    found = FINDINGS[name]("mm")
    figure, ax = plt.subplots()
    try:
        if found.picture:
            assert found.plot(ax) is ax
            assert ax.has_data()
            assert found.figure().alt_text == found.alt_text
        else:
            with pytest.raises(ValueError, match="draws no picture"):
                found.plot(ax)
    finally:
        plt.close(figure)


@pytest.mark.parametrize("name", FINDINGS)
def test_printed_it_is_a_few_lines(name: str) -> None:
    text = str(FINDINGS[name]("mm"))
    assert 3 <= len(text.splitlines()) <= 40
    assert "array(" not in text


def test_old_names_do_what_the_new_ones_do_and_take_options_by_position() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        old, seen = g.bias(MASTERS, SIZES, 1.0, "sd", 0.9, "mm"), g.wrong_verdicts
        risks = seen(stats.norm().pdf, 0.1, -3.0, 3.0, 0.05, 0.01)
    new = g.bias_study(MASTERS, SIZES, tolerance=1.0, confidence=0.9, unit="mm")
    assert old == new
    again = g.global_risks(stats.norm().pdf, 0.1, -3.0, 3.0, guard_band=0.05, bias=0.01)
    assert [float(r[0]) for r in risks] == [float(r[0]) for r in again]
    with pytest.warns(DeprecationWarning, match="'crossed' is called 'grr_anova'"):
        call = g.crossed
    with pytest.warns(DeprecationWarning, match="'spread' is called 'sigma_multiplier'"):
        assert call(PARTS, draws=100, spread=5.15).sigma_multiplier == 5.15
