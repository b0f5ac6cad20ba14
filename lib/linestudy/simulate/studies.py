"""Gauge studies with known truth: crossed, reference, drift, paired, nested, judged."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics import generator
from linestudy.results import arguments, data_arguments
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.simulate.process import MeasuringSystem

if TYPE_CHECKING:
    import pandas as pd


def crossed(
    true_sizes: ArrayLike,
    gauge: MeasuringSystem,
    *,
    appraisers: tuple[str, ...] = ("A", "B", "C"),
    trials: int = 3,
    seed: int | None = None,
    purpose: str = "crossed",
    magnitude: bool = False,
) -> pd.DataFrame:
    """Simulate a crossed study: every appraiser reads every part, in random order, `trials` times.

    Parameters
    ----------
    true_sizes : array_like of float, shape (p,)
        True sizes.
    gauge : MeasuringSystem
        How readings come about.
    appraisers : tuple of str
        Names of those who measure.
    trials : int
        How often each part is read by each of them.
    seed : int, optional
        Of every random number; the kit's own when absent, so that a second call gives the same.
    purpose : str
        Names the random stream.
    magnitude : bool
        True where readings cannot go below zero.

    Returns
    -------
    pandas.DataFrame
        Columns ``part``, ``appraiser``, ``trial``, ``value``, in the order measured.

    See Also
    --------
    linestudy.gauges : Where such a study is evaluated.

    Examples
    --------
    >>> crossed([1.0, 2.0], MeasuringSystem(0.01), appraisers=("A", "B"), trials=2, seed=1).shape
    (8, 4)
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    sizes = data_arguments.one_dimensional(true_sizes, name="true_sizes", least=1)
    shifts = rng.standard_normal(len(appraisers))
    tables = []
    for trial in range(1, arguments.whole("trials", trials, least=1) + 1):
        for person, shift in zip(appraisers, shifts, strict=True):
            order = rng.permutation(sizes.size)
            readings = gauge.read(rng, sizes[order], shift, magnitude=magnitude)
            tables.append(
                pd.DataFrame(
                    {
                        "part": [str(number + 1) for number in order],
                        "appraiser": person,
                        "trial": str(trial),
                        "value": readings,
                    }
                )
            )
    return pd.concat(tables, ignore_index=True)


@old_keywords(
    renamed("readings", "trials", since="0.3.0", removal="0.4.0"),
)
def reference(
    references: ArrayLike,
    gauge: MeasuringSystem,
    *,
    trials: int = 12,
    seed: int | None = None,
    purpose: str = "reference",
    magnitude: bool = False,
) -> pd.DataFrame:
    """Simulate repeated readings of masters whose value is known.

    Parameters
    ----------
    references : array_like of float, shape (m,)
        Known values, in the unit of the readings.
    gauge : MeasuringSystem
        How readings come about.
    trials : int
        Readings per master.
    seed : int, optional
        Of every random number; the kit's own when absent, so that a second call gives the same.
    purpose : str
        Names the stream of random numbers.
    magnitude : bool
        True where readings cannot go below zero.

    Returns
    -------
    pandas.DataFrame
        Columns ``part``, ``reference``, ``value``.

    See Also
    --------
    linestudy.gauges : Where such a study is evaluated.

    Examples
    --------
    >>> len(reference([1.0, 2.0], MeasuringSystem(0.01), trials=5, seed=1))
    10
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    values = data_arguments.one_dimensional(references, name="references", least=1)
    sizes = np.repeat(values, arguments.whole("trials", trials, least=1))
    names = np.repeat([f"master {i + 1}" for i in range(values.size)], trials)
    return pd.DataFrame(
        {
            "part": names,
            "reference": sizes,
            "value": gauge.read(rng, sizes, magnitude=magnitude),
        }
    )


def drift(
    reference: float,
    gauge: MeasuringSystem,
    order: ArrayLike,
    *,
    seed: int | None = None,
    purpose: str = "drift",
) -> pd.DataFrame:
    """Simulate one master read again and again during production.

    Parameters
    ----------
    reference : float
        Its known value.
    gauge : MeasuringSystem
        How readings come about.
    order : array_like of int, shape (n,)
        When it was read.
    seed : int, optional
        Of every random number; the kit's own when absent, so that a second call gives the same.
    purpose : str
        Names the stream of random numbers.

    Returns
    -------
    pandas.DataFrame
        Columns ``order``, ``reference``, ``value``.

    See Also
    --------
    linestudy.gauges : Where such a study is evaluated.

    Examples
    --------
    >>> drift(1.0, MeasuringSystem(0.01), [1, 500], seed=1)["order"].tolist()
    [1, 500]
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    numbers = np.asarray(order)
    sizes = np.full(numbers.shape, float(reference))
    return pd.DataFrame(
        {"order": numbers, "reference": sizes, "value": gauge.read(rng, sizes, strokes=numbers)}
    )


def paired(
    true_sizes: ArrayLike,
    first_gauge: MeasuringSystem,
    second_gauge: MeasuringSystem,
    *,
    seed: int | None = None,
    purpose: str = "paired",
    magnitude: bool = False,
) -> pd.DataFrame:
    """Simulate the same parts read once by each of two gauges.

    Parameters
    ----------
    true_sizes : array_like of float, shape (p,)
        True sizes.
    first_gauge, second_gauge : MeasuringSystem
        How the readings of either gauge come about.
    seed : int, optional
        Of every random number; the kit's own when absent, so that a second call gives the same.
    purpose : str
        Names the stream of random numbers.
    magnitude : bool
        True where readings cannot go below zero.

    Returns
    -------
    pandas.DataFrame
        Columns ``part``, ``first``, ``second``.

    See Also
    --------
    linestudy.gauges : Where such a study is evaluated.

    Examples
    --------
    >>> paired([1.0], MeasuringSystem(0.1), MeasuringSystem(0.1), seed=1).columns.tolist()
    ['part', 'first', 'second']
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    sizes = data_arguments.one_dimensional(true_sizes, name="true_sizes", least=1)
    return pd.DataFrame(
        {
            "part": [str(number + 1) for number in range(sizes.size)],
            "first": first_gauge.read(rng, sizes, magnitude=magnitude),
            "second": second_gauge.read(rng, sizes, magnitude=magnitude),
        }
    )


@old_keywords(
    renamed("names", "levels", since="0.3.0", removal="0.4.0"),
)
def nested(
    mean: float,
    sds: tuple[float, ...],
    sizes: tuple[int, ...],
    *,
    levels: tuple[str, ...] = ("batch",),
    seed: int | None = None,
    purpose: str = "nested",
) -> pd.DataFrame:
    """Simulate destructive readings nested in batches.

    Parameters
    ----------
    mean : float
        Of all readings.
    sds : tuple of float
        Standard deviation of each level, outermost first, the readings last.
    sizes : tuple of int
        How many of each level there are within the one above, the readings last.
    levels : tuple of str
        Names of the levels without the readings.
    seed : int, optional
        Of every random number; the kit's own when absent, so that a second call gives the same.
    purpose : str
        Names the stream of random numbers.

    Returns
    -------
    pandas.DataFrame
        A column per level and ``value``.

    See Also
    --------
    linestudy.gauges : Where such a study is evaluated.

    Examples
    --------
    >>> nested(80, (2.0, 4.0), (3, 2), seed=1).shape
    (6, 2)
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    counts = np.cumprod(sizes)
    total = int(counts[-1])
    values = np.full(total, float(mean))
    columns = {}
    for level, (sd, count) in enumerate(zip(sds, counts, strict=True)):
        index = np.arange(total) // (total // int(count))
        values += sd * rng.standard_normal(int(count))[index]
        if level < len(levels):
            columns[levels[level]] = [f"{levels[level]} {i + 1}" for i in index]
    return pd.DataFrame({**columns, "value": values})


def judged(
    quality: ArrayLike,
    limit: float,
    *,
    appraisers: dict[str, tuple[float, float]],
    trials: int = 2,
    seed: int | None = None,
    purpose: str = "judged",
) -> pd.DataFrame:
    """Simulate parts judged by eye: accepted where the perceived quality is above the limit.

    Parameters
    ----------
    quality : array_like of float, shape (p,)
        What lies behind the judgement; the reference accepts above `limit`.
    limit : float
        Quality from which the reference accepts.
    appraisers : dict of str to (float, float)
        Name → shift of their limit, and standard deviation of what they perceive.
    trials : int
        How often each part is read by each of them.
    seed : int, optional
        Of every random number; the kit's own when absent, so that a second call gives the same.
    purpose : str
        Names the stream of random numbers.

    Returns
    -------
    pandas.DataFrame
        Columns ``part``, ``appraiser``, ``trial``, ``judgement`` and ``reference`` (bool).

    See Also
    --------
    linestudy.gauges : Where such a study is evaluated.

    Examples
    --------
    >>> bool(judged([1.0], 0.5, appraisers={"A": (0.0, 1e-9)}, trials=1, seed=1)["judgement"].iloc[0])
    True
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    true = data_arguments.one_dimensional(quality, name="quality", least=1)
    tables = []
    for trial in range(1, arguments.whole("trials", trials, least=1) + 1):
        for person, (shift, blur) in appraisers.items():
            order = rng.permutation(true.size)
            perceived = true[order] + blur * rng.standard_normal(true.size)
            tables.append(
                pd.DataFrame(
                    {
                        "part": [str(number + 1) for number in order],
                        "appraiser": person,
                        "trial": str(trial),
                        "judgement": perceived > limit + shift,
                        "reference": true[order] > limit,
                    }
                )
            )
    return pd.concat(tables, ignore_index=True)
