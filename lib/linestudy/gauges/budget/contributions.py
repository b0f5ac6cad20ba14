"""Gather the budget of measurement uncertainty from studies, certificates and study.toml.

What each line is taken from: the gauge's certificate (calibration), the masters' certificates (the largest
uncertainty of a master's value), its resolution (rectangular, one step wide), repeated readings of a master, the largest bias on any master (over the square root of
three, which holds linearity between the masters too), the crossed study (repeatability on parts,
appraiser, interaction, third factor), the drift record (half of what its line moved, rectangular). An
entry of study.toml with the same source takes the place of a study's.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from linestudy.gauges.budget.certificates import run_out
from linestudy.gauges.budget.expanded import uncertainty_budget
from linestudy.gauges.budget.expanded_finding import DIVISORS, Contribution, UncertaintyStudy
from linestudy.gauges.grr.finding import CROSSED, CrossedStudy
from linestudy.gauges.masters.bias import BIAS, BiasStudy
from linestudy.gauges.masters.drift import DRIFT, DriftStudy
from linestudy.gauges.masters.repeatability import CG_CGK, RepeatabilityStudy
from linestudy.results import Findings, Interval

if TYPE_CHECKING:
    from datetime import date

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def reference_width(item: Characteristic) -> float | None:
    """Return the width that a gauge's spread is held against: the tolerance, or the distance from a bound.

    A magnitude with an upper limit only has the distance from its physical bound. A width that no gauge
    could be held against (beyond 1e70 or below 1e-70 units) is none.
    """
    if item.tolerance is not None:
        return item.tolerance if 1e-70 < item.tolerance < 1e70 else None
    if item.bound_below is not None and item.upper is not None:
        return item.upper - item.bound_below
    return None


def gauges_of(study: Study, records: Records, item: Characteristic) -> tuple[str, ...]:
    """List the gauges of a characteristic that a budget can be made for.

    Parameters
    ----------
    study : Study
        The opened study.
    records : Records
        What was recorded.
    item : Characteristic
        Whose gauges are asked for.

    Returns
    -------
    tuple of str
        Those with a crossed study or masters, and those a [[budget]] entry names.
    """
    found = [*records.gauges("crossed", item.id), *records.gauges("reference", item.id)]
    measured = {g for role in ("run", "nested", "drift") for g in records.gauges(role, item.id)}
    for entry in study.budget:
        named = entry.characteristic == item.id
        if named or (entry.characteristic is None and entry.gauge in {*found, *measured}):
            found.append(entry.gauge)
    return tuple(dict.fromkeys(gauge for gauge in found if gauge))


def budget_of(
    study: Study,
    item: Characteristic,
    gauge: str,
    findings: Findings,
    when: date | None = None,
) -> UncertaintyStudy:
    """Make the budget of one gauge on one characteristic.

    Parameters
    ----------
    study : Study
        The opened study, with its [[budget]] entries.
    item : Characteristic
        What is measured.
    gauge : str
        Gauge id.
    findings : Findings
        What the studies before found.
    when : datetime.date, optional
        Day of the readings, which certificates must have held on.

    Returns
    -------
    UncertaintyStudy
        The combined budget.
    """
    lines = {line.source: line for line in _from_studies(study, item, gauge, findings)}
    tied: dict[tuple[str, str], float] = {}
    for entry in study.budget:
        if entry.gauge != gauge or entry.characteristic not in (None, item.id):
            continue
        if entry.standard_uncertainty is not None:
            size = entry.standard_uncertainty
        else:
            size = (entry.half_width or 0.0) / DIVISORS[entry.distribution]
        lines[entry.source] = Contribution(
            entry.source,
            size,
            entry.degrees_of_freedom or math.inf,
            entry.origin,
            distribution=entry.distribution if entry.standard_uncertainty is None else "normal",
            sensitivity=entry.sensitivity,
        )
        if entry.correlated_with is not None:
            tied[entry.source, entry.correlated_with] = entry.correlation
    found = uncertainty_budget(
        lines.values(),
        item.lower,
        item.upper,
        tolerance=reference_width(item),
        confidence=study.confidence,
        correlations={pair: r for pair, r in tied.items() if pair[1] in lines},
        seed=study.seed,
        unit=item.unit or "",
    )
    lost = tuple(
        f'"{one}" is said to be correlated with "{other}", which is no source of this budget.'
        for one, other in tied
        if other not in lines
    )
    notes = (*run_out(study, item.id, gauge, when), *lost)
    return replace(found, cautions=(*notes, *found.cautions))


def _from_studies(
    study: Study, item: Characteristic, gauge: str, findings: Findings
) -> list[Contribution]:
    lines = []
    about = study.gauge(gauge)
    # A certificate speaks in the gauge's unit; a reading in another is not converted by guess.
    same_unit = about.unit is None or about.unit == item.unit
    if about.expanded_uncertainty is not None and same_unit:
        size = about.expanded_uncertainty / about.coverage
        lines.append(Contribution("calibration", size, origin="its certificate"))
    if about.resolution is not None and same_unit:
        lines.append(
            Contribution(
                "resolution",
                about.resolution / math.sqrt(12),
                origin="declared by the author",
                distribution="rectangular",
            )
        )

    master, masters, parts, time = (
        findings.get(item.id, *declared.at(gauge=gauge))
        for declared in (CG_CGK, BIAS, CROSSED, DRIFT)
    )
    if isinstance(master, RepeatabilityStudy):
        lines.append(
            Contribution("repeatability on a master", master.sd, master.n - 1.0, master.title)
        )
    if isinstance(masters, BiasStudy):
        sizes = [abs(m.bias.estimate) for m in masters.masters if isinstance(m.bias, Interval)]
        largest = max([*sizes, abs(masters.mean_bias.estimate)])
        lines.append(
            Contribution(
                "bias",
                largest / math.sqrt(3),
                origin=f"{masters.title}, the largest",
                distribution="rectangular",
            )
        )
        doubt = max(m.uncertainty for m in masters.masters)
        if doubt > 0:
            lines.append(
                Contribution(
                    "calibration of the masters", doubt, origin="the masters' certificates"
                )
            )
    if isinstance(parts, CrossedStudy):
        lines += _from_crossed(parts)
    if isinstance(time, DriftStudy):
        half = float(np.ptp(time.points[:, 2])) / 2
        lines.append(
            Contribution(
                "stability", half / math.sqrt(3), origin=time.title, distribution="rectangular"
            )
        )
    return lines


_CALLED = {"repeatability": "repeatability on parts", "interaction": "part and appraiser"}
_SUMS = ("reproducibility", "grr", "part", "total")


def _from_crossed(study: CrossedStudy) -> list[Contribution]:
    return [
        Contribution(
            _CALLED.get(name, name.replace(":", " and ")),
            item.sd.estimate,
            item.degrees_of_freedom or math.inf,
            study.title,
            item.sd,
        )
        for name, item in study.components.items()
        if name not in _SUMS and item.sd.estimate > 0
    ]
