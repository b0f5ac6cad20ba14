"""Gauge studies with known truth: crossed, reference, drift, paired, nested, judged."""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.simulate.process import MeasuringSystem

Frame = Any


def crossed(
    parts: Any,
    gauge: MeasuringSystem,
    appraisers: tuple[str, ...] = ("A", "B", "C"),
    trials: int = 3,
    *,
    seed: int | None = None,
    purpose: str = "crossed",
    magnitude: bool = False,
) -> Frame:
    """Simulate a crossed study: every appraiser reads every part, in random order, `trials` times.

    Parameters
    ----------
    parts : array_like of float, shape (p,)
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
    >>> crossed([1.0, 2.0], MeasuringSystem(0.01), ("A", "B"), 2, seed=1).shape
    (8, 4)
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    sizes = np.asarray(parts, dtype=float)
    shifts = rng.standard_normal(len(appraisers))
    tables = []
    for trial in range(1, trials + 1):
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


def reference(
    masters: Any,
    gauge: MeasuringSystem,
    readings: int = 12,
    *,
    seed: int | None = None,
    purpose: str = "reference",
    magnitude: bool = False,
) -> Frame:
    """Simulate repeated readings of masters whose value is known.

    Parameters
    ----------
    masters : array_like of float, shape (m,)
        Known values, in the unit of the readings.
    gauge : MeasuringSystem
        How readings come about.
    readings : int
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
    >>> len(reference([1.0, 2.0], MeasuringSystem(0.01), 5, seed=1))
    10
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    sizes = np.repeat(np.asarray(masters, dtype=float), readings)
    names = np.repeat([f"master {i + 1}" for i in range(len(np.asarray(masters)))], readings)
    return pd.DataFrame(
        {
            "part": names,
            "reference": sizes,
            "value": gauge.read(rng, sizes, magnitude=magnitude),
        }
    )


def drift(
    master: float,
    gauge: MeasuringSystem,
    strokes: Any,
    *,
    seed: int | None = None,
    purpose: str = "drift",
) -> Frame:
    """Simulate one master read again and again during production.

    Parameters
    ----------
    master : float
        Its known value.
    gauge : MeasuringSystem
        How readings come about.
    strokes : array_like of int, shape (n,)
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
    numbers = np.asarray(strokes)
    sizes = np.full(numbers.shape, float(master))
    return pd.DataFrame(
        {"order": numbers, "reference": sizes, "value": gauge.read(rng, sizes, strokes=numbers)}
    )


def paired(
    parts: Any,
    first: MeasuringSystem,
    second: MeasuringSystem,
    *,
    seed: int | None = None,
    purpose: str = "paired",
    magnitude: bool = False,
) -> Frame:
    """Simulate the same parts read once by each of two gauges.

    Parameters
    ----------
    parts : array_like of float, shape (p,)
        True sizes.
    first, second : MeasuringSystem
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
    sizes = np.asarray(parts, dtype=float)
    return pd.DataFrame(
        {
            "part": [str(number + 1) for number in range(sizes.size)],
            "first": first.read(rng, sizes, magnitude=magnitude),
            "second": second.read(rng, sizes, magnitude=magnitude),
        }
    )


def nested(
    mean: float,
    sds: tuple[float, ...],
    sizes: tuple[int, ...],
    names: tuple[str, ...] = ("batch",),
    *,
    seed: int | None = None,
    purpose: str = "nested",
) -> Frame:
    """Simulate destructive readings nested in batches.

    Parameters
    ----------
    mean : float
        Of all readings.
    sds : tuple of float
        Standard deviation of each level, outermost first, the readings last.
    sizes : tuple of int
        How many of each level there are within the one above, the readings last.
    names : tuple of str
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
        if level < len(names):
            columns[names[level]] = [f"{names[level]} {i + 1}" for i in index]
    return pd.DataFrame({**columns, "value": values})


def judged(
    quality: Any,
    limit: float,
    appraisers: dict[str, tuple[float, float]],
    trials: int = 2,
    *,
    seed: int | None = None,
    purpose: str = "judged",
) -> Frame:
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
    >>> bool(judged([1.0], 0.5, {"A": (0.0, 1e-9)}, 1, seed=1)["judgement"].iloc[0])
    True
    """
    import pandas as pd

    rng = generator(seed, "simulate", purpose)
    true = np.asarray(quality, dtype=float)
    tables = []
    for trial in range(1, trials + 1):
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
