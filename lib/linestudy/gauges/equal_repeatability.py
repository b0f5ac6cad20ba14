"""Do all appraisers repeat equally well: Bartlett's test on what is left within cells.

Model: readings within a cell are normal about the cell's mean, each appraiser with a variance of their
own; the test asks whether these are one (Bartlett, *Proceedings of the Royal Society A* 160 (1937),
268-282). Misleads where readings are not normal: one stray reading makes an appraiser look different.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from linestudy.core.normal_intervals import sd_interval
from linestudy.gauges.crossed_design import Layout


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
    rest = layout.rest()
    person = layout.codes[:, layout.factors.index("appraiser")]
    people = layout.levels["appraiser"]
    ss = np.bincount(person, rest**2, minlength=len(people))
    axes = tuple(i for i in range(layout.counts.ndim) if layout.factors[i] != "appraiser")
    df = np.maximum(layout.counts - 1, 0).sum(axis=axes).astype(float)
    if (df < 1).any() or (ss <= 0).any():
        return None
    from scipy.special import chdtrc

    groups, total = len(people), df.sum()
    statistic = total * math.log(ss.sum() / total) - float((df * np.log(ss / df)).sum())
    statistic /= 1 + (float((1 / df).sum()) - 1 / total) / (3 * (groups - 1))
    return {
        "statistic": float(statistic),
        "df": groups - 1,
        "p": float(chdtrc(groups - 1, statistic)),
        "sd": {
            name: sd_interval(math.sqrt(s / d), d, confidence)
            for name, s, d in zip(people, ss, df, strict=True)
        },
    }
