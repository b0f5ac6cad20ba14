"""Bias on masters: how far the mean reading lies from what the master is known to be.

Model: readings of a master are independent and normal about master + bias. The t-test asks
whether the bias is zero; it says nothing of whether it matters, so the interval is shown
against the tolerance. With several masters the pooled test assumes one bias for all sizes;
where linearity finds a slope, read that instead. Misleads when readings were taken in one
sitting (drift between days is not in their spread) and with very many readings, where every
bias is "significant". Source: AIAG MSA, 4th ed. (2010), ch. III, section B.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.gauges.arguments import as_readings, check_range
from linestudy.numerics.normal_constants import d2_star, range_df
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import Absent, CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


@dataclass(frozen=True)
class BiasStudy(Finding):
    """Bias over all masters, and on each.

    Attributes
    ----------
    n : int
        Readings.
    mean_bias : Interval
        In the unit of the readings.
    sd : float
        Standard deviation of the errors.
    t, df, p : float
        Test that the bias is zero.
    masters : tuple of dict
        Per master: ``reference, n, bias (Interval), p``.
    tolerance : float or None
    """

    n: int
    mean_bias: Interval
    sd: float
    t: float
    df: float
    p: float
    masters: tuple[dict[str, Any], ...]
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Bias on masters"

    @property
    def statement(self) -> str:
        share = ""
        if self.tolerance:
            share = f", {abs(self.mean_bias.estimate) / self.tolerance:.1%} of the tolerance"
        return (
            f"Over {self.n} readings of {len(self.masters)} master(s) the bias is "
            f"{show(self.mean_bias)} {self.unit}{share}; the test that it is zero gives p = {self.p:.2g}."
        ).replace("  ", " ")

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        return pd.DataFrame(
            {
                f"master{unit}": [item["reference"] for item in self.masters],
                "readings": [item["n"] for item in self.masters],
                f"bias{unit}": [show(item["bias"]) for item in self.masters],
                "p": [item["p"] for item in self.masters],
            }
        )

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.gauges import bias_by_master

        return bias_by_master(self.masters, self.unit, ax=ax)


BIAS = Declaration(
    "gauges.{gauge}.bias",
    BiasStudy,
    "Bias on masters",
    part="characteristic",
    question="measurement",
    order=15,
)


def bias(
    readings: Any,
    reference: Any,
    tolerance: float | None = None,
    spread: str = "sd",
    confidence: float = 0.95,
    unit: str = "",
) -> BiasStudy:
    """Test and estimate the bias of a gauge on masters of known value.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
    reference : float or array_like of float, shape (n,)
        Known value of the master behind each reading.
    tolerance : float, optional
        Only for the statement.
    spread : {"sd", "range"}
        Standard deviation from the sample, or from the range over d2* as hand
        calculations have it (one master only).
    confidence : float
    unit : str

    Returns
    -------
    BiasStudy

    Raises
    ------
    CannotJudge
        Fewer than two readings, or readings that never differ.

    Notes
    -----
    AIAG MSA, 4th ed. (2010), ch. III, section B; with the range, degrees of freedom
    are those of Patnaik's approximation.

    Examples
    --------
    >>> study = bias([5.9, 6.1, 6.0, 6.2], 6.0)
    >>> round(study.mean_bias.estimate, 3)
    0.05
    """
    values = as_readings(readings, least=2, name="reading")
    known = np.broadcast_to(np.asarray(reference, dtype=float), values.shape)
    check_range(known, "reference")
    errors = values - known
    mean, sd, df = _spread(errors, spread, values)
    if sd == 0:
        raise CannotJudge(
            "All readings of the masters are the same; resolution hides their spread."
        )
    t, p, interval = t_test(mean, sd, errors.size, df, confidence)
    masters = []
    for size in np.unique(known):
        own = errors[known == size]
        masters.append(_master(float(size), own, confidence))
    cautions = []
    if errors.size < 10:
        cautions.append(f"{errors.size} readings are few for a test of bias.")
    if any(item["p"] is None for item in masters):
        cautions.append(
            "On some masters the readings never differed; resolution hides their spread."
        )
    return BiasStudy(
        errors.size, interval, sd, t, df, p, tuple(masters), tolerance, unit, tuple(cautions)
    )


def _spread(errors: Any, spread: str, values: Any) -> tuple[float, float, float]:
    mean, sd = mean_and_sd(errors)
    if spread == "sd":
        return mean, sd, float(errors.size - 1)
    if spread != "range":
        raise ValueError('spread must be "sd" or "range"')
    n = errors.size
    return mean, float(np.ptp(values)) / d2_star(n), range_df(n)


def t_test(
    mean: float, sd: float, n: int, df: float, confidence: float
) -> tuple[float, float, Interval]:
    """t, p and interval of a mean error."""
    from scipy.special import stdtr, stdtrit

    error = sd / np.sqrt(n)
    t = float(mean / error)
    p = float(2 * stdtr(df, -abs(t)))
    half = float(stdtrit(df, (1 + confidence) / 2) * error)
    return t, p, Interval(float(mean), mean - half, mean + half, confidence, "t")


def _master(size: float, errors: Any, confidence: float) -> dict[str, Any]:
    mean, sd = mean_and_sd(errors)
    if errors.size < 2 or sd == 0:
        reason = "one reading" if errors.size < 2 else "readings that never differ"
        return {
            "reference": size,
            "n": errors.size,
            "bias": Absent(reason),
            "p": None,
            "mean": float(mean),
        }
    _, p, interval = t_test(mean, sd, errors.size, errors.size - 1, confidence)
    return {"reference": size, "n": int(errors.size), "bias": interval, "p": p, "mean": float(mean)}
