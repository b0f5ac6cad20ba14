"""Take every run of a study through charts, serial correlation, sources and time model."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from linestudy.core import CannotJudge, Findings
from linestudy.stability.charts import ChartStudy, chart
from linestudy.stability.serial import SerialStudy, serial
from linestudy.stability.sources import SourcesStudy, sources
from linestudy.stability.time_model import TimeModel, time_model

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def evaluate(study: Study, records: Records, findings: Findings | None = None) -> Findings:
    """Evaluate whether the process holds still, for every characteristic with a run.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings, optional
        Ignored: stability needs no gauge findings.

    Returns
    -------
    Findings
        At ``("stability",)`` and below it ``serial``, ``sources``, ``time_model``; where
        study.toml sets periods aside, ``with_set_aside`` holds the chart of all parts.

    Examples
    --------
    See ``notebooks/submission/4_stability.ipynb``.
    """
    new = Findings()
    for item in study.characteristics:
        table = records.table("run", item.id)
        if table is None:
            continue
        kept = table[~table["set_aside"]] if "set_aside" in table else table
        resets = resets_of(study, item)
        new.attempt(item.id, ("stability",), "Control chart", partial(_chart, study, item, kept))
        new.attempt(
            item.id,
            ("stability", "serial"),
            "Serial correlation",
            partial(_serial, study, item, kept),
        )
        new.attempt(
            item.id,
            ("stability", "sources"),
            "Sources of variation",
            partial(_sources, study, item, kept, resets),
        )
        new.attempt(
            item.id,
            ("stability", "time_model"),
            "Time-dependent model",
            partial(_time_model, kept, resets),
        )
        if len(kept) < len(table):
            new.attempt(
                item.id,
                ("stability", "with_set_aside"),
                "Control chart with the periods set aside",
                partial(_chart, study, item, table),
            )
    return new


def resets_of(study: Study, item: Characteristic) -> tuple[float, ...]:
    """Events named for this characteristic alone: there its drift or wear starts anew."""
    return tuple(
        float(event.at)
        for event in study.events
        if event.at is not None and event.characteristic == item.id
    )


def _chart(study: Study, item: Characteristic, table: pd.DataFrame) -> ChartStudy:
    return chart(
        table["value"], table["subgroup"], table["order"], study.confidence, unit=item.unit or ""
    )


def _serial(study: Study, item: Characteristic, table: pd.DataFrame) -> SerialStudy:
    return serial(table["value"], study.line_rate, study.confidence, unit=item.unit or "")


def _sources(
    study: Study, item: Characteristic, table: pd.DataFrame, resets: tuple[float, ...]
) -> SourcesStudy:
    return sources(
        table, resets=resets, confidence=study.confidence, seed=study.seed, unit=item.unit or ""
    )


def _time_model(table: pd.DataFrame, resets: tuple[float, ...]) -> TimeModel:
    if table["subgroup"].isna().all():
        raise CannotJudge("The study takes no subgroups from the run, so movement is not judged.")
    batch = table.get("coil")
    return time_model(table["value"], table["subgroup"], table["order"], batch, resets)
