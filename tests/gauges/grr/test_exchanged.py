"""Parts that change places on one appraiser's sheet are named, and what a study holds beside is not taken for it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges.grr.design import lay_out
from linestudy.gauges.grr.exchanged import exchanged_parts, exchanged_rows

PART, WHO, TRIAL = (at.ravel() for at in np.indices((10, 3, 3)))


def said(order: Callable[[int], int], spread: float = 20.0, seed: int = 1) -> str:
    """What is said of a study whose second appraiser has the parts in another order; repetition is one."""
    draw = np.random.default_rng(seed)
    y = spread * draw.normal(size=10)[PART] + draw.normal(size=3)[WHO] + draw.normal(size=90)
    part = np.where(WHO == 1, np.vectorize(order)(PART), PART) + 1
    who = np.array(["Ada", "Ben", "Eva"])[WHO]
    data: Any = pd.DataFrame({"part": part, "appraiser": who, "trial": TRIAL, "value": y})
    return exchanged_parts(lay_out(data, "value", "part", "appraiser", "trial", None))


@pytest.mark.parametrize(
    ("order", "words"),
    [
        (lambda p: {2: 6, 6: 2}.get(p, p), "once parts 3 and 7 change places"),
        (lambda p: 9 - p, "once all parts stand in the opposite order"),
        (lambda p: (p + 1) % 10, "once all parts are moved on by one row"),
    ],
)
def test_the_order_that_was_changed_is_named(order: Callable[[int], int], words: str) -> None:
    assert (
        said(order)
        == f"The readings of Ben fit those of the others {words}: look whether labels were exchanged."
    )


@pytest.mark.parametrize("spread", [0.0, 1.0, 20.0])
def test_nothing_is_said_of_honest_studies(spread: float) -> None:
    assert not any(said(lambda p: p, spread, seed) for seed in range(40))


def test_a_stretch_and_a_single_trial_are_named() -> None:
    assert "once parts 3 to 7 are moved on by one row" in said(
        lambda p: 2 + (p - 1) % 5 if 2 <= p < 7 else p
    )
    draw = np.random.default_rng(4)
    y = 3.0 * np.array([0, 9, 4, 2, 7, 1, 5, 3, 8, 6])[PART] + draw.normal(size=90)
    cube = y.reshape(10, 3, 3).copy()
    cube[[1, 5], 1, 2] = cube[[5, 1], 1, 2]
    data: Any = pd.DataFrame(
        {"part": PART + 1, "appraiser": np.array(["Ada", "Ben", "Eva"])[WHO], "trial": TRIAL}
    )
    layout = lay_out(data.assign(value=cube.ravel()), "value", "part", "appraiser", "trial", None)
    assert exchanged_parts(layout).startswith(
        "One trial of Ben fits the other trials once parts 2 and 6 change places"
    )


def test_one_cell_that_is_off_is_no_exchange() -> None:
    draw = np.random.default_rng(5)
    told = 0
    for _ in range(60):
        y = 5 * draw.normal(size=10)[PART] + draw.normal(size=90) + 15 * ((PART == 2) & (WHO == 1))
        data: Any = pd.DataFrame({"part": PART, "appraiser": WHO, "trial": TRIAL, "value": y})
        told += bool(exchanged_parts(lay_out(data, "value", "part", "appraiser", "trial", None)))
    assert told <= 3


def test_one_who_errs_more_than_the_others_exchanged_nothing() -> None:
    draw = np.random.default_rng(6)
    names = tuple("ABCDEFGH")
    told = {True: 0, False: 0}
    for _ in range(100):
        means = 5 * draw.normal(size=10)[:, None] + draw.normal(size=(10, 8)) * [4, *[1] * 7]
        for alike in told:
            told[alike] += bool(
                exchanged_rows(np.arange(10).astype(str), means, names, alike=alike)
            )
    assert told[False] == 0
    # One spread for all is too small for the one.
    assert told[True] > 5


def test_an_exchange_is_seen_whoever_errs_more() -> None:
    draw = np.random.default_rng(7)
    means = 10 * np.array([0, 9, 4, 2, 7, 1, 5, 3, 8, 6.0])[:, None] + draw.normal(size=(10, 3)) * [
        3,
        1,
        1,
    ]
    means[[1, 4], 0] = means[[4, 1], 0]
    said = exchanged_rows((np.arange(10) + 1).astype(str), means, ("A", "B", "C"), alike=False)
    assert said == "A fit those of the others once parts 2 and 5 change places"
