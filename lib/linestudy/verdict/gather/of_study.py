"""What a study of gauges or judgements contradicts itself in: copies, names that may mean one, numbers that are missing."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from linestudy.gauges.budget.certificates import day_of, measured_on
from linestudy.gauges.grr.finding import CROSSED, CrossedStudy
from linestudy.records.counting.occasions import dated
from linestudy.records.stream_names import (
    named_several_ways,
    parts_named_several_ways,
    people_named_several_ways,
)
from linestudy.results import Findings, decimals_for
from linestudy.results.tables import natural_order
from linestudy.verdict.facts import Doubt
from linestudy.verdict.gather.run_readings import OF_GAUGES
from linestudy.verdict.soundness.cell_copies import copied_trial, doubled_readings
from linestudy.verdict.soundness.gauge_copies import copied_appraiser, copied_part
from linestudy.verdict.soundness.judgement_copies import copied_judgements
from linestudy.verdict.soundness.masters_values import never_differ, values_of_readings
from linestudy.verdict.soundness.reading_doubts import step_of
from linestudy.verdict.soundness.steps import between_steps
from linestudy.verdict.soundness.study_copies import copied_study, parts_again
from linestudy.verdict.soundness.trial_copies import copied_lines

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.model import Characteristic

#: Readings from which the spread of a run is held against its gauge.
_FEW = 20
#: Correlation of two characteristics of the run from which one is worked out from the other.
_ONE_QUANTITY = 0.95
#: Parts from which their numbering is looked at, and missing numbers that are printed.
_PARTS, _SHOWN = 5, 6
#: Days after which a gauge has usually been calibrated again (common practice, no source).
_OLD = 365
#: Chance that votes so divided are all right, below which it is asked where the reference comes from (common practice, no source): of
#: honest studies of 50 parts it is asked in 0 to 12 %, of those whose reference was made of the votes in 0 to 82 % (600 and 300 each of
#: eight kinds; most where the appraisers differ most).
_DIVIDED = 0.3


def gauge_doubts(
    records: Records, findings: Findings, key: str, role: str, gauge: str | None
) -> tuple[Doubt, ...]:
    """Hold the readings of a crossed study against each other, and against the run.

    Parameters
    ----------
    records : Records
    findings : Findings
        For the repeatability.
    key : str
        Id of the characteristic.
    role : str
        Role of the readings that the decision rests on.
    gauge : str or None
        Its id.

    Returns
    -------
    tuple of Doubt
        One for each test that could say anything, whatever its p-value.
    """
    found: list[Doubt | None] = [
        *_between_steps(records, key, gauge, role),
        *_of_masters(records.table("reference", key, gauge), records.table("crossed", key, gauge)),
    ]
    table = records.table("crossed", key, gauge)
    if table is None or table.empty or "part" not in table:
        return tuple(one for one in found if one is not None)
    part, trial, value = table["part"], table.get("trial"), table["value"]
    if "appraiser" in table:
        columns = (part, table["appraiser"], trial, value)
        run = records.table("run", key, gauge) if role == "run" else None
        found += [
            copied_appraiser(*columns),
            copied_part(*columns),
            _spreads_less_than_the_gauge(findings, run, key, gauge),
        ]
    # Who read, under which level of a third factor: a cell of the study is all of it.
    labels = [name for name in ("appraiser", "factor") if name in table]
    who = table[labels].astype(str).agg(", ".join, axis=1) if labels else np.full(len(table), "")
    found.append(doubled_readings(part, who, value))
    found.append(copied_lines(part, who, trial, value))
    found.append(parts_again(part, value))
    found += _of_other_studies(records, key, role, gauge, table)
    if trial is not None:
        found.append(copied_trial(part, who, trial, value))
    return tuple(one for one in found if one is not None)


def _between_steps(records: Records, key: str, gauge: str | None, role: str) -> list[Doubt | None]:
    """Find readings of the run at fractions of the steps of the gauge's studies, or of a study at fractions of the rest's."""
    roles = (*OF_GAUGES, "run") if role == "run" else OF_GAUGES
    tables = {one: records.table(one, key, gauge) for one in roles}
    read = {
        one: table["value"].to_numpy(float)[:_MANY]
        for one, table in tables.items()
        if table is not None and len(table)
    }
    found: list[Doubt | None] = []
    for one, y in read.items():
        others = [values for other, values in read.items() if other not in (one, "run")]
        if one != "run" and "run" in read:
            # What single parts are read in is what the gauge reads in.
            others = [read["run"]]
        if others:
            together = np.concatenate(others)
            found.append(between_steps(y, together, step_of(together), _READ[one]))
    return found


#: Readings whose steps are looked at; a few thousand show them as well as all.
_MANY = 4000
_READ = {
    "run": "the readings",
    "crossed": "the readings of the crossed study",
    "reference": "the readings of masters",
    "drift": "the readings over time",
}


def _of_masters(table: pd.DataFrame | None, crossed: pd.DataFrame | None) -> list[Doubt | None]:
    if table is None or "reference" not in table or table["reference"].isna().any():
        return []
    return [
        values_of_readings(table["reference"], table["value"]),
        None if crossed is None else never_differ(table["reference"], table["value"], crossed),
    ]


def _of_other_studies(
    records: Records, key: str, role: str, gauge: str | None, own: pd.DataFrame
) -> list[Doubt]:
    """Hold a crossed study against those of other gauges, and of other characteristics of the run."""
    found, looked = [], 0
    for item in records.study.characteristics:
        # Gauges alone may be studied on one quantity for several characteristics.
        if item.id != key and role != "run":
            continue
        for other in records.gauges("crossed", item.id):
            table = records.table("crossed", item.id, other)
            if table is None or (item.id, other) == (key, gauge):
                continue
            looked += 1
            whose = records.study.gauge(other).name if item.id == key else item.name
            doubt = copied_study(own, table, whose, item.id == key)
            if doubt is not None and (item.id == key or not _one_quantity(records, key, item.id)):
                found.append(doubt)
    # Of several that are one, one is named.
    nearest = min(found, key=lambda one: one.p, default=None)
    return [] if nearest is None else [replace(nearest, p=min(nearest.p * looked, 1.0))]


def _one_quantity(records: Records, one: str, other: str) -> bool:
    """Check whether the run's readings of two characteristics go together as a radius and a diameter do."""
    first, second = records.table("run", one), records.table("run", other)
    if first is None or second is None or len(first) != len(second):
        return False
    y, x = first["value"].to_numpy(float), second["value"].to_numpy(float)
    return bool(y.std() > 0 and x.std() > 0 and abs(np.corrcoef(y, x)[0, 1]) > _ONE_QUANTITY)


def _spreads_less_than_the_gauge(
    findings: Findings, run: pd.DataFrame | None, key: str, gauge: str | None
) -> Doubt | None:
    """Find readings of the run that spread less than the gauge repeats: averages, or another gauge (F)."""
    from scipy.special import fdtr

    crossed = findings.get(key, *CROSSED.at(gauge=gauge or ""))
    if run is None or len(run) < _FEW or not isinstance(crossed, CrossedStudy):
        return None
    own = crossed.components["repeatability"]
    df, sd = own.degrees_of_freedom, own.sd.estimate
    spread = float(run["value"].std())
    if df is None or df < 2 or sd <= 0 or spread <= 0:
        return None
    p = float(fdtr(len(run) - 1, df, (spread / sd) ** 2))
    places, unit = decimals_for(min(spread, sd)), f" {crossed.unit}" if crossed.unit else ""
    return Doubt(
        "run spreads less than its gauge",
        p,
        f"the run's readings have an SD of {spread:.{places}f}{unit}, the gauge repeats with {sd:.{places}f}{unit}",
    )


def made_before(records: Records, item: Characteristic, gauge: str | None) -> list[str]:
    """Tell of a crossed study that is a year older than the run, or that something was done to its gauge since.

    Parameters
    ----------
    records : Records
    item : linestudy.study.model.Characteristic
    gauge : str or None
        Its id.

    Returns
    -------
    list of str
        A clause; none where files, occasions and events give no dates.
    """
    read = None if gauge is None else _read_on(records, item.id, gauge)
    last = measured_on(records.study, records, item)
    if gauge is None or read is None or last is None:
        return []
    name, said = records.study.gauge(gauge).name, []
    if (days := (last - read).days) >= _OLD:
        said.append(f"{days:,} days before the last reading")
    run = records.table("run", item.id)
    done = []
    for event in records.timed(records.study).events:
        if name.casefold() not in event.name.casefold() or not event.concerns(item.id):
            continue
        when = day_of(event.time)
        if when is None and run is not None and "time" in run and event.at is not None:
            after = run["time"][run["order"] >= event.at].min()
            when = after.date() if after == after else None
        if when is not None and when > read:
            done.append(f"{event.name} ({when})")
    if done:
        said.append(f"not again after: {'; '.join(done[:_SHOWN])}")
    if not said:
        return []
    return [
        f"the crossed study of {name} was read on {read}, {' and '.join(said)}: ask what was done to the gauge since, and whether the study "
        "still holds"
    ]


def _read_on(records: Records, key: str, gauge: str) -> date | None:
    """Return the day of a crossed study's last reading by its clock, else by its occasion's name."""
    table = records.table("crossed", key, gauge)
    if table is not None and "time" in table and table["time"].notna().any():
        last: date = table["time"].max().date()
        return last
    names = [name for name in records.occasions(key, gauge) if dated(name)]
    return day_of(f"{dated(names[-1])}01"[:10]) if names else None


def judgement_doubts(table: pd.DataFrame | None) -> tuple[Doubt, ...]:
    """Hold the judgements of different appraisers against each other.

    Parameters
    ----------
    table : pandas.DataFrame or None
        Judgements of a characteristic.

    Returns
    -------
    tuple of Doubt
    """
    if table is None or not {"part", "appraiser", "trial"} <= set(table):
        return ()
    found = copied_judgements(table["part"], table["appraiser"], table["trial"], table["judgement"])
    return () if found is None else (found,)


def reference_by_votes(table: pd.DataFrame | None) -> list[str]:
    """Tell that the reference is what most judgements say, on so many parts on which they are divided that it may have been made of them.

    Whoever judges as the others do is then right, and what all of them get wrong is not seen. Of a part that m of n judgements call
    otherwise than the rest, the rest are right with the probability that a share drawn from Beta(m + 1/2, n - m + 1/2) lies below one half.

    Parameters
    ----------
    table : pandas.DataFrame or None
        Judgements of a characteristic.

    Returns
    -------
    list of str
        A clause; none where the judgements rest on a measured value.

    Examples
    --------
    >>> import pandas as pd
    >>> said = [True, True, False] * 4
    >>> votes = pd.DataFrame({"part": list("aaabbbcccddd"), "judgement": said, "reference": True})
    >>> len(reference_by_votes(votes)), len(reference_by_votes(votes.assign(reference=False)))
    (1, 0)
    """
    if table is None or not {"part", "judgement", "reference"} <= set(table) or "measured" in table:
        return []
    from scipy.special import betainc

    known = table[["part", "judgement", "reference"]].dropna().astype(float, errors="ignore")
    by_part = known.groupby("part")
    n, accepted = by_part.size(), by_part["judgement"].sum()
    fewer = accepted.clip(upper=n - accepted)
    divided = fewer > 0
    right = (2 * accepted > n) == (by_part["reference"].first() > 0)
    if not right.all() or betainc(fewer + 0.5, n - fewer + 0.5, 0.5)[divided].prod() >= _DIVIDED:
        return []
    return [
        f"on all {right.size} parts, {divided.sum()} of them judged now so and now so, the reference is what most judgements say: ask whether it "
        "was known before them; made of them it cannot show what everyone gets wrong"
    ]


def names_doubted(table: pd.DataFrame | None) -> tuple[str, ...]:
    """Tell of names of parts and people that may mean one, and of part numbers that are in no row.

    Parameters
    ----------
    table : pandas.DataFrame or None
        Readings or judgements of a study, one a row.

    Returns
    -------
    tuple of str
        Sentences; none where names and numbers are as they should be.

    Examples
    --------
    >>> import pandas as pd
    >>> names_doubted(pd.DataFrame({"part": ["1", "2", "3", "4", "7", "8"]}))
    ('The parts are numbered from 1 to 8, and 2 of these numbers are in no row (5, 6): what became of these parts must be explained.',)
    """
    if table is None:
        return ()
    said = []
    several_ways = {
        "part": parts_named_several_ways,
        "appraiser": people_named_several_ways,
        "factor": named_several_ways,
    }
    for column, kind in (("part", "Parts"), ("appraiser", "Appraisers"), ("factor", "Levels")):
        if column not in table:
            continue
        names = [str(name) for name in table[column].dropna().unique()]
        groups = several_ways[column](names)
        if groups:
            listed = "; ".join(", ".join(group) for group in groups[:_SHOWN])
            more = f" and {len(groups) - _SHOWN} more" if len(groups) > _SHOWN else ""
            said.append(f"{kind} whose names may mean one count as several: {listed}{more}.")
        elif column == "part":
            said += _numbers_missing(names)
    return (*said, *_nothing_shared(table))


def _nothing_shared(table: pd.DataFrame) -> list[str]:
    """Say whose parts nobody else read: the same parts may bear other names there."""
    if not {"part", "appraiser"} <= set(table) or table["appraiser"].nunique() < 2:
        return []
    read = {str(who): set(own.astype(str)) for who, own in table.groupby("appraiser")["part"]}
    alone = [
        who
        for who, own in read.items()
        if own.isdisjoint(set().union(*(of for other, of in read.items() if other != who)))
    ]
    if not alone:
        return []
    listed = "; ".join(
        f"{who}: {', '.join(sorted(read[who], key=natural_order)[:3])}, …" for who in alone[:_SHOWN]
    )
    return [
        f"Nobody else read or judged the parts of {' and '.join(alone[:_SHOWN])} ({listed}): where they are the same parts they must bear the "
        "same names."
    ]


def _numbers_missing(names: list[str]) -> list[str]:
    """Say which numbers are missing where parts are counted from one, or from nought."""
    read = [re.fullmatch(r"(\D*)0*(\d{1,6})", name.strip()) for name in names]
    if len(names) < _PARTS or not all(read) or len({one[1] for one in read if one}) > 1:
        return []
    numbers = {int(one[2]) for one in read if one}
    first, last = min(numbers), max(numbers)
    # Whoever begins with a gap and has others left out parts from one on; a block of later numbers is a study of its own.
    if len(numbers) < last - first + 1:
        first = min(first, 1)
    missing = sorted(set(range(first, last + 1)) - numbers)
    # Parts taken from a larger lot have numbers with large gaps, which say nothing.
    if not missing or first > 1 or last > 2 * len(numbers):
        return []
    listed = ", ".join(map(str, missing[:_SHOWN])) + (", …" if len(missing) > _SHOWN else "")
    which = "of these numbers is" if len(missing) == 1 else "of these numbers are"
    whose = "this part" if len(missing) == 1 else "these parts"
    return [
        f"The parts are numbered from {first} to {last}, and {len(missing)} {which} in no row ({listed}): what became of {whose} "
        "must be explained."
    ]


#: Chance that an earlier study repeats so much worse by accident, and how much worse in variance, from which on it is reported (common
#: practice): heavy tails alone pass the F test in two of a hundred honest pairs.
_WORSE, _CLEARLY = 0.001, 4.0


def earlier_studies(records: Records, key: str, gauge: str | None) -> list[str]:
    """Tell of crossed studies of the gauge that repeated worse than the last one, on which it is decided.

    Parameters
    ----------
    records : Records
    key : str
        Characteristic id.
    gauge : str or None
        Its id.

    Returns
    -------
    list of str
        One for each that is worse by an F test; where nothing of the gauge was changed the last study is the luckiest.
    """
    from scipy.stats import f

    studies = {} if gauge is None else records.occasions(key, gauge)
    spreads = {name: _repeatability(table) for name, table in studies.items()}
    if len(spreads) < 2:
        return []
    *before, (last, (variance, df)) = spreads.items()
    return [
        f"the crossed study {name} repeated {(own / variance) ** 0.5:.1f} times as far as the study {last}, on which it is decided: ask what was "
        "changed, and which parts were read before"
        for name, (own, freedom) in before
        if min(freedom, df) > 0
        and own > _CLEARLY * variance > 0
        and f.sf(own / variance, freedom, df) * len(before) < _WORSE
    ]


def _repeatability(table: pd.DataFrame) -> tuple[float, int]:
    """Estimate the variance of repeated readings of one part by one person, and its degrees of freedom."""
    by = [name for name in ("part", "appraiser", "factor") if name in table]
    cells = table.groupby(by, sort=False)["value"] if by else None
    if cells is None:
        return 0.0, 0
    df = len(table) - cells.ngroups
    return (float(((table["value"] - cells.transform("mean")) ** 2).sum()) / max(df, 1), df)
