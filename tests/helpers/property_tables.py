"""Tables of readings that the properties of all methods are tried on."""

from __future__ import annotations

import numpy as np
import pandas as pd


def sample(rng: np.random.Generator, n: int = 120) -> pd.DataFrame:
    return pd.DataFrame({"value": rng.normal(2.0, 0.3, n)})


def crossed_table(rng: np.random.Generator) -> pd.DataFrame:
    rows = [
        {"part": f"p{i}", "appraiser": a, "trial": t, "value": 3 + 0.5 * i + b + rng.normal(0, 0.1)}
        for i in range(8)
        for a, b in (("Ada", 0.05), ("Bo", -0.04), ("Cy", 0.0))
        for t in (1, 2)
    ]
    return pd.DataFrame(rows)


def nested_table(rng: np.random.Generator) -> pd.DataFrame:
    rows = [
        {"batch": f"b{i}", "value": 5 + shift + rng.normal(0, 0.2)}
        for i, shift in enumerate(rng.normal(0, 0.5, 8))
        for _ in range(5)
    ]
    return pd.DataFrame(rows)


def masters(rng: np.random.Generator) -> pd.DataFrame:
    known = np.repeat([1.0, 2.0, 3.0, 4.0], 8)
    return pd.DataFrame({"value": known * 1.01 + rng.normal(0, 0.03, 32), "reference": known})


def pairs(rng: np.random.Generator) -> pd.DataFrame:
    true = rng.normal(4.0, 0.5, 40)
    return pd.DataFrame(
        {
            "first": true + 0.03 + rng.normal(0, 0.05, 40),
            "second": true + rng.normal(0, 0.05, 40),
        }
    )


def run(rng: np.random.Generator, n: int = 400) -> pd.DataFrame:
    order = np.arange(n) + 1.0
    value = 2.0 + 1e-4 * order + rng.normal(0, 0.1, n)
    return pd.DataFrame(
        {
            "order": order,
            "value": value,
            "subgroup": np.repeat(np.arange(n // 5), 5),
            "coil": [f"c{i}" for i in np.repeat(np.arange(8), n // 8)],
            "station": np.where(np.arange(n) % 2, "left", "right"),
        }
    )


def positions(rng: np.random.Generator) -> pd.DataFrame:
    return pd.DataFrame({"x": rng.normal(0.01, 0.02, 80), "y": rng.normal(0, 0.03, 80)})
