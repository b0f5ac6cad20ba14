"""Is the process in statistical control: tests whose false alarms do not depend on the shape of the values.

Model under test: values of each named stream are independent, or their neighbours correlate by no
more than 0.3 as an autoregression of order one, and they follow one distribution of any shape
throughout. Values are replaced by normal scores of their ranks within their stream (van der
Waerden); about named regrinds a common slope of wear is taken off first. What ranks are tested for
cannot be mimicked by a heavy or skewed tail, so "expected false alarms under the fitted
distribution" are exact for the scores, and for the chart's points they come from the values' own
distribution (`points`).

Tests, all two-sided towards movement:

- level, by blocks: variance of the means of blocks of one, two, five and more subgroups against
  that within (F), allowing for the neighbours' correlation;
- level, by the slope of the subgroups' means over their number, against what is left of them about it (t), allowing for what
  neighbouring subgroups have in common: of slow movement a run of 125 shows little else;
- level, by the largest excursion of the cumulated sum (Kolmogorov's distribution; Brown, Durbin &
  Evans 1975 for the idea): steps, trends, slow waves;
- the farthest single subgroup (Bonferroni);
- correlation of neighbours above 0.3 (Fisher's z);
- spread, by blocks and by the cumulated sum, on the normal scores of the scores' absolute values;
- values in subgroups against those between them, by level and by spread (z): a plan that meets a cycle always at the same
  place charts another process than the one that runs;
- points of the control chart beyond their limits against those expected.

Their p-values are put together by Cauchy's combination (Liu & Xie, *JASA* 115 (2020), 393-402),
which holds for dependent tests where p is small; the slope has four times the weight of each other test. A drift of one standard
deviation over 125 readings in subgroups of five is then seen at 0.005 in 35 % of runs (8 % without the slope; 47 % by the slope alone,
which would see nothing else), of one and a half in 85 % (46 %). One p-value per characteristic comes out; the
verdict holds it against ``stability_alpha``. It misleads on a run too short to see what moves the
process (the rule on the sample looks at that) and calls a movement seen that is too small to
matter: so the share of the variance that moves is given beside it.

The mean's and the spread's effective numbers are those of `movement.slow_noise` where every value is
charted; where subgroups are separated in time, what the values of one have in common counts once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linestudy.stability.model.combination import combined
from linestudy.stability.model.named_wear import without_wear
from linestudy.stability.movement.slow_noise import slow_noise

#: Correlation of neighbours that still counts as in control (a decision of this kit).
ALLOWED = 0.3
#: Share of the variance below which movement does not change what may be said: an index from all values
#: holds it, and it moves that index by a quarter of a percent (common practice, no source).
SMALL = 0.01
#: An alarm that counts whatever its size.
LOUD = 0.001
_BLOCKS = (1, 2, 5, 10, 25)
#: Values in and between subgroups from which the two are compared, and the test's name.
_LEAST_CHARTED, _CHARTED = 50, "charted values against the others"
#: What tests of a stream that is held against the others beside it begin with.
ONE_OF_SEVERAL = "one stream against the others"
#: Weights of tests in the combination; the others have one.
_WEIGHTS = {"level, slope": 4.0, f"{ONE_OF_SEVERAL}, slope": 4.0}


@dataclass(frozen=True)
class StabilityTests:
    """Whether the process is in statistical control, by test and by size of movement.

    Attributes
    ----------
    p : float
        Of all tests together.
    tests : dict of str to float
        p-value of each.
    neighbours : float
        Correlation of neighbours within subgroups.
    level_share, sd_share : float
        Share of the variance of the scores, and of the scores of their distances from the middle, that
        lies between blocks beyond what neighbours explain; of all sizes of blocks the largest.
    n_eff_mean, n_eff_sd : float
        Effective sample size for mean and SD.
    subgroups : int
    wear_per_thousand : float or None
        Slope that was taken off between named regrinds, in the unit of the values.
    alone : float
        Parts of one stroke per effective part (design effect of what they share).
    """

    p: float
    tests: dict[str, float]
    neighbours: float
    level_share: float
    sd_share: float
    n_eff_mean: float
    n_eff_sd: float
    subgroups: int
    wear_per_thousand: float | None = None
    alone: float = 1.0

    @property
    def matters(self) -> bool:
        """Whether what moves is large enough to matter: a hundredth of the variance, or an alarm by itself."""
        alarms = (
            "correlation of neighbours",
            "points beyond the limits",
            "farthest subgroup",
            _CHARTED,
        )
        loud = any(self.tests.get(name, 1.0) < LOUD for name in alarms)
        return loud or max(self.level_share, self.sd_share) >= SMALL

    @property
    def strongest(self) -> str:
        """Name of the test with the smallest p-value."""
        return min(self.tests, key=lambda name: self.tests[name])


def normal_scores(y: Any, stream: Any = None) -> Any:
    """Compute normal scores of ranks, within each stream; ties share their mean rank.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    stream : numpy.ndarray of int, shape (n,), optional

    Returns
    -------
    numpy.ndarray of float, shape (n,)
        Mean zero and variance one within each stream.
    """
    from scipy.special import ndtri
    from scipy.stats import rankdata

    z, codes = np.empty(y.size), np.zeros(y.size, dtype=int) if stream is None else stream
    for code in np.unique(codes):
        here = codes == code
        scores = ndtri(rankdata(y[here]) / (here.sum() + 1))
        sd = scores.std()
        z[here] = (scores - scores.mean()) / sd if sd > 0 else 0.0
    return z


def stability_tests(
    y: Any,
    order: Any,
    subgroup: Any,
    stream: Any = None,
    resets: tuple[float, ...] = (),
) -> StabilityTests:
    """Test whether the process is in statistical control.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        In production order.
    order : numpy.ndarray of float, shape (n,)
    subgroup : numpy.ndarray of int, shape (n,)
        -1 for values that belong to none.
    stream : numpy.ndarray of int, shape (n,), optional
    resets : tuple of float
        Named regrinds.

    Returns
    -------
    StabilityTests

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(size=500)
    >>> stability_tests(y, np.arange(500.0), np.arange(500) // 5).p > 0.001
    True
    """
    rest, slope = without_wear(y, order, resets)
    z = normal_scores(rest, stream)
    every = bool((subgroup < 0).sum() < 5)
    used = subgroup >= 0
    zg, codes = z[used], np.unique(subgroup[used], return_inverse=True)[1]
    k = int(codes.max()) + 1
    size = zg.size / k
    neighbours, pairs = _neighbours(zg, codes, stream[used] if stream is not None else None)
    rho = _allowance(zg, codes, k, size, neighbours, pairs)
    tests: dict[str, float] = {}
    a = normal_scores(np.abs(zg), None if stream is None else stream[used])
    if k >= 8:
        for many in _BLOCKS:
            blocks = k // many
            if blocks < 5:
                break
            block = np.minimum(codes // many, blocks - 1)
            tests[f"level by blocks of {many}"] = _blocks(zg, block, blocks, rho, size, every, many)
            if many > 1 or size >= 2:
                tests[f"spread by blocks of {many}"] = _blocks(
                    a, block, blocks, rho * rho, size, every, many
                )
        tests["level, slope"] = _slope(zg, codes, k, rho, size, every)
        inflate = _inflation(rho, 1e9 if every else size)
        tests["level, cumulated"] = _cumulated(zg, inflate)
        tests["spread, cumulated"] = _cumulated(a, _inflation(rho * rho, 1e9 if every else size))
        tests["farthest subgroup"] = _farthest(zg, codes, k, rho)
    if min(used.sum(), (~used).sum()) >= _LEAST_CHARTED:
        tests[_CHARTED] = _charted(z, used, rho, size, stream)
    if pairs > 20:
        tests["correlation of neighbours"] = _more_than_allowed(neighbours, pairs)
    n_eff_mean, n_eff_sd = _effective(z, zg, codes, k, every, neighbours, pairs, tests)
    return StabilityTests(
        put_together(tests) if tests else 1.0,
        tests,
        neighbours,
        max(
            (_moved(zg, codes, k // m, m, rho, size, every) for m in _BLOCKS if k // m >= 5),
            default=0.0,
        ),
        max(
            (_moved(a, codes, k // m, m, rho * rho, size, every) for m in _BLOCKS if k // m >= 5),
            default=0.0,
        ),
        n_eff_mean,
        n_eff_sd,
        k,
        slope,
    )


def with_chart(found: StabilityTests, p: float) -> StabilityTests:
    """Add the count of points beyond the chart's limits as one more test."""
    tests = {**found.tests, "points beyond the limits": p}
    return replace(found, tests=tests, p=put_together(tests))


def put_together(tests: dict[str, float]) -> float:
    """Combine the p-values of all tests into one, each with its weight."""
    return combined(list(tests.values()), [_WEIGHTS.get(name, 1.0) for name in tests])


def _neighbours(z: Any, codes: Any, stream: Any) -> tuple[float, int]:
    """Estimate the correlation of neighbours within subgroups by successive differences, and count the pairs.

    Without subgroups, the neighbour of a value is the one before it.
    """
    same = codes[1:] == codes[:-1]
    if not same.any():
        same = np.ones_like(same)
    pairs = int(same.sum())
    if pairs < 4 or z.var() == 0:
        return 0.0, pairs
    moves = (z[1:] - z[:-1])[same]
    return float(1 - (moves**2).mean() / 2 / z.var()), pairs


def _allowance(z: Any, codes: Any, k: int, size: float, neighbours: float, pairs: int) -> float:
    """Estimate the correlation of neighbours to allow level and spread for, at most :data:`ALLOWED`.

    Separated from movement by looking inside subgroups alone: successive differences against the spread
    within (von Neumann's ratio), which a level that all of a subgroup share leaves untouched. One
    standard error is added.
    """
    if pairs <= 20:
        return 0.0
    if size < 2.5:
        return float(np.clip(neighbours + 1 / np.sqrt(pairs), 0.0, ALLOWED))
    if z.size <= k:
        return 0.0
    means = np.bincount(codes, z, minlength=k) / np.bincount(codes, minlength=k)
    within = float(((z - means[codes]) ** 2).sum()) / (z.size - k)
    same = codes[1:] == codes[:-1]
    if within <= 0 or not same.any():
        return ALLOWED
    moves = float(((z[1:] - z[:-1])[same] ** 2).mean()) / 2
    grid = np.linspace(0.0, ALLOWED, 31)
    expected = np.array([(1 - r) * (size - 1) / (size - _inflation(r, size)) for r in grid])
    found = float(np.interp(-moves / within, -expected, grid))
    error = np.sqrt((size - 2) / (size**2 - 1) / k) / (1 - 2 / size)
    return float(min(found + error, ALLOWED))


def inside_subgroups(z: Any, subgroup: Any) -> float:
    """Estimate the correlation of neighbours that level and spread are allowed for, at most :data:`ALLOWED`.

    Parameters
    ----------
    z : numpy.ndarray of float, shape (n,)
    subgroup : numpy.ndarray of int, shape (n,)
        -1 for values that belong to none.

    Returns
    -------
    float
        What values of one subgroup share does not count; one standard error is added.
    """
    used = subgroup >= 0
    zg, codes = z[used], np.unique(subgroup[used], return_inverse=True)[1]
    k = int(codes.max()) + 1
    return _allowance(zg, codes, k, zg.size / k, *_neighbours(zg, codes, None))


def _inflation(rho: float, m: float) -> float:
    """Compute the variance of the mean of m neighbours, times m."""
    if m > 1e6:
        return (1 + rho) / (1 - rho)
    lags = np.arange(1, max(round(m), 1))
    return float(1 + 2 * ((1 - lags / m) * rho**lags).sum())


def _blocks(
    z: Any, block: Any, blocks: int, rho: float, size: float, every: bool, many: int
) -> float:
    from scipy.special import fdtrc

    counts = np.bincount(block, minlength=blocks).astype(float)
    means = np.bincount(block, z, minlength=blocks) / counts
    n, m = z.size, z.size / blocks
    between = float((counts * (means - z.mean()) ** 2).sum()) / (blocks - 1)
    within = float(((z - means[block]) ** 2).sum()) / max(n - blocks, 1)
    if within <= 0 or m <= 1.5:
        return 1.0
    f = _inflation(rho, m if every else size)
    g = (m - f) / (m - 1)
    return float(fdtrc(blocks - 1, n - blocks, between / f / (within / g)))


def _slope(z: Any, codes: Any, k: int, rho: float, size: float, every: bool) -> float:
    """Compute the p-value of the slope of subgroup means, from their scatter about it whatever neighbours have in common."""
    from scipy.special import stdtr

    means = np.bincount(codes, z, minlength=k) / np.bincount(codes, minlength=k)
    at = np.arange(k) - (k - 1) / 2
    squares = float(at @ at)
    slope = float(at @ means) / squares
    rest = means - means.mean() - slope * at
    beside = _inflation(rho, 1e9) / _inflation(rho, size) if every else 1.0
    error = np.sqrt(float(rest @ rest) / (k - 2) * beside / squares)
    return float(2 * stdtr(k - 2, -abs(slope) / error)) if error > 0 else 1.0


def _charted(z: Any, used: Any, rho: float, size: float, stream: Any) -> float:
    """Compute the p-value that values in subgroups have the level and spread of those between them."""
    from scipy.special import ndtr

    a, p = normal_scores(np.abs(z), stream), []
    for scores, alike in ((z, rho), (a, rho * rho)):
        own, others = scores[used], scores[~used]
        error = np.sqrt(
            own.var() * _inflation(alike, size) / own.size
            + others.var() * _inflation(alike, 1e9) / others.size
        )
        p.append(2 * ndtr(-abs(own.mean() - others.mean()) / error) if error > 0 else 1.0)
    return float(min(2 * min(p), 1.0))


def _cumulated(z: Any, inflate: float) -> float:
    from scipy.special import kolmogorov

    if z.var() == 0:
        return 1.0
    path = np.cumsum(z - z.mean())
    return float(kolmogorov(float(np.abs(path).max()) / np.sqrt(z.size * z.var() * inflate)))


def _farthest(z: Any, codes: Any, k: int, rho: float) -> float:
    from scipy.special import ndtr

    counts = np.bincount(codes, minlength=k).astype(float)
    means = np.bincount(codes, z, minlength=k) / counts
    m = z.size / k
    far = float((np.abs(means) * np.sqrt(counts)).max()) / np.sqrt(_inflation(rho, m))
    return float(min(2 * k * ndtr(-far), 1.0))


def _more_than_allowed(neighbours: float, pairs: int) -> float:
    from scipy.special import ndtr

    r = min(max(neighbours, -0.999), 0.999)
    return float(ndtr(-(np.arctanh(r) - np.arctanh(ALLOWED)) * np.sqrt(max(pairs - 3, 1))))


def _moved(
    z: Any, codes: Any, blocks: int, many: int, rho: float, size: float, every: bool
) -> float:
    """Estimate the component of variance between blocks, as a share."""
    block = np.minimum(codes // many, blocks - 1)
    counts = np.bincount(block, minlength=blocks).astype(float)
    means = np.bincount(block, z, minlength=blocks) / counts
    m = z.size / blocks
    within = float(((z - means[block]) ** 2).sum()) / max(z.size - blocks, 1)
    if m <= 1.5 or z.var() == 0:
        return 0.0
    f = _inflation(rho, m if every else size)
    at_rest = within * (m - 1) / max(m - f, 0.1) * f / m
    return float(np.clip((means.var(ddof=1) - at_rest) / z.var(), 0.0, 1.0))


def _effective(
    z: Any, zg: Any, codes: Any, k: int, every: bool, neighbours: float, pairs: int, tests: Any
) -> tuple[float, float]:
    """Estimate effective sample sizes for mean and SD."""
    n = z.size
    if every:
        found = slow_noise(z)
        return found.n_eff_mean, found.n_eff_sd
    seen = neighbours * np.sqrt(max(pairs, 1)) > 1.96 or any(
        p < 0.01 for name, p in tests.items() if name.startswith("level")
    )
    if not seen:
        return float(n), float(n)
    # Subgroups are separated in time: what the values of one have in common counts once.
    means = np.bincount(codes, zg, minlength=k) / np.bincount(codes, minlength=k)
    share = min(float(means.var(ddof=1) / zg.var()), 1.0)
    size = zg.size / k
    first = max(share * size, 1.0)
    inside = max((share * size - 1) / max(size - 1, 1e-9), 0.0)
    return float(max(n / first, 2.0)), float(max(n / (1 + (size - 1) * inside**2), 4.0))
