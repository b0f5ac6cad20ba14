"""A line with known truth: how the true sizes of parts come about, stroke by stroke.

Model: ``value = level + wear + coil + station + serially correlated noise``, optionally
skewed or folded about zero. Invented for teaching, planning and tests; the size of each
effect is an attribute, so that every study has a truth to be held against.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Process:
    """How one characteristic behaves.

    Attributes
    ----------
    level : float
        Mean at a fresh tool, in the characteristic's unit (before folding).
    spread : float
        Part-to-part standard deviation at standstill of all other effects.
    skewness_shape : float or None
        Shape of the gamma distribution that the part-to-part noise follows, centred and
        scaled to `spread`; the skewness is ``2 / sqrt(shape)``. None for normal noise.
    wear_per_thousand : float
        Change of the mean per thousand strokes.
    regrinds : tuple of int
        Strokes at which wear starts from zero again.
    coil_sd : float
        Standard deviation of the shift that each coil brings.
    stations : tuple of float
        Shift of each station; parts come from the stations in turn.
    serial : float
        Lag-one correlation of the part-to-part noise (first-order autoregression).
    folded : bool
        True where only the magnitude is measured.

    Notes
    -----
    Folding: Leone, Nelson & Nottingham, *Technometrics* 3 (1961), 543-550.
    """

    level: float
    spread: float
    skewness_shape: float | None = None
    wear_per_thousand: float = 0.0
    regrinds: tuple[int, ...] = ()
    coil_sd: float = 0.0
    stations: tuple[float, ...] = (0.0,)
    serial: float = 0.0
    folded: bool = False

    def draw(
        self,
        rng: np.random.Generator,
        strokes: ArrayLike,
        coil_shifts: ArrayLike | None = None,
    ) -> FloatArray:
        """Draw true values of parts.

        Parameters
        ----------
        rng : numpy.random.Generator
        strokes : array_like of int, shape (n,)
            Stroke numbers in production order.
        coil_shifts : array_like of float, shape (n,), optional
            Standard normal shift of each part's coil, times ``coil_sd``; none when absent.

        Returns
        -------
        numpy.ndarray of float, shape (n,)
        """
        numbers = np.asarray(strokes)
        values = self.mean_at(numbers)
        if coil_shifts is not None:
            values = values + self.coil_sd * np.asarray(coil_shifts)
        values = values + self._noise(rng, numbers.size)
        return np.abs(values) if self.folded else values

    def mean_at(self, strokes: ArrayLike) -> FloatArray:
        """Compute the expected value before folding, without the coils: level, wear and station.

        Parameters
        ----------
        strokes : array_like of int, shape (n,)

        Returns
        -------
        numpy.ndarray of float, shape (n,)
        """
        numbers = np.asarray(strokes)
        starts = np.array([0, *self.regrinds])
        since = numbers - starts[np.searchsorted(starts, numbers, side="right") - 1]
        station = np.asarray(self.stations)[numbers % len(self.stations)]
        return np.asarray(self.level + self.wear_per_thousand * since / 1000 + station, dtype=float)

    def _noise(self, rng: np.random.Generator, n: int) -> FloatArray:
        if self.skewness_shape is not None:
            shape = self.skewness_shape
            unit = (rng.gamma(shape, size=n) - shape) / np.sqrt(shape)
        else:
            unit = rng.standard_normal(n)
        if self.serial:
            from scipy.signal import lfilter

            # Scaled and started so that every part has the same variance.
            unit[1:] *= np.sqrt(1 - self.serial**2)
            unit = lfilter([1.0], [1.0, -self.serial], unit)
        return np.asarray(self.spread * unit, dtype=float)


def run(
    process: Process,
    n: int,
    *,
    seed: int | None = None,
    coil_length: int | None = None,
    purpose: str = "run",
) -> pd.DataFrame:
    """Simulate a run of parts with known truth.

    Parameters
    ----------
    process : Process
        What the parts come from.
    n : int
        Number of parts.
    seed : int, optional
        Of every random number; the kit's own when absent, so that a second call gives the same.
    coil_length : int, optional
        Strokes per coil; one coil when absent.
    purpose : str
        Names the random stream.

    Returns
    -------
    pandas.DataFrame
        Columns ``order``, ``coil``, ``station`` and ``value``.

    See Also
    --------
    Process : What moves a characteristic.

    Examples
    --------
    >>> run(Process(2.8, 0.01), 3, seed=1).columns.tolist()
    ['order', 'coil', 'station', 'value']
    """
    import pandas as pd

    from linestudy.numerics import generator

    rng = generator(seed, "simulate", purpose)
    strokes = np.arange(1, n + 1)
    coils = (strokes - 1) // (coil_length or n)
    shifts = rng.standard_normal(int(coils.max()) + 1)[coils]
    return pd.DataFrame(
        {
            "order": strokes.astype(float),
            "coil": [f"coil {number + 1}" for number in coils],
            "station": [f"station {s + 1}" for s in strokes % len(process.stations)],
            "value": process.draw(rng, strokes, shifts),
        }
    )


@dataclass(frozen=True)
class MeasuringSystem:
    """How a gauge reads a true value.

    Attributes
    ----------
    repeatability : float
        Standard deviation of repeated readings.
    appraiser_sd : float
        Standard deviation between appraisers (or setters).
    bias : float
        Constant error.
    bias_slope : float
        Further error per unit of distance from `bias_at`.
    bias_at : float
        True value at which the error is `bias`.
    soiling_per_thousand : float
        Error gained per thousand strokes as the lens soils.
    wipes : tuple of int
        Strokes at which the lens is wiped and soiling starts from zero.
    resolution : float
        Readings are rounded to this; 0 for none.
    """

    repeatability: float
    appraiser_sd: float = 0.0
    bias: float = 0.0
    bias_slope: float = 0.0
    bias_at: float = 0.0
    soiling_per_thousand: float = 0.0
    wipes: tuple[int, ...] = field(default=())
    resolution: float = 0.0

    def read(
        self,
        rng: np.random.Generator,
        true: ArrayLike,
        appraiser_shift: ArrayLike = 0.0,
        strokes: ArrayLike | None = None,
        magnitude: bool = False,
    ) -> FloatArray:
        """Simulate readings of true values.

        Parameters
        ----------
        rng : numpy.random.Generator
        true : array_like of float
        appraiser_shift : array_like of float
            Standard normal shift of the appraiser, times `appraiser_sd`.
        strokes : array_like of int, optional
            When the parts were read; soiling counts only then.
        magnitude : bool
            True where the gauge reports a magnitude and cannot read below zero.

        Returns
        -------
        numpy.ndarray of float, of the shape of `true`
        """
        sizes = np.asarray(true, dtype=float)
        error = self.bias + self.bias_slope * (sizes - self.bias_at)
        error = error + self.appraiser_sd * np.asarray(appraiser_shift)
        if strokes is not None and self.soiling_per_thousand:
            numbers = np.asarray(strokes)
            starts = np.array([0, *self.wipes])
            since = numbers - starts[np.searchsorted(starts, numbers, side="right") - 1]
            error = error + self.soiling_per_thousand * since / 1000
        readings = sizes + error + self.repeatability * rng.standard_normal(sizes.shape)
        if magnitude:
            readings = np.abs(readings)
        if self.resolution:
            readings = np.round(readings / self.resolution) * self.resolution
        return np.asarray(readings, dtype=float)
