"""Whether parts of one name are the same parts in two measuring systems.

Model: the means of a part in both systems are its size and independent errors, which repeated readings show. Parts of the same
name that were exchanged, or drawn anew, make the differences scatter like the parts themselves. Refused are five or more parts that do not
correlate (below 0.5, p above 0.001), whose differences scatter more than their readings do in either system, and more than repeated
readings explain (F, with Satterthwaite's degrees of freedom for two unequal variances): a gauge that errs as much as the parts
differ does not correlate with another one either.

When it misleads: parts that truly read differently in two systems, each by as much as parts differ, are refused as well.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linestudy.results import CannotJudge

#: How seldom repeated readings explain differences that are refused.
_BY_CHANCE = 0.001
#: Parts from which it is looked at, and the correlation from which parts read alike.
_PARTS, _ALIKE = 5, 0.5


def refuse_other_parts(
    one: NDArray[np.float64],
    two: NDArray[np.float64],
    first: tuple[float, float],
    second: tuple[float, float],
) -> None:
    """Refuse parts of the same names that cannot be the same parts.

    Parameters
    ----------
    one, two : numpy.ndarray of float, shape (parts,)
        Means of each part.
    first, second : tuple of float
        For each system the variance that repeated readings leave in such a mean, and its degrees of freedom;
        with no degrees of freedom the readings' correlation alone decides.

    Raises
    ------
    CannotJudge
        With the correlation.

    Examples
    --------
    >>> import numpy as np
    >>> sizes = np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    >>> refuse_other_parts(sizes, sizes[[3, 0, 5, 1, 4, 2]], (0.01, 12), (0.01, 12))
    Traceback (most recent call last):
    ...
    linestudy.results.errors.CannotJudge: parts of the same name do not read alike with the two (correlation 0.09): they may be other parts
    """
    if one.size < _PARTS or min(np.ptp(one), np.ptp(two)) <= 0:
        return
    from scipy.special import fdtrc
    from scipy.stats import pearsonr

    apart = float((two - one).std(ddof=1))
    found = pearsonr(one, two)
    near = apart <= 0.5 * float(one.std(ddof=1) + two.std(ddof=1))
    if found.statistic >= _ALIKE or near or found.pvalue <= 0.001:
        return
    (error, df), (other, df_other) = first, second
    if min(df, df_other) > 0 and error + other > 0:
        free = (error + other) ** 2 / (error**2 / df + other**2 / df_other)
        if float(fdtrc(one.size - 1.0, free, apart**2 / (error + other))) > _BY_CHANCE:
            return
    raise CannotJudge(
        "parts of the same name do not read alike with the two "
        f"(correlation {found.statistic:.2f}): they may be other parts"
    )
