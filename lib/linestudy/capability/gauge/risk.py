"""The risk of wrong verdicts and the index without the gauge, from what shape and gauges found."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.gauge.removed import GaugeRemoved, gauge_removed, truths
from linestudy.gauges.budget.risk_study import ConformityRisk, ObservedRejects, conformity_risk
from linestudy.gauges.grr.finding import CrossedStudy
from linestudy.gauges.masters.bias import BiasStudy
from linestudy.gauges.masters.repeatability import RepeatabilityStudy
from linestudy.numerics import generator
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.numerics.quadrature import legendre
from linestudy.numerics.shares import share_interval
from linestudy.results import CannotJudge, Findings, Interval
from linestudy.shape.finding import ShapeStudy
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.parameter_draws import draw_parameters

if TYPE_CHECKING:
    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

NO_REPEATABILITY = "No study in the folder gives the gauge's repeatability."
#: Truths drawn for the intervals: of the risk, and of the index without the gauge.
_DRAWS = 120
_TRUTHS = 400


def risk_of(
    study: Study, records: Records, item: Characteristic, gauge: str, findings: Findings
) -> ConformityRisk:
    """Compute the risk of wrong verdicts of the gauge that sorts the run.

    Parameters
    ----------
    study : Study
        Accepted risk, confidence and seed.
    records : Records
        The run, whose readings beyond the limits are counted.
    item : Characteristic
        Limits and unit.
    gauge : str
        Gauge id.
    findings : Findings
        What gauges, stability and shape found.

    Returns
    -------
    ConformityRisk
        Shares of all parts, with intervals.

    Raises
    ------
    CannotJudge
        The process's distribution or the gauge's spread is not known.

    Notes
    -----
    The gauge's standard deviation is that of its crossed study (repeatability on a master where there is
    no such study); its bias counts where the masters showed one. Intervals come from drawing the
    distribution's parameters as likely as their likelihood makes them
    (:func:`linestudy.shape.parameter_draws.draw_parameters`), widened for serial correlation, with a
    displacement of the whole process where slow movements leave its mean less well known than its
    spread, and the gauge's standard deviation from chi-square with Satterthwaite's degrees of freedom.
    """
    shape = findings.get(item.id, "shape")
    if not isinstance(shape, ShapeStudy):
        raise CannotJudge("The distribution of the process is not known.")
    size, df, notes = _gauge_sd(findings, item.id, gauge, study.confidence)
    serial: Any = findings.get(item.id, "stability", "autocorrelation")
    rng = generator(study.seed, "risk", item.id, gauge)
    fitted = shape.chosen
    mean, sd = _moments(fitted)
    return conformity_risk(
        fitted.pdf,
        mean,
        sd,
        size,
        item.lower,
        item.upper,
        bias=_bias(findings, item.id, gauge),
        risk_target=study.head.accepted_bad_ppm / 1e6,
        truths=_draws(shape, (mean, sd), serial, size.estimate, df, rng),
        confidence=study.confidence,
        unit=item.unit or "",
        observed=_observed(records, item, study.confidence),
        cautions=notes,
    )


def without_gauge(
    study: Study, item: Characteristic, gauge: str, findings: Findings
) -> GaugeRemoved:
    """Compute the capability of the parts, with the gauge that read the run taken out.

    Parameters
    ----------
    study : Study
        Confidence and seed.
    item : Characteristic
        Limits and unit.
    gauge : str
        Gauge id.
    findings : Findings
        What gauges, stability and shape found.

    Returns
    -------
    GaugeRemoved
        Ppk of the parts beside that of the readings.

    Raises
    ------
    CannotJudge
        The process's distribution or the gauge's spread is not known, or all spread may be the gauge's.
    """
    shape = findings.get(item.id, "shape")
    if not isinstance(shape, ShapeStudy):
        raise CannotJudge("The distribution of the process is not known.")
    fitted = shape.chosen
    _needs_a_limit(item)
    if fitted.covariance is None:
        raise CannotJudge("The uncertainty of the fitted distribution is not known.")
    size, df, _ = _gauge_sd(findings, item.id, gauge, study.confidence)
    serial: Any = findings.get(item.id, "stability", "autocorrelation")
    rng = generator(study.seed, "gauge removed", item.id, gauge)
    sizes = np.full(_TRUTHS, size.estimate)
    if math.isfinite(df):
        sizes = size.estimate * np.sqrt(df / rng.chisquare(df, _TRUTHS))
    effective = getattr(serial, "n_eff_sd", None)
    low, middle, high = (float(q) for q in fitted.ppf((0.00135, 0.5, 0.99865)))
    return gauge_removed(
        (low, middle, high),
        _moments(fitted)[1],
        size.estimate,
        lower=item.lower,
        upper=item.upper,
        truths=truths(
            fitted,
            _moments,
            effective,
            sizes,
            rng,
            _shifts(serial, _moments(fitted)[1], _TRUTHS, rng),
            counts=shape.counts,
        ),
        bias=_bias(findings, item.id, gauge),
        confidence=study.confidence,
        unit=item.unit or "",
    )


def _needs_a_limit(item: Characteristic) -> None:
    if item.lower is None and item.upper is None:
        raise CannotJudge("Without a limit there is no index.")


def _gauge_sd(
    findings: Findings, key: str, gauge: str, confidence: float
) -> tuple[Interval, float, tuple[str, ...]]:
    crossed = findings.get(key, "gauges", gauge, "crossed")
    if isinstance(crossed, CrossedStudy):
        grr = crossed.components["grr"]
        return grr.sd, grr.degrees_of_freedom or math.inf, ()
    master = findings.get(key, "gauges", gauge, "cg_cgk")
    if isinstance(master, RepeatabilityStudy):
        note = "The gauge's spread is that on one master; on parts it may be larger."
        return sd_interval(master.sd, master.n - 1, confidence), master.n - 1.0, (note,)
    raise CannotJudge(NO_REPEATABILITY)


def _bias(findings: Findings, key: str, gauge: str) -> float:
    masters = findings.get(key, "gauges", gauge, "bias")
    if isinstance(masters, BiasStudy) and 0.0 not in masters.mean_bias:
        return masters.mean_bias.estimate
    return 0.0


def _draws(
    shape: ShapeStudy,
    moments: tuple[float, float],
    serial: Any,
    gauge_sd: float,
    df: float,
    rng: np.random.Generator,
) -> list[Any]:
    fitted = shape.chosen
    if fitted.covariance is None:
        return []
    effective = getattr(serial, "n_eff_sd", None)
    free = draw_parameters(fitted, *shape.counts, _DRAWS, rng, n_eff=effective)
    sizes = np.full(_DRAWS, gauge_sd)
    if math.isfinite(df):
        sizes = gauge_sd * np.sqrt(df / rng.chisquare(df, _DRAWS))
    mean, sd = moments
    shifts = _shifts(serial, sd, _DRAWS, rng)
    # The spread moves little from draw to draw, and affects only how far readings are shrunk.
    return [
        (_moved(fitted.with_free(row).pdf, shift), mean + shift, sd, float(size))
        for row, size, shift in zip(free, sizes, shifts.tolist(), strict=True)
    ]


def _moved(density: Any, shift: float) -> Any:
    return (lambda x: density(x - shift)) if shift else density


def _shifts(serial: Any, sd: float, draws: int, rng: np.random.Generator) -> Any:
    """Draw displacements of the mean beyond what the curvature holds already."""
    for_mean = getattr(serial, "n_eff_mean", None)
    for_spread = getattr(serial, "n_eff_sd", None)
    if for_mean is None or for_spread is None or for_mean >= for_spread:
        return np.zeros(draws)
    return rng.normal(0.0, sd * math.sqrt(1 / for_mean - 1 / for_spread), draws)


def _moments(fitted: FittedDistribution) -> tuple[float, float]:
    nodes, weights = legendre(96)
    weights = weights / 2
    values = fitted.ppf((nodes + 1) / 2)
    mean = float(weights @ values)
    return mean, float(np.sqrt(weights @ (values - mean) ** 2))


def _observed(records: Records, item: Characteristic, confidence: float) -> ObservedRejects | None:
    """Count readings beyond the limits in the log: what the camera would have rejected for this alone."""
    table = records.table("run", item.id)
    if table is None:
        return None
    values = table["value"].to_numpy()
    out = np.zeros(values.size, dtype=bool)
    if item.lower is not None:
        out |= values < item.lower
    if item.upper is not None:
        out |= values > item.upper
    share = share_interval(int(out.sum()), int(values.size), confidence)
    return ObservedRejects(share, "counted in the log")
