"""Gather what the rooms found into the evidence that the rules look at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linestudy.results import Absent, Finding, Findings, Interval, Unjudged
from linestudy.verdict.decisions import Evidence

if TYPE_CHECKING:
    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def gather(
    study: Study, records: Records, findings: Findings, characteristic: Characteristic
) -> Evidence:
    """Evidence about one measured characteristic.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings
        What the rooms before the verdict found.
    characteristic : Characteristic

    Returns
    -------
    Evidence
        With :class:`~linestudy.results.Absent` wherever a room could not say anything.
    """
    key = characteristic.id
    role, gauge = judged_by(records, key)
    gauge_name = study.gauge(gauge).name if gauge else "the gauge"
    share, share_of, categories, separable = _gauge_trust(findings, key, gauge, role, gauge_name)
    bias = findings.get(key, "gauges", gauge or "", "bias")
    chart = _found(findings, key, "stability")
    index_name, index, sorted_parts = _index(findings, key)
    rival_index, rival_name = _rival(findings, characteristic)
    signals = getattr(chart, "signals", None)
    capability = _found(findings, key, "capability")
    return Evidence(
        gauge=gauge_name,
        gauge_share=share,
        share_of=share_of,
        distinct_categories=categories,
        separable=separable,
        bias=getattr(bias, "mean_bias", Absent("no masters were measured")),
        bias_p=getattr(bias, "p", None),
        tolerance=characteristic.tolerance,
        time_model=getattr(_found(findings, key, "stability", "time_model"), "model", None),
        signals=None if signals is None else float(len(signals)),
        expected_signals=getattr(chart, "expected_false_signals", None),
        index_name=index_name,
        index=index,
        index_bound=_bound(capability, index, index_name),
        rival_index=rival_index,
        rival_name=rival_name,
        readings=getattr(capability, "n", None),
        subgroups=getattr(chart, "n_subgroups", None),
        sorted_parts=sorted_parts,
    )


def judged_by(records: Records, characteristic: str) -> tuple[str, str | None]:
    """Role and gauge of the readings that the capability rests on."""
    for role in ("run", "nested"):
        gauges = records.gauges(role, characteristic)
        if gauges:
            return role, gauges[0]
    return "run", None


def _found(findings: Findings, characteristic: str, *path: str) -> Finding | None:
    finding = findings.get(characteristic, *path)
    return None if isinstance(finding, Unjudged) else finding


def _gauge_trust(
    findings: Findings, key: str, gauge: str | None, role: str, gauge_name: str
) -> tuple[Interval | Absent, str, Interval | Absent, bool]:
    """Share of the tolerance, what it is a share of, ndc, and whether the gauge can be told apart."""
    unknown = Absent(f"no crossed study of {gauge_name} is in the folder")
    crossed = findings.get(key, "gauges", gauge or "", "crossed")
    if isinstance(crossed, Unjudged):
        unknown = Absent(crossed.reason.rstrip("."))
    if crossed is None or isinstance(crossed, Unjudged):
        nested = findings.get(key, "gauges", gauge or "", "nested")
        separable = nested is None and role != "nested"
        return unknown, "tolerance", unknown, separable
    spread: Any = crossed.components["grr"]  # type: ignore[attr-defined]
    categories = crossed.ndc  # type: ignore[attr-defined]
    if isinstance(spread.share_of_tolerance, Interval):
        return spread.share_of_tolerance, "tolerance", categories, True
    return spread.share_of_sd, "total spread", categories, True


def _index(findings: Findings, key: str) -> tuple[str, Interval | Absent, bool]:
    """The index the claim rests on: that of the process before sorting where parts were sorted."""
    before = _found(findings, key, "capability", "before_sorting")
    capability = findings.get(key, "capability")
    if before is not None and isinstance(getattr(before, "Ppk", None), Interval):
        refused = isinstance(capability, Unjudged) or not isinstance(
            getattr(capability, "Ppk", None), Interval
        )
        if refused:
            return "Ppk before sorting", before.Ppk, True  # type: ignore[attr-defined]
    if capability is None:
        return "Ppk", Absent("no readings of the process are in the folder"), False
    if isinstance(capability, Unjudged):
        return "Ppk", Absent(capability.reason.rstrip(".")), False
    return "Ppk", capability.Ppk, False  # type: ignore[attr-defined]


def _bound(capability: Finding | None, index: Interval | Absent, name: str) -> float | None:
    bounds = getattr(capability, "lower_bounds", {})
    bound = bounds.get(name)
    return float(bound) if isinstance(index, Interval) and isinstance(bound, float) else None


def _rival(findings: Findings, characteristic: Characteristic) -> tuple[float | None, str | None]:
    """The index under the runner-up distribution, by the same quantiles."""
    shape = _found(findings, characteristic.id, "shape")
    rival = getattr(shape, "runner_up", None)
    if rival is None:
        return None, None
    low, middle, high = (float(rival.ppf(q)) for q in (0.00135, 0.5, 0.99865))
    sides = []
    if characteristic.upper is not None:
        sides.append((characteristic.upper - middle) / (high - middle))
    if characteristic.lower is not None:
        sides.append((middle - characteristic.lower) / (middle - low))
    return (min(sides), rival.family) if sides else (None, None)
