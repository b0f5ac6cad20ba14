"""Calls a newcomer would try on gauge data, right and wrong, and what each wrong one says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from linestudy import gauges as g
from linestudy.results import CannotJudge, Interval

TABLE = pd.DataFrame({"part": list("aabbcc"), "value": [1.0, 1.1, 2.0, 2.1, 3.1, 3.0]})
WIDE = np.arange(200.0).reshape(40, 5)
SIZE = Interval(0.1, 0.08, 0.12, 0.95, "known")

WRONG: list[tuple[Callable[[], Any], type[Exception], str]] = [
    (lambda: g.bias_study(TABLE, 1.0), TypeError, "readings is a table with columns 'part', 'value'"),
    (lambda: g.bias_study(WIDE, 1.0), ValueError, r"readings has shape \(40, 5\)"),
    (lambda: g.bias_study([1.0, 1.1], [1.0, 1.0, 1.0]), ValueError, "reference has 3 entries for 2 readings"),
    (lambda: g.bias_study([1.0, 1.1], 1.0, sd_method="rnage"), ValueError, "did you mean 'range'"),
    (lambda: g.bias_study([1.0, 2.1], [1.0, 2.0], sd_method="range"), ValueError, "one master at a time"),
    (lambda: g.bias_study([1.0, 1.1], 1.0, confidence=95), ValueError, "0.95 for 95 %"),
    (lambda: g.bias_study([1.0, 1.1], 1.0, 0.5), TypeError, "positional"),
    (lambda: g.bias_study([1.0, np.nan], 1.0), CannotJudge, "1 of 2 readings is missing"),
    (lambda: g.cg_cgk([1.0, 1.1], 1.0, 0.0), ValueError, "tolerance = 0 cannot be used"),
    (lambda: g.cg_cgk([1.0, 1.1], 1.0, 1.0, fraction=20), ValueError, "fraction = 20.*0.2 for 20 %"),
    (lambda: g.linearity_study([1, 2, 3.1], [1, 2, 3], 5.0, 1.0), ValueError, "are they swapped"),
    (lambda: g.linearity_study([1, 2, 3.1], [1, 2, 3], reference_uncertainty=-1), ValueError, "at least 0"),
    (lambda: g.drift_study([1, 2, 3], [1.0, 1.1, 1.2, 1.3], 1.0), CannotJudge, "3 order numbers"),
    (lambda: g.drift_study([1, 2, 3, 4, 5], [1.0, 1.1, 1.2, 1.3], 1.0), ValueError, "readings has 4 entries"),
    (lambda: g.resolution_study(WIDE), ValueError, "shape"),
    (lambda: g.resolution_study(WIDE[:, 0], repeat_sd=0.1), ValueError, "give both, or neither"),
    (lambda: g.method_comparison(TABLE, TABLE), TypeError, "first is a table"),
    (lambda: g.method_comparison([1, 2, 3], [1, 2]), CannotJudge, "at least 3"),
    (lambda: g.method_comparison([1, 2, 3], [1, 2, 4], error_ratio=0), ValueError, "error_ratio = 0"),
    (lambda: g.passing_bablok([1, 2, 3, 4, 5], [1, 2, 3, 4, 5, 6]), ValueError, "second 6"),
    (lambda: g.grr_anova(TABLE), ValueError, "appraiser=None"),
    (lambda: g.grr_anova(WIDE), TypeError, "data must be a pandas DataFrame"),
    (lambda: g.grr_anova(TABLE, "value"), TypeError, "positional"),
    (lambda: g.grr_anova(TABLE, appraiser=None, method="MLS"), ValueError, "did you mean 'mls'"),
    (lambda: g.grr_anova_stack(WIDE, [None] * 40), ValueError, "four dimensions"),
    (lambda: g.influence(TABLE, part="prat"), ValueError, "did you mean 'part'"),
    (lambda: g.nested_components(TABLE, "part"), TypeError, "levels must be a list"),
    (lambda: g.nested_components(TABLE, ("lot",)), ValueError, "no such column"),
    (lambda: g.judgement_agreement(TABLE), ValueError, "no such column"),
    (lambda: g.gauge_performance_curve([1, 2], [0.3, 1]), ValueError, "True and False"),
    (lambda: g.gauge_performance_curve(WIDE, WIDE > 3), ValueError, "one dimension is needed"),
    (lambda: g.uncertainty_budget([g.Contribution("bias", -1.0)]), ValueError, "standard_uncertainty of bias"),
    (lambda: g.uncertainty_budget([]), CannotJudge, "No contribution"),
    (lambda: g.conformity_risk(norm.pdf, 0, 1, 0.1, -3, 3), TypeError, "must be an Interval"),
    (lambda: g.conformity_risk(norm.pdf, 0, 1, SIZE, 3, -3), ValueError, "swapped"),
    (lambda: g.global_risks(norm.pdf, 0.0, -3, 3), ValueError, "gauge_sd = 0"),
    (lambda: g.refuse_wrong_unit(WIDE, 2.0, 1.9, 2.1), ValueError, "shape"),
]  # fmt: skip


@pytest.mark.parametrize(("call", "kind", "says"), WRONG)
def test_wrong_use_is_named(call: Callable[[], Any], kind: type[Exception], says: str) -> None:
    with pytest.raises(kind, match=says) as caught:
        call()
    # Misuse is a programmer's error; data that say nothing are the study's.
    assert isinstance(caught.value, CannotJudge) == (kind is CannotJudge)


def test_a_column_of_a_table_and_a_list_are_the_same() -> None:
    one = g.bias_study(TABLE["value"], 2.0)
    assert one == g.bias_study(list(TABLE["value"]), 2.0)
    assert one == g.bias_study(TABLE["value"].to_numpy(), np.full(6, 2.0))
