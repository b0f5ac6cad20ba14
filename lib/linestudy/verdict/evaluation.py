"""Decide on every characteristic of a study."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from linestudy.capability.short_run import MachineStudy
from linestudy.results import Absent, CannotJudge, Findings, Interval, Unjudged
from linestudy.results.guarding import failed
from linestudy.verdict.claims import CharacteristicVerdict, StudyVerdict
from linestudy.verdict.conditions import own_records
from linestudy.verdict.criteria import Criteria, resolve
from linestudy.verdict.decisions import Decision, decide, facts_of, rule_on
from linestudy.verdict.facts import (
    CharacteristicFacts,
    Circumstances,
    IndexFacts,
    ProcessFacts,
    RecordFacts,
)
from linestudy.verdict.gather import (
    circumstances_of,
    gauge_facts,
    judged_by,
    judgement_facts,
    readings_of,
)
from linestudy.verdict.gather.crossed import of_its_studies
from linestudy.verdict.gather.of_files import chosen_of
from linestudy.verdict.gather.of_study import (
    judgement_doubts,
    names_doubted,
    reference_by_votes,
)
from linestudy.verdict.gather.record import record_facts
from linestudy.verdict.gather.revisions import changes_since
from linestudy.verdict.gather.run_readings import OF_GAUGES, OF_PARTS, Readings
from linestudy.verdict.process.description import describe
from linestudy.verdict.rulings import UNKNOWN, Ruling
from linestudy.verdict.soundness.reading_doubts import step_of

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: What the test for drift over a short run is called beside the other tests of stability.
DRIFT_OF_SHORT_RUN = "drift over the short run"
#: Readings from which the step of a run is taken.
_FEW = 20


def evaluate(study: Study, records: Records, findings: Findings) -> Findings:
    """Apply the criteria to what the packages found.

    Parameters
    ----------
    study : Study
        An opened study.
    records : Records
        What was recorded.
    findings : Findings
        What gauges, stability, shape and capability found.

    Returns
    -------
    Findings
        A verdict for each characteristic at ``("verdict",)``, and one for the study.

    See Also
    --------
    decide : The same call on arrays.

    Examples
    --------
    See ``notebooks/submission/6_verdict.ipynb``.
    """
    new = Findings()
    verdicts = {}
    for item in study.characteristics:
        criteria = resolve(study.criteria, item)
        decision = _or_unknown(study, records, findings, item, criteria)
        verdict = CharacteristicVerdict.of(decision, criteria, _cautions(findings, item.id))
        verdicts[item.id] = verdict
        new.add(item.id, ("verdict",), verdict)
    usual = resolve(study.criteria)
    accept, review = usual["capability_accept"].number, usual["capability_review"].number
    lines = {f"{review:g}: by approval": review, f"{accept:g}: accepted": accept}
    bins: Any = findings.get(None, "bins")
    counted_bins = None if bins is None or isinstance(bins, Unjudged) else bins
    own = own_records([verdict.facts for verdict in verdicts.values()], counted_bins)
    new.add(None, ("verdict",), StudyVerdict(verdicts, lines, own))
    return new


def _or_unknown(
    study: Study,
    records: Records,
    findings: Findings,
    item: Characteristic,
    criteria: Criteria,
) -> Decision:
    """Decide; where the readings break the arithmetic nothing is claimed, and the others are decided."""
    try:
        return _decision(study, records, findings, item, criteria)
    except CannotJudge as stop:
        reason = stop.reason
    except Exception as error:
        failure = failed(error)
        if failure is None:
            raise
        reason = failure.reason
    about = CharacteristicFacts(
        name=item.name, unit=item.unit or "", limits=item.measures(), special=item.special
    )
    return Decision(UNKNOWN, (Ruling("index", UNKNOWN, reason, None, "index"),), about)


def _decision(
    study: Study,
    records: Records,
    findings: Findings,
    item: Characteristic,
    criteria: Criteria,
) -> Decision:
    role, gauge = judged_by(records, item.id)
    if role in OF_GAUGES and _parts_are_planned(study, item):
        # The gauge is studied first; what is asked is the process, of which nothing is known yet.
        role = ""
    about = CharacteristicFacts(
        name=item.name,
        unit=item.unit or "",
        limits=item.measures(),
        kind="process"
        if role in OF_PARTS or not role
        else "machine"
        if role == "machine"
        else "gauge",
        special=item.special,
        lower=item.lower,
        upper=item.upper,
    )
    if item.is_attribute and role:
        reason = "Neither limit is given, so there is nothing to hold the readings against."
        return Decision(UNKNOWN, (Ruling("limits", UNKNOWN, reason, None, "index"),), about)
    if item.is_attribute:
        table = records.table("attribute", item.id)
        by_machine = any(records.gauges("attribute", item.id))
        known = judgement_facts(findings, item.id, by_machine)
        before, changed, relaxed = changes_since(study, item)
        chosen, choices = chosen_of(records, item.id)
        record = RecordFacts(
            chosen=chosen,
            settings=(*choices, *reference_by_votes(table)),
            earlier=before,
            changed=changed,
            relaxed=relaxed,
            gauge_doubts=judgement_doubts(table),
            names=names_doubted(table),
            study_people=of_its_studies(records, item.id, None)["study_people"],
        )
        return rule_on(replace(about, kind="judgement", judgement=known, record=record), criteria)
    readings = readings_of(study, records, item)
    sd = (
        None if readings is None or readings.values.size < 2 else float(readings.values.std(ddof=1))
    )
    of = str(criteria["grr_of"].value)
    facts = gauge_facts(study, records, findings, item, role, gauge, sd, of)
    if readings is not None and facts.width and readings.values.size >= _FEW:
        # What the run was rounded to, whatever the gauge studies show.
        own = step_of(readings.values) / facts.width
        facts = replace(facts, step_share=max(own, facts.step_share or 0.0) or None)
    record = record_facts(study, records, findings, item, role, gauge)
    if record.periods:
        record = replace(record, periods_index=_with_periods(study, records, item))
    about = replace(about, record=record)
    if role in OF_GAUGES:
        return rule_on(replace(about, gauge=facts), criteria)
    if role == "machine":
        short = _machine(
            replace(about, gauge=facts), findings.get(item.id, "capability", "machine")
        )
        parts = readings_of(study, records, item, roles=("machine",))
        drift_p = _drift_of_short_run(findings, item.id)
        return _of_short_run(study, item, parts, short, drift_p, criteria)
    around = circumstances_of(records, findings, item.id, role)
    if readings is None:
        why = Absent(around.refused or "no readings of the process were submitted")
        return rule_on(replace(about, gauge=facts, index=why, circumstances=around), criteria)
    return _of_readings(study, item, readings, replace(about, gauge=facts), around, criteria)


def _parts_are_planned(study: Study, item: Characteristic) -> bool:
    return any(
        data.role in (*OF_PARTS, "machine") and item.id in data.columns for data in study.planned
    )


def _with_periods(study: Study, records: Records, item: Characteristic) -> float | None:
    """Compute the index had no period been excluded."""
    whole = readings_of(study, records, item, with_periods=True)
    if whole is None or (item.lower is None and item.upper is None):
        return None
    try:
        process = describe(whole.values, whole.tags, bound=_bound_of(item), seed=study.seed)
    except CannotJudge:
        return None
    found = facts_of(process, item.lower, item.upper, Circumstances(in_time=False)).index
    return None if isinstance(found, Absent) else found.estimate


def _of_readings(
    study: Study,
    item: Characteristic,
    readings: Readings,
    about: CharacteristicFacts,
    around: Any,
    criteria: Criteria,
) -> Decision:
    """Decide on readings by the same call that a simulation makes."""
    try:
        return decide(
            readings.values,
            readings.tags,
            about.gauge,
            criteria,
            lower=item.lower,
            upper=item.upper,
            bound=_bound_of(item),
            circumstances=around,
            causes=readings.causes,
            confidence=study.confidence,
            seed=study.seed,
            facts=about,
        )
    except CannotJudge as stop:
        why = Absent(around.refused or stop.reason.rstrip("."))
        return rule_on(replace(about, index=why, circumstances=around), criteria)


def _bound_of(item: Characteristic) -> float | None:
    """Return the physical bound: a position is a distance and cannot be negative, unless its bonus is subtracted."""
    if item.bound is None and item.position is not None and item.position.size is None:
        return 0.0
    return item.bound_below


def _machine(about: CharacteristicFacts, found: Any) -> CharacteristicFacts:
    """Take the index of a short run, which is its own."""
    if found is None or isinstance(found, Unjudged):
        why = found.reason.rstrip(".") if found is not None else "no short run was taken"
        return replace(about, index=Absent(why))
    n = ProcessFacts(n=found.n, mean=found.mean, sd=found.sd)
    if not isinstance(found.Pmk, Interval):
        return replace(about, process=n, index=Absent(found.Pmk.reason))
    bound = found.lower_bounds.get("Pmk")
    index = IndexFacts(
        "Pmk",
        found.Pmk.estimate,
        float(bound) if isinstance(bound, float) else found.Pmk.low,
        found.Pmk.estimate,
        found.Pmk.confidence,
    )
    return replace(about, process=n, index=index)


def _of_short_run(
    study: Study,
    item: Characteristic,
    readings: Readings | None,
    short: CharacteristicFacts,
    drift_p: float,
    criteria: Criteria,
) -> Decision:
    """Decide on a short run by what a run is judged by: its order, its shape, and whether it contradicts itself.

    A run that moves is none of one setting, whatever it is called (ISO 22514-3). What is said of its drift beside the index
    and what is said of its control rest on one number: the drift is one of two, the tests of every run the other
    (Bonferroni).
    """
    if readings is None or isinstance(short.index, Absent):
        return rule_on(short, criteria)
    try:
        found = decide(
            readings.values,
            replace(readings.tags, subgroup=None),
            short.gauge,
            criteria,
            lower=item.lower,
            upper=item.upper,
            bound=_bound_of(item),
            causes=readings.causes,
            confidence=study.confidence,
            seed=study.seed,
            facts=short,
        ).facts
    except CannotJudge:
        return rule_on(short, criteria)
    if not isinstance(found.index, Absent):
        index = replace(found.index, name=found.index.name.replace("Ppk", "Pmk"))
        if short.index.estimate < index.estimate:
            index = replace(index, estimate=short.index.estimate, family="", stream="")
        index = replace(index, bound=min(index.bound, short.index.bound))
        found = replace(found, index=index)
    seen = found.process
    if drift_p < seen.steady_p:
        seen = replace(seen, strongest=DRIFT_OF_SHORT_RUN, matters=True)
    process = replace(seen, steady_p=min(2 * min(drift_p, seen.steady_p), 1.0))
    return rule_on(replace(found, process=process), criteria)


def _drift_of_short_run(findings: Findings, key: str) -> float:
    """Return the p-value of no drift over a short run, of all its streams together and of each by itself (Bonferroni)."""
    whole: Any = findings.get(key, "capability", "machine")
    streams = [
        found.slope_p
        for place, found in findings.of(key, "streams").items()
        if place[-1] == "machine" and isinstance(found, MachineStudy)
    ]
    p = getattr(whole, "slope_p", 1.0)
    if not streams:
        return float(p)
    return float(min(2 * min(p, len(streams) * min(streams)), 1.0))


def _cautions(findings: Findings, characteristic: str) -> tuple[str, ...]:
    """List methods without a result, which bear on the verdict."""
    return tuple(
        f"{item.method}: {item.reason}"
        for item in findings.of(characteristic).values()
        if isinstance(item, Unjudged)
    )


def decision_table(study: Study, findings: Findings) -> pd.DataFrame:
    """Tabulate the decision per characteristic.

    Parameters
    ----------
    study : Study
        The study whose characteristics are listed.
    findings : Findings
        Of a whole evaluation.

    Returns
    -------
    pandas.DataFrame
        One row per characteristic: name, limits, what is decided on, index, lower bound, what is
        asked, gauge share, points out of control, decision.

    Raises
    ------
    KeyError
        The study has not been taken through the package verdict.

    See Also
    --------
    evaluate : What the table shows.

    Examples
    --------
    See ``notebooks/submission/6_verdict.ipynb``.
    """
    verdict = findings.get(None, "verdict")
    if verdict is None:
        raise KeyError("the study has not been taken through the package verdict")
    return verdict.shown()
