"""Does the effective number of parts hold? A check that asks the run itself.

Model: the run is one stretch of a stationary series. Blocks of consecutive parts, long against the
serial correlation, are drawn with replacement and put end to end; mean, standard deviation and index
of such series scatter as those of new runs would, whatever the correlation and the distribution
(Kuensch, *Annals of Statistics* 17 (1989), 1217-1241; Lahiri, *Resampling Methods for Dependent Data*,
2003, ch. 2). From the scatter follow effective numbers, to be held against those that the
autocorrelation gave: ``sd**2 / var(mean)`` for the mean and, by the normal-theory relation of
log variance and kurtosis, for the spread.

When it misleads: movements as long as the run (wear, coils) are in one or two blocks only, so their
part of the scatter is understated; with few blocks the scatter is itself uncertain. That is why it is
the check and not the interval.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.numerics.samples import as_sample
from linestudy.results import Absent, CannotJudge, Finding, Interval, plain
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd

#: Fewer blocks than this say nothing of their scatter (common practice, no source).
LEAST_BLOCKS = 10
#: More blocks cost time and say no more.
MOST_BLOCKS = 400
RESAMPLES = 2_000
#: Effective numbers that differ by more than this factor are worth a caution (no source).
APART = 2.0


@dataclass(frozen=True)
class BlockBootstrap(Finding):
    """Effective numbers of a run by resampling blocks of it.

    Attributes
    ----------
    n, block, blocks : int
        Parts, parts in a block, blocks in the run.
    n_mean, n_spread : float
        Independent parts that the run is worth, by the blocks.
    stated_mean, stated_spread : float
        The same as the intervals used them.
    Ppk : Interval or Absent
        Of mean and standard deviation, with the interval of the resampled indices.
    """

    n: int
    block: int
    blocks: int
    n_mean: float
    n_spread: float
    stated_mean: float
    stated_spread: float
    Ppk: Interval | Absent
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Effective number of parts, checked by blocks"
    picture: ClassVar[str] = "capability:two_effective_numbers"

    @property
    def statement(self) -> str:
        return (
            f"Resampling {self.blocks} blocks of {self.block:,} parts makes the {self.n:,} parts worth "
            f"{self.n_mean:,.0f} independent ones for the mean and {self.n_spread:,.0f} for the spread; "
            f"the intervals used {self.stated_mean:,.0f} and {self.stated_spread:,.0f}."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "for": ["mean", "spread"],
                "by blocks": [f"{self.n_mean:,.0f}", f"{self.n_spread:,.0f}"],
                "used": [f"{self.stated_mean:,.0f}", f"{self.stated_spread:,.0f}"],
            }
        )

    def record(self) -> dict[str, Any]:
        """The attributes, statement and cautions."""
        names = ("n", "block", "blocks", "n_mean", "n_spread", "stated_mean", "stated_spread")
        content = {name: plain(getattr(self, name)) for name in (*names, "Ppk")}
        return content | {"statement": self.statement, "cautions": list(self.cautions)}


BLOCK_BOOTSTRAP = Declaration(
    "capability.block_bootstrap", BlockBootstrap, "Effective number by blocks"
)


def block_bootstrap(
    values: Any,
    lower: float | None = None,
    upper: float | None = None,
    n_mean: float | None = None,
    n_spread: float | None = None,
    block: int | None = None,
    resamples: int = RESAMPLES,
    confidence: float = 0.95,
    seed: int | None = None,
) -> BlockBootstrap:
    """Resample blocks of a run and compare with the effective numbers in use.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In the order the parts were made.
    lower, upper : float, optional
        Tolerance limits, for the index.
    n_mean, n_spread : float, optional
        Effective numbers in use; n when absent.
    block : int, optional
        Parts in a block; when absent so long that the stated correlation is spent about five times
        over, that there are at most four hundred blocks, and never more than a twentieth of the run.
    resamples : int
    confidence : float
    seed : int, optional

    Returns
    -------
    BlockBootstrap

    Raises
    ------
    CannotJudge
        Fewer than ten blocks, or values that never differ.

    Notes
    -----
    Moving blocks of Kuensch (1989).

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(size=4000)
    >>> bool(2000 < block_bootstrap(y, block=20, seed=1).n_mean < 8000)
    True
    """
    y = as_sample(values, least=LEAST_BLOCKS * 2)
    n = int(y.size)
    if np.ptp(y) == 0:
        raise CannotJudge("All values are the same, so there is no scatter to resample.")
    used_mean, used_spread = min(n_mean or n, n), min(n_spread or n, n)
    length = block or min(max(math.ceil(5 * n / used_mean), n // MOST_BLOCKS, 5), n // 20)
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
    by_spread = (kurtosis - 1.0) / float(np.log(variance).var()) / scale
    notes = []
    for name, blocks_say, used in (
        ("mean", by_mean, used_mean),
        ("spread", by_spread, used_spread),
    ):
        if used > APART * blocks_say:
            notes.append(
                f"Blocks make the run worth {blocks_say:,.0f} independent parts for the {name} where "
                f"the intervals used {used:,.0f}: they may be too narrow."
            )
    return BlockBootstrap(
        n=n,
        block=length,
        blocks=count,
        n_mean=min(by_mean, float(n)),
        n_spread=min(by_spread, float(n)),
        stated_mean=float(used_mean),
        stated_spread=float(used_spread),
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
