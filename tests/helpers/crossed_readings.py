"""Readings of a crossed study with known truth."""

from __future__ import annotations

import numpy as np
import pandas as pd


def crossed_readings(
    seed: int,
    parts: int = 10,
    people: int = 3,
    levels: int = 1,
    trials: int = 2,
    error: float = 0.1,
    three_way: float = 0.0,
    person: float = 0.0,
) -> pd.DataFrame:
    """Readings with known truth; a third factor where it has more than one level."""
    rng = np.random.default_rng(seed)
    shape = (parts, people, levels, trials)
    at = np.indices(shape).reshape(4, -1)
    value = rng.normal(0, 3, parts)[at[0]] + rng.normal(0, 1, people)[at[1]] * person
    value = value + rng.normal(0, 1, shape[:3])[at[0], at[1], at[2]] * three_way
    value = value + rng.normal(0, error, at.shape[1])
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "day": at[2], "value": value})
    return data if levels > 1 else data.drop(columns="day")
