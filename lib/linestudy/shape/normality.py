"""Tests of normality."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, data_arguments

#: Shapiro-Wilk's p is not trusted beyond this (Royston 1995).
_SHAPIRO_LIMIT = 5000


@dataclass(frozen=True)
class NormalityTest:
    """One test of normality.

    Attributes
    ----------
    test : str
        Its name.
    statistic : float
        Of Anderson-Darling the one adjusted for sample size.
    p : float
        Probability of a statistic at least as extreme where the distribution is normal.
    """

    test: str
    statistic: float
    p: float


def normality_tests(values: ArrayLike) -> tuple[NormalityTest, ...]:
    r"""Test whether values follow a normal distribution.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Independent values in any unit, at least eight.

    Returns
    -------
    tuple of NormalityTest
        Anderson-Darling (adjusted statistic), Shapiro-Wilk (to n = 5000), D'Agostino-Pearson (from
        n = 20), Lilliefors.

    Raises
    ------
    CannotJudge
        Fewer than eight values, or all equal.
    ValueError, TypeError
        An array of other than one dimension; a table.

    See Also
    --------
    anderson_darling : The statistic for any family.
    select_distribution : Takes these tests as one look among others.

    Notes
    -----
    Model: independent values; mean and standard deviation are estimated from them. The adjusted
    Anderson-Darling statistic is

    .. math:: A^{*2} = A^2 \left(1 + \frac{0.75}{n} + \frac{2.25}{n^2}\right).

    With tens of thousands of parts every test rejects, with twenty none does; the size of the
    difference is given beside each test for that reason. Misleads where values are not independent (a run
    is thinned evenly before it is tested), and where rounding to coarse steps, ties or a mixture make
    a test reject without the process being "abnormal".

    References
    ----------
    D'Agostino & Stephens, *Goodness-of-Fit Techniques* (1986), table 4.9 (by statsmodels); Royston,
    *Applied Statistics* 44 (1995), 547-551 (by SciPy); D'Agostino & Pearson, *Biometrika* 60 (1973),
    613-622 (by SciPy); Lilliefors, *JASA* 62 (1967), 399-402 (by statsmodels).

    Examples
    --------
    >>> for test in normality_tests([1, 2, 3, 4, 5, 6, 7, 8]):
    ...     print(f"{test.test}: {test.statistic:.3f}, p = {test.p:.2f}")
    Anderson-Darling: 0.151, p = 0.96
    Shapiro-Wilk: 0.975, p = 0.93
    Lilliefors: 0.105, p = 0.99
    """
    y = data_arguments.one_dimensional(values, least=8)
    if np.ptp(y) == 0:
        raise CannotJudge("All values are the same; normality has no meaning.")
    from scipy import stats
    from statsmodels.stats.diagnostic import lilliefors, normal_ad

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        statistic, p = normal_ad(y)
        n = y.size
        adjusted = float(statistic) * (1 + 0.75 / n + 2.25 / n**2)
        found = [NormalityTest("Anderson-Darling", adjusted, float(p))]
        if n <= _SHAPIRO_LIMIT:
            shapiro = stats.shapiro(y)
            found.append(NormalityTest("Shapiro-Wilk", float(shapiro[0]), float(shapiro[1])))
        if n >= 20:
            omnibus = stats.normaltest(y)
            found.append(NormalityTest("D'Agostino-Pearson", float(omnibus[0]), float(omnibus[1])))
        statistic, p = lilliefors(y, dist="norm", pvalmethod="approx")
        found.append(NormalityTest("Lilliefors", float(statistic), float(p)))
    return tuple(test for test in found if np.isfinite(test.statistic) and np.isfinite(test.p))
