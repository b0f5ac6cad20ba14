"""Whether the measurement system is adequate: one picture against what is allowed, and what the rules say."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.dossier.content.elements import Album, Block, Bullets, Heading, Text, from_frame
from linestudy.dossier.content.sheet import Sheet
from linestudy.gauges import AttributeStudy, CrossedStudy
from linestudy.results import Interval
from linestudy.verdict import resolve
from linestudy.verdict.rulings import NONE, SUPPORTS

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.dossier.evaluation import Evaluation

#: Rules on the record of a gauge study, whose objections are shown with its findings.
OF_STUDIES = ("gauge study as measured", "names of parts and people")


def said(sheet: Sheet, *groups: str) -> tuple[str, ...]:
    """List the rulings of these groups, leaving out those without evidence.

    Parameters
    ----------
    sheet : Sheet
    *groups : str

    Returns
    -------
    tuple of str
    """
    return tuple(
        ruling.reason
        for ruling in sheet.verdict.rulings
        if ruling.group in groups and ruling.effect != NONE
    )


def not_judged(sheet: Sheet, rule: str) -> tuple[str, ...]:
    """Say why a rule had nothing to judge; nothing where it had.

    Parameters
    ----------
    sheet : Sheet
    rule : str

    Returns
    -------
    tuple of str
    """
    rulings = sheet.verdict.rulings
    return tuple(one.reason for one in rulings if one.rule == rule and one.effect == NONE)


def measurement(evaluation: Evaluation, sheet: Sheet, album: Album) -> list[Block]:
    """Lay out what the report says of the measurement system of one characteristic.

    Parameters
    ----------
    evaluation : Evaluation
    sheet : Sheet
    album : Album

    Returns
    -------
    list of Block
    """
    reasons = said(sheet, "measurement system", "judgement") + tuple(
        ruling.reason
        for ruling in sheet.verdict.rulings
        if ruling.rule in OF_STUDIES and ruling.effect not in (NONE, SUPPORTS)
    )
    blocks: list[Block] = []
    judged = evaluation.findings.get(sheet.item.id, "attribute")
    if isinstance(judged, AttributeStudy):
        blocks += _judgements(evaluation, sheet, judged, album)
    rows, marks, label = _shares(evaluation, sheet)
    if rows:
        from linestudy.figures.report.against import shares

        blocks += album.take(
            f"{sheet.item.id} measurement",
            partial(shares, rows, marks, label=label),
            "; ".join(f"{name}: {value.estimate:.1f} %" for name, value, _ in rows),
            50,
            question=f"How large are the measurement errors of {sheet.verdict.facts.gauge.name}?",
            answer="Bar: interval. Upright mark: what is allowed of it.",
        )
        reasons = _said_once(reasons, sheet.verdict.facts.gauge.name)
    if reasons:
        blocks.append(Bullets("", reasons))
    return [Heading("Is the measurement system adequate?", 2), *blocks] if blocks else []


def _said_once(reasons: tuple[str, ...], gauge: str) -> tuple[str, ...]:
    """Drop the gauge's name before each reason where the picture beside bears it."""
    found = (reason.removeprefix(f"{gauge}: ") for reason in reasons)
    return tuple(
        f"{one[:1].upper()}{one[1:]}" if not one.startswith("ndc") else one for one in found
    )


def _shares(
    evaluation: Evaluation, sheet: Sheet
) -> tuple[tuple[tuple[str, Interval, float | None], ...], tuple[tuple[float, str], ...], str]:
    """Collect the rows of the picture of the measurement system, in percent."""
    gauge, criteria = sheet.verdict.facts.gauge, resolve(evaluation.study.criteria, sheet.item)
    label = f"% {gauge.of_what}"
    rows: list[tuple[str, Interval, float | None]] = []
    marks: tuple[tuple[float, str], ...] = ()
    if isinstance(gauge.share, Interval):
        accept, review = (100 * criteria[key].number for key in ("grr_accept", "grr_review"))
        marks = ((accept, f"{accept:g} %"), (review, f"{review:g} %"))
        rows.append(("GRR", gauge.share.times(100), None))
        crossed = _crossed_of(evaluation, sheet)
        if crossed is not None:
            of_tolerance = gauge.share_of == "tolerance"
            for key, name in (("repeatability", "EV"), ("reproducibility", "AV")):
                part = crossed.components.get(key)
                value = (
                    (part.share_of_tolerance if of_tolerance else part.share_of_sd)
                    if part
                    else None
                )
                if isinstance(value, Interval):
                    rows.append((name, value.times(100), None))
    if gauge.width and gauge.share_of == "tolerance":
        rows += _against_width(gauge, criteria)
    return tuple(rows), marks, label


def _crossed_of(evaluation: Evaluation, sheet: Sheet) -> CrossedStudy | None:
    names = {gauge.name: gauge.id for gauge in evaluation.study.gauges}
    found = evaluation.findings.get(
        sheet.item.id, "gauges", names.get(sheet.verdict.facts.gauge.name, ""), "crossed"
    )
    return found if isinstance(found, CrossedStudy) else None


def _against_width(gauge: Any, criteria: Any) -> list[tuple[str, Interval, float | None]]:
    rows: list[tuple[str, Interval, float | None]] = []
    factor = 100 / gauge.width
    if gauge.bias:
        where, worst = max(
            gauge.bias.items(), key=lambda pair: max(abs(pair[1].low), abs(pair[1].high))
        )
        rows.append(
            (
                f"bias, {where.removeprefix('the ')}",
                _size(worst).times(factor),
                100 * criteria["bias_share"].number,
            )
        )
    if gauge.drift is not None:
        rows.append(
            (
                "drift between resets",
                _size(gauge.drift).times(factor),
                100 * criteria["drift_share"].number,
            )
        )
    for name, value, key in (("Q_MS", gauge.q_ms, "q_ms_max"), ("Q_MP", gauge.q_mp, "q_mp_max")):
        if value is not None:
            rows.append((name, value.times(100), 100 * criteria[key].number))
    return rows


def _size(value: Interval) -> Interval:
    """Turn an interval of a deviation into one of its absolute value."""
    low, high = sorted((abs(value.low), abs(value.high)))
    if value.low <= 0 <= value.high:
        low = 0.0
    return Interval(abs(value.estimate), low, high, value.confidence, value.method)


def _with_one_decimal(study: AttributeStudy) -> pd.DataFrame:
    """Tabulate a study with its rates to one decimal, because criteria differ by one per cent."""
    shown, numbers = study.shown(), study.table()
    for name in (one for one in map(str, shown) if one.endswith("(%)")):
        if f"{name} low" not in numbers:
            continue  # No rate of this kind is known of anybody.
        three = numbers[[name, f"{name} low", f"{name} high"]].to_numpy(float)
        shown[name] = [
            f"{best:.1f} ({low:.1f} to {high:.1f})" if best == best else ""
            for best, low, high in three
        ]
    return shown


#: Said under rates that no rule is applied to.
_BESIDE = (
    "The decision rests on readings of {gauge}; these judgements are supplementary and are held against no criterion. "
    "Where parts are sorted by them, they must meet the criteria of judgements first."
)


def _judgements(
    evaluation: Evaluation, sheet: Sheet, study: AttributeStudy, album: Album
) -> list[Block]:
    from linestudy.figures.report.measuring import verdicts_by_part

    table = evaluation.records.table("attribute", sheet.item.id)
    blocks: list[Block] = []
    if table is not None and "reference" in table and len(study.appraisers) <= 12:
        frame = table.assign(
            part=table["part"].astype(str),
            appraiser=table["appraiser"].astype(str)
            if "appraiser" in table
            else study.appraisers[0],
            right=(table["judgement"] == table["reference"]).astype(float),
        )
        truth = frame.groupby("part")["reference"].first().astype(bool)
        order = [*truth[truth].index, *truth[~truth].index]
        grid = frame.pivot_table(index="appraiser", columns="part", values="right", aggfunc="mean")
        grid = grid.reindex(columns=order)
        if len(order) <= 120:
            draw = partial(
                verdicts_by_part,
                grid.to_numpy(float),
                tuple(order),
                tuple(str(name) for name in grid.index),
                tuple(bool(one) for one in truth[order]),
            )
            blocks += album.take(
                f"{sheet.item.id} judgements",
                draw,
                study.statement,
                question="Which parts are judged wrongly, and by whom?",
                answer=study.statement,
            )
    shown = _with_one_decimal(study)
    people, *among = shown.columns[[0, -2, -1]]
    rates, pairs = shown[shown.iloc[:, 1] != ""], shown[shown[among[-1]] != ""]
    blocks.append(from_frame(f"{sheet.name}: rates of each appraiser", rates.drop(columns=among)))
    if len(pairs):
        kappas = pairs[[people, *reversed(among)]].rename(columns={people: "appraisers"})
        blocks.append(from_frame(f"{sheet.name}: agreement between appraisers", kappas))
    if sheet.verdict.facts.kind != "judgement":
        blocks.append(Text(_BESIDE.format(gauge=sheet.verdict.facts.gauge.name or "the gauge")))
    return blocks
