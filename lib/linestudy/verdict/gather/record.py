"""What the readings were taken from: rows left out, counter, clock, tags, settings, and what contradicts itself."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.whole_part.bins_study import BinsStudy
from linestudy.records.across.rows_noticed import SORTED
from linestudy.records.exclusions import (
    ABOVE_BOUND,
    BELOW_BOUND,
    IMPLAUSIBLE,
    NO_ORDER,
    NO_READING,
    NOTHING_USABLE,
    OTHER_KIND,
    OTHER_PARTS,
    OUT_OF_RANGE,
    REPEATED,
)
from linestudy.results import Findings, Interval
from linestudy.results.rounding import as_given, in_short
from linestudy.study.model import ROLE_WORDS
from linestudy.verdict.facts import RecordFacts
from linestudy.verdict.gather.bins import bins_against_log, verdicts_against_readings
from linestudy.verdict.gather.circumstances import wear_or_drift
from linestudy.verdict.gather.counter_and_clock import (
    clock_back,
    counter_of,
    longest_pause,
    not_named,
    put_in_order,
)
from linestudy.verdict.gather.crossed import of_its_studies, repeats_better_on_masters
from linestudy.verdict.gather.of_files import (
    chosen_of,
    limits_of_files,
    rejected_without,
    unread_numbers,
    unseen,
    worked_out,
)
from linestudy.verdict.gather.of_study import (
    earlier_studies,
    gauge_doubts,
    made_before,
    names_doubted,
)
from linestudy.verdict.gather.revisions import changes_since
from linestudy.verdict.gather.run_readings import read_elsewhere
from linestudy.verdict.soundness.reading_doubts import step_of
from linestudy.verdict.soundness.steps import comb

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.records.read_files import Source
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Data

_USUAL_SEED = 20260101
#: First and last readings that are printed.
_ENDS = 3
#: Standard errors by which the kurtosis of readings is below a normal one's where their tails are reported as short.
_SHORT = 3.3
#: Readings from which their step is looked at.
_FEW = 20


def record_facts(
    study: Study,
    records: Records,
    findings: Findings,
    item: Characteristic,
    role: str,
    gauge: str | None,
) -> RecordFacts:
    """Gather facts of the record behind one characteristic.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings
        For the bins.
    item : Characteristic
    role : str
        Role of the readings that the decision rests on.
    gauge : str or None
        Its id.

    Returns
    -------
    RecordFacts
        Without what only the readings themselves tell, which :func:`~linestudy.verdict.decide` adds.
    """
    sources = [s for s in records.sources if s.data.role == role and item.id in s.account.values]
    table = records.table(role, item.id)
    left_out = _left_out(records, item.id, role)
    earlier, changed, relaxed = changes_since(study, item)
    chosen, choices = chosen_of(records, item.id)
    rejected, without = rejected_without(sources, item.id)
    bins_p, bins, verdicts = (
        bins_against_log(study, findings, sources)
        if role in ("run", "machine")
        else (None, (), True)
    )
    sorter, verdict_notes = (
        verdicts_against_readings(study, findings, sources, item) if role == "run" else ((), [])
    )
    otherwise, narrower = limits_of_files(sources, item.id)
    worse, beside = read_elsewhere(study, records, item) if role == "run" else ((), ())
    return RecordFacts(
        rows=sum(
            source.account.rows_read * source.account.values[item.id].columns for source in sources
        ),
        left_out=left_out,
        left_out_rows=sum(
            n
            for source in sources
            for reason, n in source.account.set_aside.items()
            if reason not in (REPEATED, NO_ORDER)
        ),
        suspect=_suspect(study, item, gauge, [s.data for s in sources], left_out),
        **_periods(item, table),
        **counter_of(sources),
        backwards=sum(
            seen.count
            for s in sources
            for seen in s.seen
            if seen.what == "order goes back" and s.data.order is not None
        ),
        sorted_rows=any(seen.what == SORTED for s in sources for seen in s.seen),
        clock_back=clock_back(table),
        pause=longest_pause(table),
        coils=_labels(table, "coil"),
        stations=_labels(table, "station"),
        not_recorded=not_named(table, sources) if role == "run" else (),
        settings=(
            *_settings(study, item, gauge, [s.data for s in sources]),
            *(() if item.position else _steps(study, gauge, table, item.unit)),
            *unseen(sources),
            *unread_numbers(records.sources, item.id),
            *without,
            *choices,
            *earlier_studies(records, item.id, gauge),
            *narrower,
            *beside,
            *verdict_notes,
            *put_in_order(sources),
            *made_before(records, item, gauge),
            *repeats_better_on_masters(records, item.id, gauge),
            *(_short_tails(findings, sources, table) if role == "run" else ()),
            *(wear_or_drift(findings, item.id, gauge, item.unit or "") if role == "run" else ()),
        ),
        chosen=chosen,
        rejected_unread=rejected,
        seed=None if study.head.seed == _USUAL_SEED else study.head.seed,
        first_readings=() if table is None else _numbers(table, slice(None, _ENDS)),
        last_readings=() if table is None else _numbers(table, slice(-_ENDS, None)),
        **_extremes(table),
        **of_its_studies(records, item.id, gauge),
        gauge_doubts=gauge_doubts(records, findings, item.id, role, gauge),
        names=names_doubted(records.table("crossed", item.id, gauge)),
        bins_p=bins_p,
        bins=bins,
        bins_by_verdicts=verdicts,
        sorter=sorter,
        files_say=(*otherwise, *worse),
        doubts=worked_out(sources, item.id),
        short_run=_short_run(findings, item.id) if role == "run" else (),
        earlier=earlier,
        changed=changed,
        relaxed=relaxed,
    )


def _left_out(records: Records, key: str, role: str) -> dict[str, int]:
    total: dict[str, int] = {}
    for account in records.ledger.accounts:
        own = account.values.get(key)
        if account.role != role or own is None:
            continue
        # A row of a wide sheet holds a reading in each of the characteristic's columns.
        rows = {
            reason: count * own.columns
            for reason, count in account.set_aside.items()
            if not reason.startswith((OTHER_PARTS, OTHER_KIND))
        }
        for reasons in (rows, own.set_aside):
            for reason, count in reasons.items():
                total[reason] = total.get(reason, 0) + count
    return total


def _suspect(
    study: Study,
    item: Characteristic,
    gauge: str | None,
    data: list[Data],
    left_out: dict[str, int],
) -> int:
    """List readings excluded where parts may lie: by a range, or by a code, within half a tolerance of the limits."""
    reasons = {"plausible": IMPLAUSIBLE, "within the gauge's range": OUT_OF_RANGE}
    guilty = [reasons[what] for _, what in _narrow(study, item, gauge)]
    # Below a bound that lies near the lower limit, or inside it, parts may lie.
    near = _where_parts_lie(item)
    if item.bound is not None and item.lower is not None and near and item.bound > near[0]:
        guilty += [BELOW_BOUND, ABOVE_BOUND]
    if any(_codes_among_parts(one, item) for one in data):
        guilty.append(NO_READING)
    # A row whose only value was left out is left out as a row.
    guilty += [NOTHING_USABLE] if guilty else []
    return sum(left_out.get(reason, 0) for reason in guilty)


def _narrow(
    study: Study, item: Characteristic, gauge: str | None
) -> list[tuple[tuple[float, float], str]]:
    """List ranges outside which readings are excluded, as far as they reach to where parts may lie."""
    near = _where_parts_lie(item)
    ranges = [(item.plausible, "plausible")]
    ranges += [(study.gauge(gauge).range, "within the gauge's range")] if gauge else []
    return [
        (given, what)
        for given, what in ranges
        if given is not None and near is not None and (given[0] > near[0] or given[1] < near[1])
    ]


def _where_parts_lie(item: Characteristic) -> tuple[float, float] | None:
    """Return the limits and half a tolerance beyond; where one limit is missing the other side is open."""
    known = [v for v in (item.lower, item.upper, item.nominal, item.bound) if v is not None]
    width = max(known) - min(known) if known else 0.0
    if width <= 0:
        return None
    low = -np.inf if item.lower is None else item.lower - width / 2
    high = np.inf if item.upper is None else item.upper + width / 2
    if item.lower is None:
        low = item.upper - 2 * width if item.bound_below is None else item.bound_below  # type: ignore[operator]
    if item.upper is None:
        high = item.lower + 2 * width  # type: ignore[operator]
    return float(low), float(high)


def _codes_among_parts(data: Data, item: Characteristic) -> list[str]:
    """List codes for "no reading" that could be readings."""
    near = _where_parts_lie(item)
    numbers = [(word, _number(word, data.decimal)) for word in data.missing]
    return [w for w, n in numbers if n is not None and near is not None and near[0] <= n <= near[1]]


def _number(word: str, decimal: str) -> float | None:
    try:
        return float(word.replace(decimal, "."))
    except ValueError:
        return None


def _periods(item: Characteristic, table: pd.DataFrame | None) -> dict[str, Any]:
    if table is None or "set_aside" not in table or not table["set_aside"].any():
        return {"periods": 0, "periods_outside": 0}
    y = table.loc[table["set_aside"].astype(bool), "value"].to_numpy(float)
    outside = np.zeros(y.size, dtype=bool)
    if item.lower is not None:
        outside |= y < item.lower
    if item.upper is not None:
        outside |= y > item.upper
    return {"periods": int(y.size), "periods_outside": int(outside.sum())}


def _labels(table: pd.DataFrame | None, name: str) -> tuple[str, ...]:
    if table is None or name not in table:
        return ()
    return tuple(str(label) for label in dict.fromkeys(table[name].dropna()))


def _settings(
    study: Study, item: Characteristic, gauge: str | None, data: list[Data]
) -> tuple[str, ...]:
    said = []
    for one in data:
        for unit in _units(one, item):
            from linestudy.records.units import unit_factor

            factor = unit_factor(unit, item.unit, one.file)
            said.append(
                f"readings are declared in {unit} and multiplied by {factor:.6g} to give {item.unit}"
            )
        if one.specimen_sd is not None:
            said.append(
                f"specimens are declared to spread by {as_given(one.specimen_sd)} {item.unit or ''}".rstrip()
                + ", which is taken off the GRR of the destructive test"
            )
        codes = _codes_among_parts(one, item)
        if codes:
            said.append(f"cells with {', '.join(codes[:5])} count as no reading")
    for given, what in _narrow(study, item, gauge):
        said.append(f"only readings from {given[0]:g} to {given[1]:g} count as {what}")
    said += _of_limits(item)
    said += [
        f"not submitted yet: {ROLE_WORDS[one.role]} ({one.file}), which is planned"
        for one in study.planned
        if item.id in one.columns or item.id == one.characteristic
    ]
    if item.family != "auto":
        said.append(f"the distribution is named ({item.family}), not found from the readings")
    if study.confidence < 0.95:
        said.append(f"intervals hold with {study.confidence:.0%} confidence only")
    return tuple(dict.fromkeys(said))


def _of_limits(item: Characteristic) -> list[str]:
    """Say what the limits leave open: a side without one beside a nominal value, a bound that is the limit itself."""
    said = []
    given = {"a lower": item.lower, "an upper": item.upper}
    open_sides = [name for name, limit in given.items() if limit is None]
    if item.nominal is not None and item.bound is None and len(open_sides) == 1:
        said.append(
            f"{open_sides[0]} limit is not given beside the nominal value {as_given(item.nominal)}: on that side nothing is judged"
        )
    for name, limit in (("lower", item.lower), ("upper", item.upper)):
        if limit is not None and limit == item.bound:
            said.append(
                f"the bound {as_given(limit)} is the {name} limit: no part is taken to be able to pass it"
            )
    return said


def _units(data: Data, item: Characteristic) -> list[str]:
    """List units other than its own in which a characteristic's readings are declared."""
    own = json.dumps(data.columns.get(item.id, ""))
    given = [data.unit, *(unit for name, unit in data.units.items() if json.dumps(name) in own)]
    return [u for u in dict.fromkeys(given) if u is not None and item.unit not in (None, u)]


def _steps(
    study: Study, gauge: str | None, table: pd.DataFrame | None, unit: str | None
) -> tuple[str, ...]:
    """Find readings finer than the gauge reads (averages?), coarser (rounded?), or in steps of their own (scaled?)."""
    about = study.gauge(gauge) if gauge else None
    # A step in millimetres says nothing of an angle.
    declared = about.resolution if about and about.unit in (None, unit) else None
    if declared is None or table is None or len(table) < _FEW:
        return ()
    y, read = table["value"].to_numpy(float), in_short(declared, unit or "")
    off = y / declared
    finer = float((np.abs(off - np.round(off)) > 0.02).mean())
    if finer >= 0.05:
        return (
            # To the next 5 %, so that characteristics of one gauge share the sentence.
            f"about {5 * round(20 * finer)} % of the readings are finer than the gauge's resolution of {read}",
        )
    step = step_of(y)
    if step > 1.5 * declared:
        return (
            f"the readings stand in steps of {in_short(step, unit or '')}, coarser than the gauge's {read}",
        )
    every = comb(y, step)
    if every is None:
        return ()
    return (
        f"of the steps of the readings one in {every:.3g} holds more of them than the others, as where readings are multiplied by less than one "
        "and rounded again, or the gauge's own steps are finer than the file's",
    )


def _numbers(table: pd.DataFrame, which: slice) -> tuple[float, ...]:
    return tuple(float(v) for v in table["value"].to_numpy(float)[which])


def _extremes(table: pd.DataFrame | None) -> dict[str, Any]:
    """Find the smallest and the largest reading, and where the counter stood: whoever moves readings moves these."""
    if table is None or not table["value"].notna().any():
        return {}
    at = [int(np.nanargmin(table["value"])), int(np.nanargmax(table["value"]))]
    order = table["order"].to_numpy(float)[at] if "order" in table else np.empty(0)
    places = tuple(order.tolist()) if np.isfinite(order).all() else ()
    return {"extremes": tuple(table["value"].to_numpy(float)[at].tolist()), "extremes_at": places}


def _short_tails(
    findings: Findings, sources: list[Source], table: pd.DataFrame | None
) -> tuple[str, ...]:
    """Find readings that end sooner than normal ones where nothing counts rejected parts: of sorted parts, or several levels."""
    from scipy.stats import kurtosistest

    known = isinstance(findings.get(None, "bins"), BinsStudy) or any(
        "accepted" in source.frame for source in sources
    )
    if table is None or len(table) < _FEW or known:
        return ()
    y = table["value"].to_numpy(dtype=float)
    if "station" in table:
        # Levels of named streams are no short tails.
        y = y - table.groupby(table["station"].astype(str))["value"].transform("mean").to_numpy()
    if not np.ptp(y) > 0 or kurtosistest(y).statistic > -_SHORT:
        return ()
    return (
        "the readings end sooner than those of a normal process, as those of several levels or of sorted parts do, and no count of "
        "rejected parts is in the folder: an index of sorted parts describes the sorting, so hold the rejected parts against it",
    )


def _short_run(findings: Findings, key: str) -> tuple[float, ...]:
    """Return Pmk of a short run with its interval and parts."""
    found: Any = findings.get(key, "capability", "machine")
    index = getattr(found, "Pmk", None)
    if not isinstance(index, Interval):
        return ()
    return index.estimate, index.low, index.high, float(found.n)
