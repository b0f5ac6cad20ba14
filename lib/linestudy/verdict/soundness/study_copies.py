"""A crossed study that is another one: of another gauge, of another characteristic, or of its own parts under other names.

- *Another study.* Errors of repeated readings are independent from one study to the next, even where the parts are the same ones. With
  the means of cells and trials taken off, the correlation of what is left, reading by reading (in the order of the labels, and
  in that of the rows), is nought; it is judged by Student's t, on the values and on their ranks, and the larger p counts, so that one
  stray reading in both decides nothing. Characteristics that one gauge reads at once may err alike, so the study of another one
  is a copy only where the errors differ by no more than rounding; its parts may have been given other sizes, or other numbers.
- *Parts again.* Parts in no order of size are drawn in no order: the sizes of the second half say nothing of those of
  the first. Where they follow them in the same order, parts were read again under new names, and whatever moved in between
  counts as a difference of parts. Halves and thirds are looked at, by the correlation of the means.

Misleads where parts were chosen so that the sizes of one lot come again in the next, in the same mixed order.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results.tables import natural_order
from linestudy.verdict.facts import Doubt
from linestudy.verdict.soundness.reading_doubts import step_of

if TYPE_CHECKING:
    import pandas as pd

#: Degrees of freedom within cells, and the share of readings off their cell's mean, below which errors tell nothing.
_FREE, _OFF = 10, 0.5
#: Correlation of errors that is looked at, and the steps that repetition must span to tell a copy by rounding alone.
_ALIKE, _STEPS = 0.7, 3.0
#: Correlation of the sorted readings of two studies that are one.
_LINE = 0.999
#: Parts of a block, and the rank correlation with their number from which parts count as put in order.
_BLOCK, _ORDERED = 5, 0.7


def copied_study(own: pd.DataFrame, other: pd.DataFrame, whose: str, same: bool) -> Doubt | None:
    """Test whether the readings of one crossed study are those of another.

    Parameters
    ----------
    own, other : pandas.DataFrame
        Columns part, value, and appraiser, factor and trial where they are known.
    whose : str
        What the other study is of, for the sentence.
    same : bool
        Whether both are about one characteristic; else only readings that agree to their rounding count.

    Returns
    -------
    Doubt or None
        None where errors are not alike, or tell nothing.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> part, who, trial = (at.ravel() for at in np.indices((10, 3, 3)))
    >>> read = np.random.default_rng(1).normal(size=(2, 90)).round(3)
    >>> one, two = (pd.DataFrame({"part": part, "appraiser": who, "trial": trial, "value": y}) for y in read)
    >>> copied_study(one, two, "CMM", True) is None
    True
    >>> copied_study(one, one.assign(value=one["value"] + 0.2), "CMM", True).evidence
    'the readings err as those of the study of CMM do, one by one (correlation 1.00)'
    """
    if len(own) != len(other) or len(own) < _FREE:
        return None
    orders = [(_by_labels(own), _by_labels(other)), (own, other)] if same else _orders(own, other)
    best: tuple[float, Any, Any, int] | None = None
    for mine, theirs in orders:
        (a, off, free), (b, other_off, _) = _errors(mine, mine), _errors(mine, theirs)
        if free < _FREE or min(off, other_off) < _OFF:
            return None
        r = float(a @ b / np.sqrt((a @ a) * (b @ b)))
        if best is None or r > best[0]:
            best = r, a, b, free
    if best is None or best[0] < _ALIKE:
        return None
    r, a, b, free = best
    if not same and not _equal_to_rounding(a, b, own["value"].to_numpy(float), free):
        return None
    from scipy.stats import rankdata, spearmanr

    ranks = float(spearmanr(rankdata(a.round(12)), rankdata(b.round(12))).statistic)
    p = 2 * max(_by_t(r, free), _by_t(ranks, free))
    return Doubt(
        "copied gauge study",
        min(p, 1.0),
        f"the readings err as those of the study of {whose} do, one by one (correlation {r:.2f})",
    )


def parts_again(part: Any, value: Any) -> Doubt | None:
    """Test whether the parts of a study follow the sizes of earlier ones of it, in the same order.

    Parameters
    ----------
    part : array_like, shape (n,)
        Labels.
    value : array_like of float, shape (n,)

    Returns
    -------
    Doubt or None
        None where parts are too few, or are in an order of size.

    Examples
    --------
    >>> import numpy as np
    >>> sizes = np.random.default_rng(1).normal(size=10)
    >>> again = np.concatenate([sizes, sizes + 0.3])
    >>> parts_again(np.arange(1, 21).repeat(3), again.repeat(3)).evidence
    'parts 11 to 20 have the sizes of parts 1 to 10 in the same order (correlation 1.00)'
    """
    names, at = np.unique(np.asarray(part).astype(str), return_inverse=True)
    y = np.asarray(value, dtype=float)
    means = np.bincount(at, y) / np.bincount(at)
    order = sorted(range(names.size), key=lambda i: natural_order(str(names[i])))
    names, means = names[order], means[order]
    from scipy.stats import spearmanr

    tried: list[tuple[float, float, int, int]] = []
    for blocks in (2, 3):
        size, rest = divmod(names.size, blocks)
        if rest or size < _BLOCK:
            continue
        cut = means.reshape(blocks, size)
        if not (np.ptp(cut, axis=1) > 0).all():
            return None
        if any(abs(float(spearmanr(row, range(size)).statistic)) > _ORDERED for row in cut):
            return None
        for later in range(1, blocks):
            r = float(np.corrcoef(cut[0], cut[later])[0, 1])
            tried.append((_by_t(r, size - 2), r, size, later))
    if not tried:
        return None
    p, r, size, later = min(tried)
    return Doubt(
        "parts read again under other names",
        min(p * len(tried), 1.0),
        f"parts {names[later * size]} to {names[later * size + size - 1]} have the sizes of parts {names[0]} to {names[size - 1]} "
        f"in the same order (correlation {r:.2f})",
    )


def _orders(own: pd.DataFrame, other: pd.DataFrame) -> list[tuple[pd.DataFrame, pd.DataFrame]]:
    """List the orders in which readings of another characteristic may be these; none where what is seen in no time excludes it.

    Readings that are others by a factor and a constant have their distribution too, and their parts the same order of size, whatever
    number each was given. Where parts were given other sizes, errors in the order of the rows go together.
    """
    y, x = own["value"].to_numpy(float), other["value"].to_numpy(float)
    if _one_line(y, x):
        by_size = (_by_size(own), _by_size(other))
        return [(_by_labels(own), _by_labels(other)), (own, other), by_size]
    names = [name for name in ("part", "appraiser", "factor") if name in own]
    cell = own.groupby(names, sort=False).ngroup().to_numpy()
    counts = np.bincount(cell)
    a, b = (v - (np.bincount(cell, v) / counts)[cell] for v in (y - y.mean(), x - x.mean()))
    scale = float(np.sqrt((a @ a) * (b @ b)))
    return [(own, other)] if scale > 0 and float(a @ b) > _ALIKE * scale else []


def _by_size(table: pd.DataFrame) -> pd.DataFrame:
    """Put readings in the order of their parts' mean sizes, those of a part as they are."""
    means = table.groupby("part")["value"].transform("mean").to_numpy()
    return table.iloc[np.argsort(means, kind="stable")]


def _by_labels(table: pd.DataFrame) -> pd.DataFrame:
    keys = [name for name in ("part", "appraiser", "factor", "trial") if name in table]
    order = np.lexsort([table[name].astype(str).to_numpy() for name in reversed(keys)])
    return table.iloc[order]


def _errors(labels: pd.DataFrame, readings: pd.DataFrame) -> tuple[Any, float, int]:
    """Subtract the means of the cells, and of the trials, that the labels define.

    Beside them the share of readings that are off their cell's mean, and the degrees of freedom that are left.
    """
    import pandas as pd

    names = [name for name in ("part", "appraiser", "factor") if name in labels]
    cell = labels.groupby(names, sort=False).ngroup().to_numpy()
    y = readings["value"].to_numpy(float)
    y = y - y.mean()
    y = y - (np.bincount(cell, y) / np.bincount(cell))[cell]
    off, free = _share_off(y), y.size - int(cell.max()) - 1
    if "trial" in labels:
        trial = pd.factorize(labels["trial"])[0]
        counts = np.bincount(trial)
        if counts.min() > 1:
            y = y - (np.bincount(trial, y) / counts)[trial]
            free -= counts.size - 1
    return y, off, free


def _one_line(y: Any, x: Any) -> bool:
    if not (np.ptp(y) > 0 and np.ptp(x) > 0):
        return False
    return bool(np.corrcoef(np.sort(y), np.sort(x))[0, 1] > _LINE)


def _share_off(errors: Any) -> float:
    scale = float(np.abs(errors).max())
    return float((np.abs(errors) > 1e-6 * scale).mean()) if scale > 0 else 0.0


def _equal_to_rounding(a: Any, b: Any, values: Any, free: int) -> bool:
    """Check whether errors are multiples of each other but for the step that readings come in."""
    step = step_of(values)
    left = b - float(a @ b / (a @ a)) * a
    repeats = np.sqrt(float(a @ a) / free)
    return bool(
        repeats >= _STEPS * step and np.sqrt(left @ left / free) <= max(step, 1e-9 * repeats)
    )


def _by_t(r: float, df: int) -> float:
    from scipy.special import stdtr

    r = min(max(r, -1 + 1e-12), 1 - 1e-12)
    return float(stdtr(df, -r * np.sqrt(df / (1 - r * r))))
