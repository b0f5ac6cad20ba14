"""Check the effective sample sizes of a run by resampling blocks of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics import generator
from linestudy.results import Absent, CannotJudge, Finding, Interval, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed

if TYPE_CHECKING:
    import pandas as pd

#: Fewer blocks than this say nothing of their scatter (common practice, no source).
LEAST_BLOCKS = 10
#: More blocks cost time and say no more.
MOST_BLOCKS = 400
RESAMPLES = 2_000
#: Effective sample sizes that differ by more than this factor deserve a caution (no source).
LARGE_FACTOR = 2.0


@dataclass(frozen=True)
class BlockBootstrap(Finding):
    """Effective sample sizes of a run by resampling blocks of it.

    Attributes
    ----------
    n : int
        Parts in the run.
    block_length : int
        Parts in a block.
    blocks : int
        Blocks in the run.
    n_eff_mean : float
        Effective sample size for the mean, by the blocks. Formula: ``sd² / var(mean)``.
    n_eff_sd : float
        Effective sample size for the standard deviation, by the blocks. Formula: ``(kurtosis - 1) / var(log variance)``.
    used_n_eff_mean : float
        Effective sample size for the mean that the intervals used.
    used_n_eff_sd : float
        Effective sample size for the standard deviation that the intervals used.
    Ppk : Interval or Absent
        Of mean and standard deviation, with the interval of the resampled indices.
    """

    n: int
    block_length: int
    blocks: int
    n_eff_mean: float
    n_eff_sd: float
    used_n_eff_mean: float
    used_n_eff_sd: float
    Ppk: Interval | Absent
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Effective sample size, checked by blocks"
    picture: ClassVar[str] = "capability:effective_sample_sizes"

    @property
    def statement(self) -> str:
        return (
            f"Resampling {self.blocks} blocks of {self.block_length:,} parts gives the {self.n:,} parts an effective "
            f"sample size of {self.n_eff_mean:,.0f} for the mean and {self.n_eff_sd:,.0f} for the standard deviation; "
            f"the intervals used {self.used_n_eff_mean:,.0f} and {self.used_n_eff_sd:,.0f}."
        )

    def _rows(self) -> Rows:
        return [
            {"for": "mean", "by blocks": self.n_eff_mean, "used": self.used_n_eff_mean},
            {"for": "standard deviation", "by blocks": self.n_eff_sd, "used": self.used_n_eff_sd},
        ]

    def shown(self) -> pd.DataFrame:
        """Return the table as text; effective sample sizes are whole numbers to a reader.

        Returns
        -------
        pandas.DataFrame
        """
        table = self.table()
        for name in ("by blocks", "used"):
            table[name] = [f"{value:,.0f}" for value in table[name]]
        return table


BLOCK_BOOTSTRAP = Declaration(
    "capability.block_bootstrap", BlockBootstrap, "Effective sample size by blocks"
)


@old_keywords(
    renamed("n_mean", "n_eff_mean", since="0.2.0", removal="0.3.0"),
    renamed("n_spread", "n_eff_sd", since="0.2.0", removal="0.3.0"),
    renamed("block", "block_length", since="0.2.0", removal="0.3.0"),
)
def block_bootstrap(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    n_eff_mean: float | None = None,
    n_eff_sd: float | None = None,
    block_length: int | None = None,
    resamples: int = RESAMPLES,
    confidence: float = 0.95,
    seed: int | None = None,
) -> BlockBootstrap:
    r"""Resample blocks of a run and compare with the effective sample sizes in use.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In the order the parts were made, in any unit.
    lower, upper : float, optional
        Tolerance limits in the unit of the values, for the index.
    n_eff_mean, n_eff_sd : float, optional
        Effective sample sizes in use for the mean and for the standard deviation; n when absent.
    block_length : int, optional
        Parts in a block; when absent so long that the correlation in use is spent about five times
        over, that there are at most four hundred blocks, and never more than a twentieth of the run.
    resamples : int
        Series that are put together from blocks.
    confidence : float
        Of the index's interval, between 0 and 1.
    seed : int, optional
        Of the drawing of blocks; the kit's own when absent.

    Returns
    -------
    BlockBootstrap
        Effective sample sizes by blocks beside those in use, and the index with its interval.

    Raises
    ------
    CannotJudge
        Fewer than ten blocks, or values that never differ.
    ValueError, TypeError
        An argument outside its range, a table, or an array of other than one dimension.

    See Also
    --------
    process_capability : Uses the effective sample sizes.

    Notes
    -----
    Model: the run is one stretch of a stationary series. Blocks of consecutive parts, long against the
    serial correlation, are drawn with replacement and put end to end; mean, standard deviation and
    index of such series scatter as those of new runs would, whatever the correlation and the
    distribution. From the scatter follow effective sample sizes

    .. math:: n_\mathrm{eff,mean} = \frac{s^2}{\operatorname{var}(\bar x^*)}, \qquad
        n_\mathrm{eff,sd} = \frac{\kappa - 1}{\operatorname{var}(\log s^{*2})}.

    Misleads where movements are as long as the run (wear, coils): they are in one or two blocks only, so
    that their part of the scatter is understated; with few blocks the scatter is itself uncertain. That
    is why it is the check and not the interval.

    References
    ----------
    Künsch, *Annals of Statistics* 17 (1989), 1217-1241; Lahiri, *Resampling Methods for Dependent Data*
    (2003), ch. 2.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(size=4000)
    >>> found = block_bootstrap(y, block_length=20, seed=1)
    >>> print(found.statement)
    Resampling 200 blocks of 20 parts gives the 4,000 parts an effective sample size of 4,000 for the mean
    and 3,691 for the standard deviation; the intervals used 4,000 and 4,000.
    """
    y = data_arguments.one_dimensional(values, least=LEAST_BLOCKS * 2)
    lower, upper = arguments.limits(lower, upper, needed=False)
    arguments.share("confidence", confidence)
    arguments.whole("resamples", resamples, least=2)
    if block_length is not None:
        arguments.whole("block_length", block_length, least=1)
    for name, number in (("n_eff_mean", n_eff_mean), ("n_eff_sd", n_eff_sd)):
        if number is not None:
            arguments.number(name, number, above=0)
    n = int(y.size)
    if np.ptp(y) == 0:
        raise CannotJudge("All values are the same, so there is no scatter to resample.")
    used_mean, used_sd = min(n_eff_mean or n, n), min(n_eff_sd or n, n)
    length = block_length or min(max(math.ceil(5 * n / used_mean), n // MOST_BLOCKS, 5), n // 20)
    count = n // max(length, 1)
    if length < 1 or count < LEAST_BLOCKS:
        raise CannotJudge(f"The run holds {count} blocks; {LEAST_BLOCKS} are needed.")
    centre, sd = float(y.mean()), float(y.std(ddof=1))
    z = (y - centre) / sd
    # Sums of every block that may be drawn, by differences of running sums.
    sums = np.stack([_moving(z, length), _moving(z * z, length)])
    starts = generator(seed, "block bootstrap").integers(0, n - length + 1, (resamples, count))
    total = sums[:, starts].sum(axis=2) / (count * length)
    mean, variance = total[0], total[1] - total[0] ** 2
    # A series of few blocks scatters less than its run: the drawn blocks are fewer than those seen.
    scale = count * length / n
    by_mean = 1.0 / float(mean.var()) / scale
    kurtosis = float((z**4).mean())
    by_sd = (kurtosis - 1.0) / float(np.log(variance).var()) / scale
    notes = []
    for name, blocks_say, used in (
        ("mean", by_mean, used_mean),
        ("standard deviation", by_sd, used_sd),
    ):
        if used > LARGE_FACTOR * blocks_say:
            notes.append(
                f"Blocks give an effective sample size of {blocks_say:,.0f} for the {name} where "
                f"the intervals used {used:,.0f}: they may be too narrow."
            )
    return BlockBootstrap(
        n=n,
        block_length=length,
        blocks=count,
        n_eff_mean=min(by_mean, float(n)),
        n_eff_sd=min(by_sd, float(n)),
        used_n_eff_mean=float(used_mean),
        used_n_eff_sd=float(used_sd),
        Ppk=_index(
            centre + sd * mean, sd * np.sqrt(variance), centre, sd, lower, upper, confidence
        ),
        cautions=tuple(notes),
    )


def _moving(values: Any, length: int) -> Any:
    running = np.concatenate([[0.0], np.cumsum(values)])
    return running[length:] - running[:-length]


def _index(
    means: Any,
    sds: Any,
    mean: float,
    sd: float,
    lower: float | None,
    upper: float | None,
    confidence: float,
) -> Interval | Absent:
    def index(m: Any, s: Any) -> Any:
        sides = []
        if lower is not None:
            sides.append((m - lower) / (3 * s))
        if upper is not None:
            sides.append((upper - m) / (3 * s))
        return np.minimum.reduce(sides)

    if lower is None and upper is None:
        return Absent("there is no limit")
    estimate = float(index(mean, sd))
    low, high = np.quantile(index(means, sds), [(1 - confidence) / 2, (1 + confidence) / 2])
    return Interval(
        estimate,
        min(float(low), estimate),
        max(float(high), estimate),
        confidence,
        "moving blocks, percentile",
    )
