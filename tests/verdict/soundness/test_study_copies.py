"""A crossed study that is another one, whatever was added, and honest ones that are not."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.verdict.soundness.study_copies import copied_study, parts_again

PART, WHO, TRIAL = (at.ravel() for at in np.indices((10, 3, 3)))
LEVEL = 1e-4


def study(draw: Any, step: float = 0.02, heavy: bool = False) -> pd.DataFrame:
    """Repetition has a standard deviation of one; the second trial reads higher in every study."""
    error = draw.standard_t(3, PART.size) if heavy else draw.normal(size=PART.size)
    y = 8 * draw.normal(size=10)[PART] + draw.normal(size=3)[WHO] + 2 * (TRIAL == 1) + error
    value = np.round(y / step) * step
    return pd.DataFrame({"part": PART, "appraiser": WHO, "trial": TRIAL, "value": value})


@pytest.mark.parametrize("step", [0.02, 1.0])
@pytest.mark.parametrize("heavy", [False, True])
def test_two_studies_of_their_own_are_no_copies(step: float, heavy: bool) -> None:
    draw = np.random.default_rng(1)
    found = [
        copied_study(study(draw, step, heavy), study(draw, step, heavy), "CMM", True)
        for _ in range(12)
    ]
    assert not any(one is not None and one.p < LEVEL for one in found)


@pytest.mark.parametrize(
    "change",
    [
        lambda one, draw: one.assign(value=one["value"] + 0.3),
        lambda one, draw: one.assign(value=one["value"] / 25.4),
        lambda one, draw: one.assign(value=one["value"] + 0.02 * draw.integers(-9, 10, 90)),
        lambda one, draw: one.sample(frac=1, random_state=3),
        lambda one, draw: one.assign(
            appraiser=one["appraiser"].map({0: "Lea", 1: "Ada", 2: "Max"})
        ),
    ],
    ids=["moved", "another unit", "last digits", "other order of rows", "other names"],
)
def test_a_study_typed_off_another_is_seen(change: Any) -> None:
    draw = np.random.default_rng(2)
    one = study(draw)
    found = copied_study(one, change(one, draw), "CMM", True)
    assert found is not None
    assert found.p < LEVEL
    assert "study of CMM" in found.evidence


def test_characteristics_read_at_once_may_err_alike() -> None:
    draw = np.random.default_rng(3)
    one = study(draw)
    alike = one.assign(value=(one["value"] + 0.3 * draw.normal(size=90)).round(2))
    assert copied_study(one, alike, "Gap", True) is not None
    assert copied_study(one, alike, "Gap", False) is None
    moved = one.assign(value=(one["value"] * 1.7 + 3).round(2))
    found = copied_study(one, moved, "Gap", False)
    assert found is not None
    assert found.p < LEVEL


def test_a_study_of_another_characteristic_is_seen_whatever_its_parts_were_given() -> None:
    """Another factor and constant, other numbers of the parts, other sizes: errors stay those of the other study."""
    draw = np.random.default_rng(8)
    one = study(draw)
    y = one["value"].to_numpy()
    other_parts = y.reshape(10, 9)[draw.permutation(10)].ravel()
    other_sizes = y - (y.reshape(10, 9).mean(axis=1) - 6 * draw.normal(size=10))[PART]
    for value in (1.7 * y + 3, 1.7 * other_parts + 3, 1.3 * other_sizes):
        copy = one.assign(value=np.round(value / 0.02) * 0.02)
        found = copied_study(copy, one, "Length", False)
        assert found is not None
        assert found.p < LEVEL
    for _ in range(5):
        assert copied_study(study(draw), one, "Length", False) is None


def test_hidden_repetition_tells_nothing() -> None:
    one = study(np.random.default_rng(4), step=8.0)
    assert copied_study(one, one, "CMM", True) is None
    assert copied_study(one, one.iloc[:-1], "CMM", True) is None


def test_parts_read_again_under_other_names_are_seen() -> None:
    draw = np.random.default_rng(5)
    sizes = draw.normal(size=10)
    again = np.concatenate([sizes, sizes + 0.5 + 0.1 * draw.normal(size=10)])
    names = [f"P{i}" for i in range(1, 21)]
    found = parts_again(np.repeat(names, 3), again.repeat(3))
    assert found is not None
    assert found.p < LEVEL
    assert found.evidence.startswith("parts P11 to P20 have the sizes of parts P1 to P10")
    thirds = np.concatenate([sizes, draw.normal(size=10), sizes + 0.2])
    third = parts_again(np.arange(1, 31), thirds)
    assert third is not None
    assert third.p < LEVEL
    assert "parts 21 to 30" in third.evidence


def test_parts_in_an_order_of_size_or_drawn_are_their_own() -> None:
    ordered = np.concatenate([np.linspace(0, 1, 10), np.linspace(0, 1, 10)])
    assert parts_again(np.arange(1, 21), ordered) is None
    draw = np.random.default_rng(6)
    honest = [parts_again(np.arange(1, 21), draw.normal(size=20)) for _ in range(40)]
    assert not any(one is not None and one.p < 1e-3 for one in honest)
    assert parts_again(np.arange(9), draw.normal(size=9)) is None
