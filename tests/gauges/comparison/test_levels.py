"""What a laboratory shows over all parts: a small bias everywhere, exchanged labels, a scale of its own. No source outside."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import interlaboratory
from linestudy.gauges.comparison.laboratories_finding import LaboratoryStudy

LABS, PARTS = list("ABCDE"), 8


def cautions(what: str, seed: int = 1) -> str:
    """Five laboratories, three readings each with SD 0.01; A differs as `what` says."""
    draw = np.random.default_rng(seed)
    part, lab, _ = np.indices((PARTS, 5, 3)).reshape(3, -1)
    size = 5 + 0.03 * np.array([-3.0, 2, 0, -1, 3, 1, -2, 4])
    y = size[part]
    if what == "exchanged":
        y = np.where((lab == 0) & (part < 2), size[1 - np.minimum(part, 1)], y)
    y = y + 0.01 * draw.normal(size=y.size)
    y = np.where((lab == 0) & (what == "off"), y + 0.02, y)
    y = np.where((lab == 0) & (what == "scale"), 5 + 1.3 * (y - 5), y)
    data = pd.DataFrame({"part": part + 1, "laboratory": np.array(LABS)[lab], "value": y})
    return " ".join(interlaboratory(data, unit="mm").cautions)


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("off", "above the others over all parts"),
        ("exchanged", "The readings of A fit those of the others once parts 1 and 2 change places"),
        ("scale", "A reads parts 1."),
    ],
)
def test_what_shows_over_all_parts_is_named(what: str, words: str) -> None:
    assert words in cautions(what, seed=3)


def test_honest_laboratories_are_left_alone() -> None:
    told = [cautions("", seed) for seed in range(60)]
    assert sum("others" in text for text in told) <= 5


@pytest.mark.parametrize("sds", [(8.0, 1.0, 1.0), (1.0, 1.0, 1.0), (3.0, 3.0, 2.0)])
def test_a_gauge_that_repeats_worse_makes_nobody_look_calm(sds: tuple[float, ...]) -> None:
    told = sum(
        "ask how its readings" in " ".join(of_three(sds, seed).cautions) for seed in range(25)
    )
    assert told <= 1


def test_one_far_calmer_than_the_next_is_asked() -> None:
    assert "B repeats with a standard deviation of 0." in " ".join(
        of_three((1.0, 0.05, 1.5), 1).cautions
    )


def test_rounding_names_no_laboratory() -> None:
    """Two means that rounding makes the same make the third stand out for nothing: in 97 of 100 studies before."""
    named = sum(
        bool(of_three((1.0, 1.0, 1.0), seed, step=1.0, trials=2).stragglers) for seed in range(25)
    )
    assert named <= 3
    off = of_three((0.3, 0.3, 0.3), 1, step=1.0, trials=4, labs="ABCDEFGH", one_off=6.0)
    assert [(s.laboratory, s.kind) for s in off.stragglers] == [("A", "mean")]


def of_three(
    sds: tuple[float, ...],
    seed: int,
    *,
    step: float = 0.0,
    trials: int = 3,
    labs: str = "ABC",
    one_off: float = 0.0,
) -> LaboratoryStudy:
    """Ten parts in laboratories that err by their own standard deviations; A is off by `one_off` on part 1."""
    draw = np.random.default_rng(seed)
    part, lab, _ = np.indices((10, len(labs), trials)).reshape(3, -1)
    y = 5 * draw.normal(size=10)[part] + np.resize(sds, len(labs))[lab] * draw.normal(
        size=part.size
    )
    y = y + one_off * ((part == 0) & (lab == 0))
    y = np.round(y / step) * step if step else y
    names = np.array(list(labs))[lab]
    return interlaboratory(pd.DataFrame({"part": part + 1, "laboratory": names, "value": y}))
