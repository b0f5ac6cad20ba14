"""What was measured with, and by whom: gauges, masters, appraisers."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import TYPE_CHECKING

from linestudy.dossier.content.elements import Block, Heading, Table
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation


def few(names: Iterable[str], most: int = 6) -> str:
    """List names in one line; of many only the first, and how many there are.

    Parameters
    ----------
    names : iterable of str
    most : int

    Returns
    -------
    str
    """
    listed = list(names)
    more = f", … ({len(listed)})" if len(listed) > most else ""
    return ", ".join(listed[:most]) + more


def equipment(evaluation: Evaluation) -> list[Block]:
    """Lay out gauges, masters and appraisers, as far as the study names them.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of Block
    """
    gauges = evaluation.study.gauges
    if not gauges:
        return _masters_and_people(evaluation)
    rows = []
    for gauge in gauges:
        unit = f" {gauge.unit}" if gauge.unit else ""
        share = f" (k = {gauge.coverage:g})" if gauge.expanded_uncertainty else ""
        rows.append(
            (
                gauge.name,
                gauge.serial or "",
                f"{as_given(gauge.resolution)}{unit}" if gauge.resolution else "",
                f"{as_given(gauge.range[0])} to {as_given(gauge.range[1])}{unit}"
                if gauge.range
                else "",
                f"{as_given(gauge.expanded_uncertainty)}{unit}{share}"
                if gauge.expanded_uncertainty
                else "",
                gauge.certificate or "",
                _due(gauge.due, first_day(evaluation)),
            )
        )
    head = (
        "equipment",
        "serial no.",
        "resolution",
        "range",
        "U of calibration",
        "certificate",
        "due",
    )
    return [
        Heading("Equipment", 2),
        Table(
            "Equipment that was measured with",
            head,
            tuple(rows),
            (False,) * len(head),
            wide=(1, 5, 6),
        ),
        *_masters_and_people(evaluation),
    ]


def first_day(evaluation: Evaluation) -> datetime.date | None:
    """Return the day certificates must be valid on: the first of the run, else that of the submission.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    datetime.date or None
        None where no file has a clock and the submission no date that can be read.
    """
    return _first_of_run(evaluation) or _day(evaluation.study.head.date)


def _first_of_run(evaluation: Evaluation) -> datetime.date | None:
    for item in evaluation.study.characteristics:
        table = evaluation.records.table("run", item.id)
        if table is not None and "time" in table and table["time"].notna().any():
            begin: datetime.date = table["time"].min().date()
            return begin
    return None


def expired(evaluation: Evaluation) -> tuple[str, ...]:
    """List gauges and masters whose certificate had expired when the run began.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    tuple of str
    """
    begin = first_day(evaluation)
    when = "run" if begin == _first_of_run(evaluation) else "submission"
    named = [(one.name, one.due) for one in evaluation.study.gauges]
    named += [(one.name, one.due) for one in evaluation.study.file.master]
    return tuple(
        f"{name}: the certificate was due on {due}, before the {when}: calibrate, and say what was found."
        for name, due in named
        if _is_over(due, begin)
    )


def _due(text: str | None, begin: datetime.date | None) -> str:
    return f"{text}, expired" if _is_over(text, begin) else text or ""


def _is_over(text: str | None, begin: datetime.date | None) -> bool:
    day = _day(text)
    return day is not None and begin is not None and day < begin


def _day(text: str | None) -> datetime.date | None:
    """Read a day written as 2026-03-31; return None for any other writing, which is shown but not compared."""
    try:
        return datetime.date.fromisoformat((text or "").strip())
    except ValueError:
        return None


def _masters_and_people(evaluation: Evaluation) -> list[Block]:
    file = evaluation.study.file
    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    names = {item.id: item.name for item in evaluation.study.characteristics}
    blocks: list[Block] = []
    if file.master:
        masters = tuple(
            (
                one.name,
                gauges.get(one.gauge or "", ""),
                names.get(one.characteristic or "", ""),
                one.expanded_uncertainty or "",
                one.certificate or "",
                _due(one.due, first_day(evaluation)),
            )
            for one in file.master
        )
        head = ("master", "for", "characteristic", "U", "certificate", "due")
        blocks.append(Table("Masters", head, masters, (False,) * 6))
    people = _people(evaluation)
    if people:
        titles = ("appraisers", "measured or judged", "role", "training")
        blocks.append(Table("Appraisers", titles, people, (False,) * 4, wide=(2, 3)))
    return blocks


def _people(evaluation: Evaluation) -> tuple[tuple[str, str, str, str], ...]:
    """List everybody whom a gauge study names, with what study.toml says of them."""
    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    declared = {one.name: one for one in evaluation.study.file.appraiser}
    where: dict[str, dict[str, None]] = {name: {} for name in declared}
    for source in evaluation.records.sources:
        if "appraiser" not in source.frame:
            continue
        what = gauges.get(source.data.gauge or "", "judgements")
        for name in dict.fromkeys(source.frame["appraiser"].dropna().astype(str)):
            where.setdefault(name, {})[what] = None
    if not declared:
        groups: dict[str, list[str]] = {}
        for name, measured in where.items():
            groups.setdefault(", ".join(measured), []).append(name)
        return tuple((few(names, 12), title, "", "") for title, names in groups.items())
    rows = []
    for name, measured in where.items():
        one = declared.get(name)
        rows.append(
            (
                name,
                ", ".join(measured),
                (one.role or "") if one else "",
                (one.training or "") if one else "",
            )
        )
    return tuple(rows[:24])
