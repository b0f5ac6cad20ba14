"""The table of results with its decisions, and what is asked of the customer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.dossier.content import prose
from linestudy.dossier.content.elements import Block, Bullets, Table, Text
from linestudy.dossier.content.report.adequacy import OF_STUDIES
from linestudy.dossier.content.report.back import layout, limits_in_words
from linestudy.dossier.content.report.equipment import few
from linestudy.dossier.content.sheet import BLANK, Sheet, places_of
from linestudy.records.across.dimensions import NOT_MEASURED, OUTSIDE
from linestudy.results import Absent, Interval, show
from linestudy.results.rounding import alike, show_ppm, signed
from linestudy.results.tables import listed, named
from linestudy.verdict.rulings import APPROVAL, FAILS, NONE, SUPPORTS, UNKNOWN

if TYPE_CHECKING:
    from linestudy.capability import PositionStudy
    from linestudy.capability.whole_part.layout_study import DimensionResult
    from linestudy.dossier.evaluation import Evaluation


def results(known: tuple[Sheet, ...]) -> Table:
    """Tabulate one row for each characteristic, the decision with its reason below it.

    Parameters
    ----------
    known : tuple of Sheet

    Returns
    -------
    Table
    """
    numbered = any(one.number for one in known)
    index = _index_column(known)
    head = (
        *(("no.",) if numbered else ()),
        "characteristic",
        "limits",
        "n",
        "mean",
        "SD",
        "Pp",
        index,
        "bound",
        "stream",
        "ppm",
        "%GRR",
        "ndc",
        "out (exp.)",
        "distribution",
    )
    rows, below = [], []
    for one in known:
        name = f"{one.name} ◆" if one.special else one.name
        rows.append(
            (
                *((one.number,) if numbered else ()),
                name,
                one.limits,
                one.n,
                one.mean,
                one.sd,
                one.Pp,
                one.Ppk,
                one.bound,
                one.stream,
                one.ppm,
                one.grr,
                one.ndc,
                one.control,
                one.distribution,
            )
        )
        below.append(f"{one.decision}{f': {one.reason}' if one.reason else ''}{_beside(one)}")
    numeric = tuple(
        name in ("n", "mean", "SD", "Pp", index, "bound", "ppm", "%GRR", "ndc", "out (exp.)")
        for name in head
    )
    # What is known of no characteristic takes no column.
    kept = [at for at in range(len(head)) if any(row[at] != BLANK for row in rows)]
    shown = {head[at] for at in kept}
    worst = " of the worst stream" if "stream" in shown else ""
    legend = [
        text.format(index=index, worst=worst, confidence=known[0].confidence)
        for column, text in prose.MATRIX
        if column.format(index=index) in shown
    ]
    if any(one.special for one in known):
        legend.insert(0, prose.SPECIAL)
    caption = "; ".join(legend)
    return Table(
        f"Results ({caption})" if caption else "Results",
        tuple(head[at] for at in kept),
        tuple(tuple(row[at] for at in kept) for row in rows),
        tuple(numeric[at] for at in kept),
        tuple(below),
        small=True,
        # Under a table of few columns the line of the decision is the widest; the names take that width.
        wide=(kept.index(head.index("characteristic")),) if kept and numeric[kept[-1]] else (),
    )


def _index_column(known: tuple[Sheet, ...]) -> str:
    """Name the column of the index: Ppk of processes, Pmk of machines, or both."""
    names = dict.fromkeys(one.index for one in known if one.Ppk != BLANK)
    return ", ".join(names) or "Ppk"


def _beside(one: Sheet) -> str:
    """Write numbers that a decision rests on and that no column of the table holds."""
    judged, gauge = one.verdict.facts.judgement, one.verdict.facts.gauge
    if one.verdict.facts.kind == "judgement":
        said = [
            f"{name} {100 * value.estimate:.1f} %"
            for name, value in (
                ("effectiveness", judged.effectiveness),
                ("miss", judged.miss),
                ("false alarm", judged.false_alarm),
            )
            if isinstance(value, Interval)
        ]
        if isinstance(judged.kappa, Interval):
            said.append(f"kappa {judged.kappa.estimate:.2f}")
        return f" (worst appraiser: {', '.join(said)})" if said else ""
    if one.verdict.facts.kind != "gauge":
        return ""
    # No run of the parts is in the folder: the decision says nothing of them.
    said = ["the measurement system alone"]
    said += [f"bias at {where} {signed(value, one.unit)}" for where, value in gauge.bias.items()]
    if gauge.drift is not None:
        said.append(f"drift {signed(gauge.drift, one.unit)}")
    if gauge.q_mp is not None:
        said.append(f"Q_MP {100 * gauge.q_mp.estimate:.1f} %")
    return f" ({'; '.join(said)})"


def by_the_ellipse(placed: PositionStudy, sheet: Sheet) -> str:
    """Name the index of the ellipse and the one that decides: there are two of a position.

    Parameters
    ----------
    placed : PositionStudy
    sheet : Sheet

    Returns
    -------
    str
    """
    ppm = show_ppm(placed.expected_ppm)
    said = f"By the ellipse Ppk = {show(placed.Ppk)}, {ppm} ppm outside: supplementary"
    if isinstance(sheet.verdict.facts.index, Absent):
        return f"{said}."
    return f"{said}; {sheet.index} = {sheet.Ppk} of the distances from the true position decides."


def requests(evaluation: Evaluation, known: tuple[Sheet, ...]) -> list[Block]:
    """Lay out what is asked of the customer for characteristics that do not simply meet their requirement.

    Parameters
    ----------
    evaluation : Evaluation
    known : tuple of Sheet

    Returns
    -------
    list of Block
    """
    found: dict[str, list[str]] = {}
    for one in known:
        what = _asked_for(evaluation, one)
        if what:
            found.setdefault(what, []).append(one.name)
    asked = [f"{_whom(names, known)}: {what}." for what, names in found.items()]
    asked += [*_of_the_record(known), *_of_the_layout(evaluation)]
    if not asked:
        return [Text("Nothing: every characteristic meets its requirement.")]
    return [Bullets("", tuple(asked))]


def _whom(names: list[str], known: tuple[Sheet, ...]) -> str:
    """Name those a request is about; "All characteristics" instead of a long list of all."""
    return "All characteristics" if 3 < len(names) == len(known) else listed(names)


def _asked_for(evaluation: Evaluation, one: Sheet) -> str:
    """Word the request for one characteristic the same way for all of its kind; the table says why."""
    if one.decision == APPROVAL:
        return "approval, or agreement on what else is to be shown"
    if one.decision == FAILS and one.verdict.facts.kind == "gauge":
        return "agreement on how parts are measured until the measurement system is improved and studied again"
    if one.decision == FAILS:
        return (
            f"agreement on containment until the action is shown to work{_moved(evaluation, one)}"
        )
    if one.decision == UNKNOWN and _not_adequate(one):
        return (
            "nothing yet; the measurement system will be improved, and study and readings repeated"
        )
    if one.decision == UNKNOWN:
        return "nothing yet; the evidence that is missing will be submitted"
    return ""


def _of_the_record(known: tuple[Sheet, ...]) -> list[str]:
    """List what must be explained or approved of records and criteria, worded as the rule words it."""
    found: dict[str, list[str]] = {}
    for one in known:
        for ruling in one.verdict.rulings:
            of_record = ruling.group in ("record", "criteria") and ruling.rule not in OF_STUDIES
            if of_record and ruling.effect not in (NONE, SUPPORTS):
                found.setdefault(ruling.reason, []).append(one.name)
    return [f"{_whom(names, known)}: {reason}" for reason, names in found.items()]


def _not_adequate(one: Sheet) -> bool:
    """Check whether the measurement system was studied and found not adequate."""
    return isinstance(one.verdict.facts.gauge.share, Interval) and any(
        ruling.rule == "gauge spread" and ruling.effect == UNKNOWN for ruling in one.verdict.rulings
    )


def _of_the_layout(evaluation: Evaluation) -> list[str]:
    """List dimensions outside their limits, and those not measured, for the customer."""
    study = layout(evaluation)
    found = study.dimensions if study else ()
    asked = []
    for result, text in (
        (OUTSIDE, "approval of the deviation of {}"),
        (NOT_MEASURED, "nothing yet for {}; it will be measured and submitted"),
    ):
        names = [_dimension(one) for one in found if one.result == result]
        if names:
            asked.append(
                f"Dimensional results: {text.format('; '.join(names[:_MOST_DIMENSIONS]))}."
            )
        if len(names) > _MOST_DIMENSIONS:
            asked[-1] = f"{asked[-1][:-1]} and {len(names) - _MOST_DIMENSIONS:,} more."
    return asked


#: Dimensions outside their limits that are named on the decision sheet.
_MOST_DIMENSIONS = 4


def _dimension(one: DimensionResult) -> str:
    """Write a dimension by number and name; outside its limits, also its values and these limits."""
    named = f"{f'no. {one.number} ' if one.number else ''}{one.name}".strip()
    if one.result != OUTSIDE or not one.values:
        return named
    unit = f" {one.unit}" if one.unit else ""
    limits = limits_in_words(one.lower, one.upper)
    return f"{named} ({few(alike(one.values), 4)}{unit}; allowed: {limits}{unit})"


def _moved(evaluation: Evaluation, one: Sheet) -> str:
    """Say what the study knows of the cause: stations whose means differ."""
    from linestudy.stability.movement.streams_finding import StreamStudy

    found = evaluation.findings.get(one.item.id, "stability", "stations")
    width = one.verdict.facts.gauge.width
    if not isinstance(found, StreamStudy) or not found.pairs or not width:
        return ""
    widest = max(found.pairs, key=lambda pair: abs(pair.difference.estimate))
    gap = widest.difference
    if gap.low <= 0 <= gap.high:
        return ""
    gap = gap.times(-1) if gap.estimate < 0 else gap
    # As the means themselves are printed: nothing finer than a tenth of the gauge's step.
    places = places_of(evaluation, one.item, gap.half_width)
    size, low, high = (f"{end:,.{places}f}" for end in (gap.estimate, gap.low, gap.high))
    unit = f" {one.unit}" if one.unit else ""
    first, second = (named("station", name) for name in (widest.first, widest.second))
    return (
        f"; the means of {first} and {second} differ by {size} ({low} to {high}){unit}, "
        f"{100 * gap.estimate / width:.0f} % of the tolerance"
    )
