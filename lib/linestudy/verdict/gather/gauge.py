"""What is known of the gauge whose readings a claim rests on."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from linestudy.gauges.budget.certificates import (
    expired_of,
    masters_uncertainty,
    measured_on,
)
from linestudy.gauges.budget.expanded_finding import UNCERTAINTY, UncertaintyStudy
from linestudy.gauges.comparison.systems_finding import OVER_TIME, SystemComparison
from linestudy.gauges.comparison.two_gauges import AGREEMENT, AgreementStudy
from linestudy.gauges.destructive.nested_study import NESTED
from linestudy.gauges.destructive.tester_study import DESTRUCTIVE, DestructiveGrr
from linestudy.gauges.grr.finding import CROSSED, CrossedStudy
from linestudy.gauges.masters.bias import BIAS, BiasStudy, MasterBias, t_test
from linestudy.gauges.masters.drift import DRIFT, ONE_STEP, DriftStudy
from linestudy.gauges.masters.linearity_finding import LINEARITY, LinearityStudy
from linestudy.gauges.masters.reading_step import RESOLUTION, ResolutionStudy
from linestudy.gauges.masters.repeatability import CG_CGK, RepeatabilityStudy
from linestudy.results import Absent, Finding, Findings, Interval, Unjudged
from linestudy.results.declared import Declaration
from linestudy.verdict.gather.counter_and_clock import farthest_from
from linestudy.verdict.gather.crossed import crossed_facts
from linestudy.verdict.measurement_facts import NAMELESS, GaugeFacts

if TYPE_CHECKING:
    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

_Kind = TypeVar("_Kind", bound=Finding)

#: How near a limit the masters must come, of the tolerance (common practice, no source).
_NEAR = 0.25
#: Confidence of an interval that is to lie inside a margin: a test of equivalence at 5 %.
_EQUIVALENCE = 0.90
#: A crossed study may repeat better than the same gauge elsewhere by this factor (common practice, no source).
_BETTER = 1.35


def gauge_facts(
    study: Study,
    records: Records,
    findings: Findings,
    item: Characteristic,
    role: str,
    gauge: str | None,
    run_sd: float | None = None,
    share_of: str = "tolerance",
) -> GaugeFacts:
    """Gather facts of one gauge on one characteristic.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings
        Of package gauges.
    item : Characteristic
    role : str
        Role of the readings that the claim rests on.
    gauge : str or None
        Its id.
    run_sd : float, optional
        Standard deviation of the run, in the characteristic's unit.
    share_of : str
        What %GRR is taken of: ``"tolerance"``, ``"total variation"`` of the study, ``"process variation"`` of
        the run, or ``"largest"``, whichever share is largest.

    Returns
    -------
    GaugeFacts
    """

    def found(declared: Declaration, kind: type[_Kind]) -> _Kind | None:
        one = findings.get(item.id, *declared.at(gauge=gauge or ""))
        return one if isinstance(one, kind) else None

    name = study.gauge(gauge).name if gauge else _planned(study, item)
    crossed = found(CROSSED, CrossedStudy)
    declared = found(DESTRUCTIVE, DestructiveGrr)
    separable = role != "nested" and findings.get(item.id, *NESTED.at(gauge=gauge or "")) is None
    share, of, ndc = _spread(
        findings, item.id, gauge, name, crossed, _shares(crossed, run_sd), share_of
    )
    if crossed is None and declared is not None and isinstance(declared.grr_sd, Interval):
        share, of = declared.share_of_tolerance, "tolerance"
    width = _width(item, run_sd)
    budget = found(UNCERTAINTY, UncertaintyStudy)
    on_one_master = found(CG_CGK, RepeatabilityStudy)
    biases, drift = found(BIAS, BiasStudy), found(DRIFT, DriftStudy)
    step = found(RESOLUTION, ResolutionStudy)
    in_data = biases is None or all(one.uncertainty > 0 for one in biases.masters)
    certificate = None if in_data else masters_uncertainty(study, item, gauge)
    repeat_p, repeat_ratio, where = _contradiction(crossed, biases, drift, step)
    away = None if drift is None else _unread(study, records, item, drift)
    return GaugeFacts(
        name=name,
        share=share,
        share_of=of,
        multiplier=6.0 if crossed is None else crossed.sigma_multiplier,
        declared=crossed is None and isinstance(share, Interval),
        ndc=ndc,
        failed=isinstance(findings.get(item.id, *CROSSED.at(gauge=gauge or "")), Unjudged),
        separable=crossed is not None or separable,
        bias=_bias(
            found(LINEARITY, LinearityStudy), biases, 0.0 if in_data else certificate or 0.0
        ),
        width=width,
        drift=None if drift is None else _drift(drift, away),
        drift_gap=away,
        drift_level=_level(drift),
        drift_refused=_refusal(findings.get(item.id, *DRIFT.at(gauge=gauge or ""))),
        q_ms=None if budget is None else _interval(budget.Q_MS),
        q_mp=None if budget is None else _interval(budget.Q_MP),
        cg=None if on_one_master is None else _interval(on_one_master.Cg),
        cgk=None if on_one_master is None else _interval(on_one_master.Cgk),
        step_share=None if step is None else step.share_of_tolerance,
        repeat_p=repeat_p,
        repeat_ratio=repeat_ratio,
        repeat_where=where,
        certified=_certified(study, item, gauge, width),
        **crossed_facts(
            crossed,
            found(OVER_TIME, SystemComparison),
            of,
            run_sd,
            item.unit or "",
            (item.lower, item.upper),
            width,
        ),
        **_paired(study, records, findings, item, gauge, width),
        masters_stated=in_data or certificate is not None,
        masters_short=_short(item, biases, width),
        bias_refused=_refusal(findings.get(item.id, *BIAS.at(gauge=gauge or ""))),
        expired=expired_of(study, item.id, gauge, measured_on(study, records, item)),
    )


def _refusal(found: Any) -> str:
    return found.reason.rstrip(".") if isinstance(found, Unjudged) else ""


def _interval(value: Any) -> Interval | None:
    return value if isinstance(value, Interval) else None


def _width(item: Characteristic, run_sd: float | None) -> float | None:
    """Return the tolerance; the distance above a bound; or six standard deviations of the run."""
    if item.tolerance is not None:
        return item.tolerance
    if item.bound_below is not None and item.upper is not None:
        return item.upper - item.bound_below
    return None if run_sd is None else 6 * run_sd


def _planned(study: Study, item: Characteristic) -> str:
    """Name the gauge that readings are planned with; nameless where nothing says it."""
    for data in study.planned:
        if data.gauge and item.id in data.columns:
            return study.gauge(data.gauge).name
    return NAMELESS


def _shares(crossed: CrossedStudy | None, run_sd: float | None) -> dict[str, Interval]:
    """Return GRR as a share of all that it can be a share of."""
    if crossed is None:
        return {}
    spread = crossed.components["grr"]
    known: dict[str, Interval | Absent] = {
        "tolerance": spread.share_of_tolerance,
        "total spread": spread.share_of_sd,
    }
    if run_sd:
        known["process variation"] = spread.sd.times(1 / run_sd)
    return {of: share for of, share in known.items() if isinstance(share, Interval)}


def _spread(
    findings: Findings,
    key: str,
    gauge: str | None,
    name: str,
    crossed: CrossedStudy | None,
    shares: dict[str, Interval],
    share_of: str,
) -> tuple[Interval | Absent, str, Interval | Absent]:
    """Return the share that is asked for, what it is of, and ndc."""
    if crossed is None:
        unjudged = findings.get(key, *CROSSED.at(gauge=gauge or ""))
        unknown = Absent(f"no crossed study of {name} was submitted")
        if isinstance(unjudged, Unjudged):
            unknown = Absent(unjudged.reason.rstrip("."))
        return unknown, "tolerance", unknown
    if share_of == "process variation" and share_of not in shares:
        return Absent("no run shows the variation of the process"), share_of, crossed.ndc
    asked = {"total variation": "total spread"}.get(share_of, share_of)
    if share_of == "largest":
        asked = max(shares, key=lambda of: shares[of].estimate)
    elif asked not in shares:
        # Without a width of tolerance the study's own variation is all there is.
        asked = "total spread"
    return shares[asked], asked, crossed.ndc


def _at_90(value: Interval) -> Interval:
    """Convert an estimate to a 90 % interval (by the normal ratio, which is on the wide side); a bound stays what it is."""
    from scipy.special import ndtri

    if value.method == ONE_STEP:
        return Interval(value.estimate, value.low, value.high, _EQUIVALENCE, ONE_STEP)
    factor = float(ndtri((1 + _EQUIVALENCE) / 2) / ndtri((1 + value.confidence) / 2))
    return Interval(
        value.estimate,
        value.estimate - factor * (value.estimate - value.low),
        value.estimate + factor * (value.high - value.estimate),
        _EQUIVALENCE,
        value.method,
    )


def _bias(
    line: LinearityStudy | None, on_masters: BiasStudy | None, u: float
) -> dict[str, Interval]:
    """Return bias at the limits by the line through the masters; at the masters where the line fails or is missing.

    The masters' standard uncertainty `u` that only their certificate states widens each interval: all of
    them may be off together.
    """
    found: dict[str, Interval] = {}
    if line is not None:
        found = {
            f"the {name} limit": _at_90(value)
            for name, value in line.at_limits.items()
            if isinstance(value, Interval)
        }
    lack = None if line is None else line.lack_of_fit_p
    if on_masters is not None and (not found or (lack is not None and lack < 0.01)):
        for master in on_masters.masters:
            value = _of_master(master, on_masters)
            if value is not None and math.isfinite(value.half_width):
                found[f"the master {master.reference:g}"] = value
        if not found and isinstance(on_masters.mean_bias, Interval):
            found["the masters"] = _at_90(on_masters.mean_bias)
    return {where: _wider(value, u) for where, value in found.items()}


def _of_master(master: MasterBias, on_masters: BiasStudy) -> Interval | None:
    """Return bias on one master at 90 %; of one read once, or that never differed, by how well the others repeat."""
    if isinstance(master.bias, Interval):
        own = _at_90(master.bias)
        if master.sd:
            return own
    else:
        own = None
    others = _within_masters(on_masters, least=2)
    if others is None:
        return own
    from scipy.special import stdtrit

    variance, freedom = others
    error = math.hypot(math.sqrt(variance / master.n), master.uncertainty)
    half = float(stdtrit(freedom, (1 + _EQUIVALENCE) / 2)) * error
    if own is not None and own.half_width >= half:
        return own
    return Interval(
        master.mean, master.mean - half, master.mean + half, _EQUIVALENCE, "t, spread of all"
    )


def _short(item: Characteristic, on_masters: BiasStudy | None, width: float | None) -> str:
    """Name the limits that no master comes near: what was read in the middle says little of them."""
    if on_masters is None or width is None or width <= 0:
        return ""
    sizes = [master.reference for master in on_masters.masters]
    far = [
        f"the {name} limit"
        for name, limit in (("lower", item.lower), ("upper", item.upper))
        if limit is not None
        and (min(sizes) > limit + _NEAR * width or max(sizes) < limit - _NEAR * width)
    ]
    return " and ".join(far)


def _wider(value: Interval, u: float) -> Interval:
    from scipy.special import ndtri

    more = float(ndtri((1 + value.confidence) / 2)) * u
    return Interval(
        value.estimate,
        value.estimate - math.hypot(value.estimate - value.low, more),
        value.estimate + math.hypot(value.high - value.estimate, more),
        value.confidence,
        value.method,
    )


def _drift(found: DriftStudy, away: float | None) -> Interval:
    """Estimate the drift with 90 % interval over the longest stretch, or the strokes away from master readings."""
    return _at_90(found.slope_per_thousand.times((away or _longest(found)) / 1000))


def _longest(found: DriftStudy) -> float:
    order, stretch = np.asarray(found.points)[:, 0], np.asarray(found.points)[:, 3]
    return max(float(np.ptp(order[stretch == s])) for s in np.unique(stretch))


def _unread(
    study: Study, records: Records, item: Characteristic, found: DriftStudy
) -> float | None:
    """Return the run's largest distance from any master reading, where it exceeds the master's longest stretch."""
    run = records.table("run", item.id)
    roles = ("run", "drift")
    counts = {d.order for d in study.data if d.role in roles and item.id in d.columns}
    if run is None or "order" not in run or len(counts) != 1 or counts == {None}:
        return None
    far = farthest_from(run["order"], np.asarray(found.points)[:, 0])
    return far if far > _longest(found) else None


def _level(found: DriftStudy | None) -> Interval | None:
    """Compute the mean error of the stretch between two resets that is farthest off, at 90 % by its own readings."""
    if found is None:
        return None
    points = np.asarray(found.points)
    known = [points[points[:, 3] == one, 1] for one in np.unique(points[:, 3])]
    means = [
        t_test(float(e.mean()), float(e.std(ddof=1)), e.size, e.size - 1, _EQUIVALENCE)[2]
        for e in known
        if e.size > 1 and np.ptp(e) > 0
    ]
    return max(means, key=lambda one: abs(one.estimate), default=None)


def _paired(
    study: Study,
    records: Records,
    findings: Findings,
    item: Characteristic,
    gauge: str | None,
    width: float | None,
) -> dict[str, Any]:
    """Compare with another gauge on the same parts: where it differs most surely, and how much differences spread."""
    if gauge is None or width is None or width <= 0:
        return {}
    known: list[tuple[float, str, str, Interval, float]] = []
    for pair in records.pairs(item.id):
        found = findings.get(item.id, *AGREEMENT.at(pair="~".join(pair)))
        if gauge not in pair or not isinstance(found, AgreementStudy):
            continue
        other = study.gauge(pair[1] if pair[0] == gauge else pair[0]).name
        sign = 1.0 if pair[0] == gauge else -1.0
        places = {"on average": found.mean_difference} | {
            f"at the {where} limit": value.times(-1.0)
            for where, value in found.correction.at.items()
            if where != "middle"
        }
        spread = 6 * found.sd_difference / width
        known += [
            (_surely(value), other, where, _at_90(value.times(sign)), spread)
            for where, value in places.items()
            if math.isfinite(value.half_width)
        ]
    if not known:
        return {}
    _, other, where, value, _ = max(known, key=lambda one: one[0])
    return {
        "paired_with": other,
        "paired_where": where,
        "paired_difference": value,
        "paired_spread": max(one[4] for one in known),
    }


def _surely(value: Interval) -> float:
    """Bound how far from nought a number is."""
    return max(value.low, -value.high, 0.0)


def _contradiction(
    crossed: CrossedStudy | None,
    on_masters: BiasStudy | None,
    drift: DriftStudy | None,
    step: ResolutionStudy | None,
) -> tuple[float | None, float | None, str]:
    """Test whether the gauge repeats worse on masters, or in drift, than its crossed study says; the worse of both.

    The crossed study may repeat better by a third (:data:`_BETTER`): masters are of other sizes, drift goes over
    other days, and heavy tails widen the F distribution.
    """
    from scipy.special import fdtrc

    nothing = (None, None, "")
    if crossed is None:
        return nothing
    own = crossed.components["repeatability"]
    df, variance = own.degrees_of_freedom, own.variance.estimate
    # Readings in steps cannot repeat better than their step.
    variance = max(variance, 0.0 if step is None else step.rounding_sd**2)
    theirs = {"on masters": _within_masters(on_masters), "in drift": _about_line(drift)}
    known = {where: found for where, found in theirs.items() if found is not None}
    if df is None or df < 2 or variance <= 0 or not known:
        return nothing
    found = [
        (
            len(known) * float(fdtrc(other_df, df, other / variance / _BETTER**2)),
            math.sqrt(other / variance),
            where,
        )
        for where, (other, other_df) in known.items()
    ]
    p, ratio, where = min(found)
    return min(p, 1.0), ratio, where


def _within_masters(found: BiasStudy | None, least: int = 5) -> tuple[float, float] | None:
    """Compute the variance within masters and its degrees of freedom, where these are enough."""
    masters = [m for m in (() if found is None else found.masters) if m.sd]
    freedom = float(sum(m.n - 1 for m in masters))
    if freedom < least:
        return None
    return sum((m.n - 1) * (m.sd or 0.0) ** 2 for m in masters) / freedom, freedom


def _about_line(found: DriftStudy | None) -> tuple[float, float] | None:
    # A master that is read the same again and again says less of repetition than the crossed study does.
    if found is None or found.n < 10 or found.residual_sd == 0:
        return None
    return found.residual_sd**2, float(found.n - 1 - found.stretches)


def _certified(
    study: Study, item: Characteristic, gauge: str | None, width: float | None
) -> float | None:
    if not gauge or width is None or width <= 0:
        return None
    about = study.gauge(gauge)
    if about.expanded_uncertainty is None or about.unit not in (None, item.unit):
        return None
    return float(about.expanded_uncertainty) / width
