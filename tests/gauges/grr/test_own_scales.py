"""Somebody who reads on a scale of their own is named; honest studies say nothing. R's values: test_reference_values."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import linregress
from scipy.stats import t as student_t

from linestudy.gauges.grr.design import lay_out
from linestudy.gauges.grr.own_scales import factor_said, own_factor, own_scales

PART, WHO, TRIAL = (at.ravel() for at in np.indices((10, 3, 3)))


def said(what: str, seed: int = 1) -> tuple[str, ...]:
    """A study in mm with parts of SD 0.05 and repetition 0.01, in which C reads otherwise."""
    draw = np.random.default_rng(seed)
    y = 5 + 0.05 * draw.normal(size=10)[PART] + 0.006 * draw.normal(size=3)[WHO]
    y = y + 0.01 * draw.normal(size=90)
    of_c = {
        "rounds": np.round(y, 2),
        "another lens": 5 + 1.4 * (y - 5),
        "inch": y / 25.4,
        "deviations": y - 5,
    }.get(what, y)
    y = np.where(WHO == 2, of_c, np.round(y, 3) if what == "rounds" else y)
    data: Any = pd.DataFrame({"part": PART, "appraiser": np.array(list("ABC"))[WHO], "value": y})
    return own_scales(lay_out(data.assign(trial=TRIAL), "value", "part", "appraiser", "trial"))


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("rounds", "The readings of C stand in steps of 0.01, those of"),
        ("another lens", "look at the scale of these readings"),
        ("inch", "look at the unit of these readings"),
        ("deviations", "below the others, more than three times what the parts differ by"),
    ],
)
def test_who_reads_otherwise_is_named(what: str, words: str) -> None:
    text = " ".join(said(what))
    assert words in text
    assert "C reads" in text or "of C" in text


def test_honest_studies_are_left_alone() -> None:
    assert sum(bool(said("", seed)) for seed in range(100)) <= 5


def test_too_little_says_nothing() -> None:
    assert own_factor(("A",), np.ones((9, 1))) is None
    assert own_factor(("A", "B"), np.ones((9, 2))) is None
    assert own_factor(("A", "B"), np.arange(8.0).reshape(4, 2)) is None
    assert factor_said(("A", "B"), np.full((9, 2), np.nan), alike=True) == ""


def test_a_gauge_that_errs_more_has_no_scale_of_its_own() -> None:
    """One gauge errs by a third of what parts differ by, the other by a twentieth: the test of equal errors sees a factor."""
    draw = np.random.default_rng(5)
    parts = draw.normal(size=(400, 40))
    rough = parts + 0.33 * draw.normal(size=parts.shape)
    fine = parts + 0.05 * draw.normal(size=parts.shape)
    both = [np.column_stack(pair) for pair in zip(rough, fine, strict=True)]
    alike = sum(bool(factor_said(("A", "B"), one, alike=True)) for one in both)
    other = sum(bool(factor_said(("A", "B"), one, alike=False)) for one in both)
    assert alike > 8  # 2 of 400 are the level of the test
    assert other <= 4
    wide = 1.25 * (parts + 0.1 * draw.normal(size=parts.shape))
    seen = sum(
        bool(factor_said(("A", "B"), np.column_stack(pair), alike=False))
        for pair in zip(fine, wide, strict=True)
    )
    assert seen > 390


def test_the_two_lines_are_those_of_scipy() -> None:
    """Turned over, the line of the one on the other excludes one as `scipy.stats.linregress` says."""
    draw = np.random.default_rng(8)
    for factor in (1.0, 1.1, 1.2, 1.5):
        x = draw.normal(size=12)
        y = factor * (x + 0.1 * draw.normal(size=12))
        found = own_factor(("A", "B"), np.column_stack([x, y]))
        flat, steep = linregress(x, y), linregress(y, x)
        t = student_t.ppf(1 - 0.0025, 10)
        above = flat.slope - t * flat.stderr > 1 and steep.slope + t * steep.stderr < 1
        below = flat.slope + t * flat.stderr < 1 and steep.slope - t * steep.stderr > 1
        assert found is not None
        assert found.whatever_errs == (above or below)
