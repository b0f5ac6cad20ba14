"""The spread within subgroups, by each way that is in use.

Model: subgroups of independent normal values with one standard deviation. The pooled standard deviation
uses every value in full; mean standard deviation (over c4) and mean range (over d2) are what charts were
drawn from by hand, and are known to fewer degrees of freedom; for single values the mean moving range of
two is left (ISO 7870-2:2013; Burr 1969 for unequal sizes; Patnaik 1950 for degrees of freedom; Cryer &
Ryan 1990 for moving ranges). Misleads where neighbours are nearly the same part: all of them then flatter
alike.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.core.samples import as_sample
from linestudy.stability.charts.limits import (
    Spread,
    from_moving_ranges,
    from_ranges,
    from_sds,
    pooled,
)
from linestudy.stability.summaries import summarise

#: Ways that need subgroups of two or more.
OF_SUBGROUPS = {"pooled SD": pooled, "mean SD": from_sds, "mean range": from_ranges}
#: The way for single values.
OF_SINGLES = "moving range"


def within_spreads(values: Any, subgroup: Any = None) -> dict[str, Spread]:
    """Spread within subgroups by every way that the subgroups allow.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,), optional
        Label of each value; values whose label is missing are left out. Without labels every value
        stands alone.

    Returns
    -------
    dict of str to Spread
        ``"pooled SD"``, ``"mean SD"``, ``"mean range"``, or ``"moving range"`` for single values; each
        with ``sd`` in the unit of the values and ``df``.

    Raises
    ------
    CannotJudge
        Values that never differ within subgroups.

    Notes
    -----
    ISO 7870-2:2013; Burr, *Journal of Quality Technology* 1 (1969), 163-167; Patnaik, *Biometrika* 37
    (1950), 78-87.

    Examples
    --------
    >>> found = within_spreads([1.0, 3.0, 2.0, 4.0], [0, 0, 1, 1])
    >>> round(found["mean range"].sd, 3)
    1.772
    """
    y = as_sample(values, least=2)
    groups = summarise(y, subgroup)
    if np.max(groups.n) < 2:
        return {OF_SINGLES: from_moving_ranges(y)}
    return {name: way(groups) for name, way in OF_SUBGROUPS.items()}
