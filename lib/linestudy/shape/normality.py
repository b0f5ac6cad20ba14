"""Normality: four tests, and how far from normal the values are, which matters more.

Model under test: independent values of one normal distribution, mean and standard deviation
estimated. With tens of thousands of parts every test rejects, with twenty none does; so the
distance is given as a size too: the largest difference between the two distribution functions, and
by how much the outer quantiles differ. Tests need independent values: a run is thinned evenly
before it is tested. Rounding to coarse steps, ties, serial correlation and mixtures all make tests
reject without the process being "abnormal"; the cautions name them where they are seen.

Tests: Anderson-Darling (p after D'Agostino & Stephens 1986, statsmodels), Shapiro-Wilk (SciPy, to
n = 5000), D'Agostino-Pearson (SciPy), Lilliefors (statsmodels).
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge

#: Shapiro-Wilk's p is not trusted beyond this (Royston 1995).
_SHAPIRO_LIMIT = 5000


@dataclass(frozen=True)
class NormalityTest:
    """One test of normality.

    Attributes
    ----------
    test : str
    statistic, p : float
    """

    test: str
    statistic: float
    p: float


def normality(values: Any) -> tuple[NormalityTest, ...]:
    """Test whether values follow a normal distribution.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Independent values.

    Returns
    -------
    tuple of NormalityTest
        Anderson-Darling (adjusted statistic), Shapiro-Wilk, D'Agostino-Pearson, Lilliefors.

    Raises
    ------
    CannotJudge
        Fewer than eight values, or all equal.

    Examples
    --------
    >>> [test.test for test in normality([1, 2, 3, 4, 5, 6, 7, 8])][0]
    'Anderson-Darling'
    """
    y = as_sample(values, least=8)
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
