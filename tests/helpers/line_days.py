"""Days of a line as csv, and what study.toml says of them."""

from __future__ import annotations

import numpy as np
import pandas as pd

DATA = (
    'role = "run"\ncolumns = { width = "W", gap = "G" }\norder = "S"\ntime = "T"\n'
    'station = "St"\nverdict = "V"\naccept = ["ok"]\nsubgroup = { size = 5, every = 25 }\n'
    'missing = ["", "9999"]'
)


def day(number: int, n: int = 3000, gaps: bool = False) -> str:
    """A day of a run, as csv; with some readings missing, a pause and repeated rows where asked."""
    rng = np.random.default_rng(number)
    level = np.cumsum(rng.normal(0, 0.0005, n))
    frame = pd.DataFrame(
        {
            "S": np.arange(n) + 1 + number * n,
            "T": pd.Timestamp("2026-01-01")
            + pd.to_timedelta(np.arange(n) + number * 86400, unit="s"),
            "St": np.where(np.arange(n) % 2, "left", "right"),
            "V": np.where(rng.random(n) < 0.01, "nok", "ok"),
            "W": np.round(2.8 + level + rng.normal(0, 0.005, n), 3),
            "G": np.round(0.6 + rng.gamma(2, 0.01, n), 3),
        }
    )
    if gaps:
        frame.loc[rng.choice(n, 40, replace=False), "W"] = 9999
        frame = frame.drop(index=range(500, 540))
        frame = pd.concat([frame, frame.tail(7)])
    return frame.to_csv(index=False)
