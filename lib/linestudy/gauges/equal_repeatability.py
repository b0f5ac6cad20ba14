"""Do all appraisers repeat equally well: Bartlett's test on what is left within cells.

Model: readings within a cell are normal about the cell's mean, each appraiser with a variance of their
own; the test asks whether these are one (Bartlett, *Proceedings of the Royal Society A* 160 (1937),
268-282). Misleads where readings are not normal: one stray reading makes an appraiser look different.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from linestudy.gauges.crossed_design import Layout
from linestudy.numerics.normal_intervals import sd_interval


def equal_repeatability(layout: Layout, confidence: float) -> dict[str, Any] | None:
    """Bartlett's test on each appraiser's variance within cells.

    Parameters
    ----------
    layout : Layout
    confidence : float
        Of each appraiser's standard deviation.

    Returns
    -------
    dict or None
        ``statistic, df, p`` and ``sd``, an Interval by appraiser; None without two appraisers who
        repeated and differed from themselves.
    """
    if "appraiser" not in layout.levels or len(layout.levels["appraiser"]) < 2:
        return None
    at = layout.factors.index("appraiser")
    people = layout.levels["appraiser"]
    squares = np.bincount(layout.codes[:, at], layout.rest() ** 2, minlength=len(people)).tolist()
    axes = tuple(i for i in range(layout.counts.ndim) if i != at)
    freedom = np.add.reduce(np.maximum(layout.counts - 1, 0), axis=axes).tolist()
    if min(freedom) < 1 or min(squares) <= 0:
        return None
    from scipy.special import chdtrc

    groups, total = len(people), sum(freedom)
    statistic = total * math.log(math.fsum(squares) / total) - math.fsum(
        df * math.log(ss / df) for ss, df in zip(squares, freedom, strict=True)
    )
    statistic /= 1 + (sum(1 / df for df in freedom) - 1 / total) / (3 * (groups - 1))
    return {
        "statistic": statistic,
        "df": groups - 1,
        "p": float(chdtrc(groups - 1, statistic)),
        "sd": {
            name: sd_interval(math.sqrt(ss / df), df, confidence)
            for name, ss, df in zip(people, squares, freedom, strict=True)
        },
    }
