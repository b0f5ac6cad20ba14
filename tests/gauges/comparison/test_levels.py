"""What a laboratory shows over all parts: a small bias everywhere, exchanged labels, a scale of its own. No source outside."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import interlaboratory

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
