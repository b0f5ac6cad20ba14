"""The first two pages: the decision sheet, and how everything was measured and sampled."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content import prose
from linestudy.dossier.content.elements import (
    Album,
    Block,
    Bullets,
    Contents,
    Fields,
    Heading,
    Signatures,
    Table,
    Text,
)
from linestudy.dossier.content.report.back import layout, limits_that_differ
from linestudy.dossier.content.report.decided import requests, results
from linestudy.dossier.content.report.equipment import equipment, expired, few
from linestudy.dossier.content.sheet import BLANK, Sheet
from linestudy.dossier.doubts import covers_a_point, stretch_of
from linestudy.results import Absent
from linestudy.results.rounding import alike
from linestudy.verdict import resolve
from linestudy.verdict.conditions import lines_of
from linestudy.verdict.rulings import MEETS

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.events import Cause


def decision_sheet(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    """Lay out the decision sheet: identification, results, requests, actions, conditions, signatures.

    Parameters
    ----------
    evaluation : Evaluation
    known : tuple of Sheet

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = [Fields(_identification(evaluation), 4), results(known)]
    blocks += [Heading("Asked of the customer", 2), *requests(evaluation, known)]
    blocks += [Heading("Actions", 2), _actions(evaluation, known)]
    blocks += [Heading("Conditions", 2), *_conditions(evaluation)]
    blocks += [Text(prose.RELEASED_BY), Signatures(prose.RELEASE)]
    return blocks


def _identification(evaluation: Evaluation) -> tuple[tuple[str, str], ...]:
    head, submission, line = (
        evaluation.study.head,
        evaluation.study.file.identification,
        evaluation.study.file.line,
    )
    run = run_facts(evaluation)
    made, rejected = counted_parts(evaluation)
    named = (
        ("Part", head.part),
        ("Drawing", submission.drawing),
        ("Revision", head.known_revision),
        ("Drawing date", submission.drawing_date),
        ("Supplier", head.supplier),
        ("Supplier code", submission.supplier_code),
        ("Customer", head.customer),
        ("Order", submission.order),
        ("Reason of submission", submission.reason),
        ("Level", submission.level),
        ("Engineering change", submission.change),
        ("Lot", submission.lot),
        ("Press", line.press),
        ("Die", line.die),
        ("Material", line.material),
        ("Date of submission", head.date),
        ("Run", run.get("time", "")),
        ("Coils", run.get("coils", "")),
        ("Stations", run.get("stations", "")),
        ("Strokes", run.get("strokes", "")),
        ("Parts made", made),
        ("Parts rejected", rejected),
        ("Shift", line.shift),
        ("Operators", line.operators),
    )
    return tuple((name, value or "") for name, value in named)


def run_facts(evaluation: Evaluation) -> dict[str, str]:
    """Collect times, coils, stations and strokes of the run, as far as its files name them.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    dict of str to str
        Keys ``time``, ``coils``, ``stations``, ``strokes``.
    """
    for item in evaluation.study.characteristics:
        table = evaluation.records.table("run", item.id)
        if table is None or not len(table):
            continue
        found = {}
        if "time" in table and table["time"].notna().any():
            begin, end = table["time"].min(), table["time"].max()
            found["time"] = _stretch_of_time(begin, end)
        for key, column in (("coils", "coil"), ("stations", "station")):
            if column in table and table[column].notna().any():
                found[key] = few(dict.fromkeys(table[column].dropna().astype(str)))
        if "order" in table and table["order"].notna().any():
            found["strokes"] = f"{table['order'].min():,.0f} to {table['order'].max():,.0f}"
        return found
    return {}


def _stretch_of_time(begin: Any, end: Any) -> str:
    first, last = (str(one)[:16].replace("T", " ") for one in (begin, end))
    return f"{first} to {last[11:] if last[:10] == first[:10] else last}"


def counted_parts(evaluation: Evaluation) -> tuple[str, str]:
    """Return parts made and rejected: counted by the bins, else as study.toml says."""
    line = evaluation.study.file.line
    table = evaluation.records.table("bins")
    if table is not None and {"accepted", "rejected"} <= set(table):
        rejected = int(table["rejected"].sum())
        made = rejected + int(table["accepted"].sum())
        made += int(table["purged"].sum()) if "purged" in table else 0
        return f"{made:,} (bins)", f"{rejected:,} (bins)"
    return tuple("" if n is None else f"{n:,}" for n in (line.made, line.rejected))  # type: ignore[return-value]


def _conditions(evaluation: Evaluation) -> list[Block]:
    """Write what is beside the decisions, and what to compare with records of one's own."""
    verdict: Any = evaluation.findings.get(None, "verdict")
    masters = [
        f"{item.name} {_from_to(item.facts.record.masters, item.facts.unit)}"
        for item in verdict.verdicts.values()
        if item.facts.record.masters
    ]
    compare = prose.COMPARE_RUN if run_facts(evaluation) else prose.COMPARE
    compare += f" Masters as certified: {', '.join(masters)}." if masters else ""
    study = layout(evaluation)
    differ = limits_that_differ(evaluation, study.dimensions) if study else ()
    differ = tuple(f"Dimensional results: {one}" for one in differ)
    return [Bullets("", (*expired(evaluation), *differ, *verdict.conditions, compare))]


def _from_to(values: tuple[float, ...], unit: str) -> str:
    low, high = alike((min(values), max(values)))
    return f"{low if low == high else f'{low} to {high}'} {unit}".rstrip()


def _own_records(evaluation: Evaluation) -> list[Block]:
    """Tabulate what the reader can compare with records of their own: by characteristic, then of the study."""
    verdict: Any = evaluation.findings.get(None, "verdict")
    found = [tuple(str(cell) for cell in row) for row in verdict.own_records.to_numpy()]
    of = [what for what, _, _ in found]
    differing = list(dict.fromkeys(what for what in of if of.count(what) > 1))
    each = {
        one.facts.name: {what: value for what, value, _ in lines_of(one.facts)}
        for one in verdict.verdicts.values()
    }
    blocks: list[Block] = []
    if differing:
        rows = tuple(
            (name, *(own.get(what, BLANK) for what in differing))
            for name, own in each.items()
            if own.keys() & set(differing)
        )
        head = ("name", *differing)
        blocks.append(
            Table(
                prose.OWN_OF_EACH,
                head,
                rows,
                (False,) * len(head),
                small=True,
                wide=_by_width(rows),
            )
        )
    common = tuple(row for row in found if row[0] not in differing)
    if common:
        head = ("to compare", "in this study", "with")
        blocks.append(Table(prose.OWN_RECORDS, head, common, (False,) * 3, small=True, wide=(1,)))
    return blocks


def _by_width(rows: tuple[tuple[str, ...], ...]) -> tuple[int, ...]:
    """Give each column but the first, which is as wide as it needs, a share of the line by its longest text."""
    longest = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return tuple(
        at for at, size in enumerate(longest) for _ in range(max(1, round(size / 4))) if at
    )


def _actions(evaluation: Evaluation, known: tuple[Sheet, ...]) -> Table:
    named = {one.item.id: one.name for one in known}
    rows = [
        (
            named.get(entry.characteristic or "", "all"),
            entry.action,
            entry.by or "",
            entry.done or entry.date or "",
        )
        for entry in evaluation.study.file.action
    ]
    rows += [
        (
            named.get(entry.characteristic or "", "all"),
            _cause(evaluation, entry),
            entry.by,
            entry.date or "",
        )
        for entry in evaluation.study.file.cause
    ]
    explained = {row[0] for row in rows}
    open_ones = [
        one.name
        for one in known
        if one.decision != MEETS and one.name not in explained and "all" not in explained
    ]
    # Lines to write on: of many characteristics each names its own by hand.
    named_lines = open_ones if len(open_ones) <= _MOST_LINES else [""] * _MOST_LINES
    rows += [(name, "", "", "") for name in named_lines]
    if not rows:
        rows = [("", "", "", ""), ("", "", "", "")]
    return Table(
        "",
        ("characteristic", "cause and action", "by", "until"),
        tuple(rows),
        (False,) * 4,
        small=True,
        wide=(1,) * 6 + (2,) * 2 + (3,) * 2,
    )


def _cause(evaluation: Evaluation, entry: Cause) -> str:
    """Write a cause with the points it is to explain, and that there are none where it covers none."""
    none = "" if covers_a_point(evaluation, entry) else "; no point out of control begins there"
    return f"{entry.cause} ({stretch_of(entry)}{none}): {entry.action}"


#: Blank lines of actions on the decision sheet, which has to stay one page.
_MOST_LINES = 5


def measured_and_sampled(
    evaluation: Evaluation, known: tuple[Sheet, ...], album: Album
) -> list[Block]:
    """Lay out decisions as a picture, equipment, people, sampling and a short data record.

    Parameters
    ----------
    evaluation : Evaluation
    known : tuple of Sheet
    album : Album

    Returns
    -------
    list of Block
    """
    blocks: list[Block] = [*_decisions_drawn(evaluation, known, album), *equipment(evaluation)]
    blocks += [Heading("Sampling", 2), Fields(_sampling(evaluation), 2)]
    blocks += [Heading("Data record", 2), Text(" ".join(_record(evaluation)))]
    blocks += _own_records(evaluation)
    blocks += [Heading("Contents", 2), Contents()]
    return blocks


def _decisions_drawn(evaluation: Evaluation, known: tuple[Sheet, ...], album: Album) -> list[Block]:
    from linestudy.figures.report.against import decisions

    rows = []
    for one in known:
        if isinstance(one.verdict.facts.index, Absent):
            continue
        criteria = resolve(evaluation.study.criteria, one.item)
        asked = criteria["capability_review"].number, criteria["capability_accept"].number
        rows.append((one.name, one.verdict.facts.index.interval, one.decision, asked))
    if not rows:
        return []
    differ = len({asked for *_, asked in rows}) > 1
    alt = "; ".join(
        f"{one.name}: {one.Ppk} (at least {one.bound}), {one.decision}"
        for one in known
        if one.Ppk != BLANK
    )
    return album.take(
        "decisions",
        partial(decisions, tuple(rows)),
        alt,
        question="Is each index above what is asked, and what else decides?",
        answer=prose.DECISIONS + (f" {prose.OWN_CRITERIA}" if differ else ""),
    )


def _sampling(evaluation: Evaluation) -> tuple[tuple[str, str], ...]:
    line = evaluation.study.file.line
    plans = []
    for item in evaluation.study.characteristics:
        plan = evaluation.records.subgroups(item.id)
        if plan is not None:
            every = f" every {plan.every:,} strokes" if plan.every else ""
            plans.append(f"subgroups of {plan.size} neighbouring parts{every}")
    every_part = _share_measured(evaluation) if plans else ""
    named = (
        (
            "Parts of the run",
            line.sampling or "; ".join(dict.fromkeys(filter(None, (every_part, *plans)))),
        ),
        ("Parts of the gauge studies", line.gauge_parts or ""),
        ("Surroundings", line.surroundings or ""),
        ("Deviations", line.deviations or ""),
    )
    return named


def _share_measured(evaluation: Evaluation) -> str:
    """Say how many of the parts made during the run have a reading, where strokes are counted."""
    for item in evaluation.study.characteristics:
        table = evaluation.records.table("run", item.id)
        if table is None or "order" not in table or not table["order"].notna().any():
            continue
        strokes = int(table["order"].max() - table["order"].min()) + 1
        made = strokes * int(table.attrs.get("parts_per_stroke", 1))
        if len(table) >= _NEARLY_ALL * made:
            return "every part was measured"
        return f"{len(table):,} of {made:,} parts were measured"
    return ""


#: Share of the parts from which on all count as measured; the data record has what is missing.
_NEARLY_ALL = 0.98


def _record(evaluation: Evaluation) -> tuple[str, ...]:
    ledger = evaluation.records.ledger
    reasons: dict[str, int] = {}
    seen = set()
    for account in ledger.accounts:
        if account.file in seen:
            continue
        seen.add(account.file)
        for reason, rows in account.set_aside.items():
            reasons[reason] = reasons.get(reason, 0) + rows
    listed = "; ".join(f"{reason} ({rows:,})" for reason, rows in list(reasons.items())[:3])
    return (f"{ledger.statement}{f' Excluded: {listed}.' if listed else ''}",)
