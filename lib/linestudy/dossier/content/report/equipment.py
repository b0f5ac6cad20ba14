"""What was measured with, and by whom: gauges, masters, appraisers."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from linestudy.dossier.content.blocks import Block, Heading, Table
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation


def few(names: Iterable[str], most: int = 6) -> str:
    """Names in a row, the first of many.

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
    """Gauges, masters and appraisers, as far as the study names them.

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
                gauge.due or "",
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
                one.due or "",
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
    """Everybody whom a gauge study names, with what study.toml says of them."""
    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    told = {one.name: one for one in evaluation.study.file.appraiser}
    where: dict[str, dict[str, None]] = {name: {} for name in told}
    for source in evaluation.records.sources:
        if "appraiser" not in source.frame:
            continue
        what = gauges.get(source.data.gauge or "", "judgements")
        for name in dict.fromkeys(source.frame["appraiser"].dropna().astype(str)):
            where.setdefault(name, {})[what] = None
    if not told:
        groups: dict[str, list[str]] = {}
        for name, measured in where.items():
            groups.setdefault(", ".join(measured), []).append(name)
        return tuple((few(names, 12), title, "", "") for title, names in groups.items())
    rows = []
    for name, measured in where.items():
        one = told.get(name)
        rows.append(
            (
                name,
                ", ".join(measured),
                (one.role or "") if one else "",
                (one.training or "") if one else "",
            )
        )
    return tuple(rows[:24])
