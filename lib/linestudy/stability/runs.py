"""What the run of one characteristic offers to the methods, whether its parts are at hand or only their sums.

The list of methods in ``evaluate`` asks a run, not a table: where parts are at hand a method gets them; a
line log answers the same questions out of its sums (``linestudy.linelog``), or says that it keeps no parts.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.strokes import in_subgroups
from linestudy.results import CannotJudge, Interval, counted
from linestudy.stability.charts.chart_study import ChartStudy
from linestudy.stability.charts.shewhart import control_chart, control_chart_of_summaries
from linestudy.stability.model.named_wear import without_wear
from linestudy.stability.model.time_dependent_model import TimeModelStudy, time_model
from linestudy.stability.movement.block_means import stretch_of, without_stations, without_stretches
from linestudy.stability.movement.change_point_search import ChangePointStudy, change_points
from linestudy.stability.movement.coil_levels import coils_of
from linestudy.stability.movement.nested_levels import VarianceComponentsStudy, variance_components
from linestudy.stability.movement.serial_correlation import AutocorrelationStudy, autocorrelation
from linestudy.stability.movement.sources import VarianceSourcesStudy, variance_sources
from linestudy.stability.movement.streams import compare_streams
from linestudy.stability.movement.streams_finding import StreamStudy
from linestudy.stability.movement.wear_rate import ToolWearStudy, tool_wear
from linestudy.stability.record_checks import require_sound
from linestudy.stability.said_of_run import (
    events_of,
    resets_at_coil_changes,
    resets_by_stream,
    resets_of,
    set_aside_notes,
    subgroups_of_stream,
)
from linestudy.stability.summaries import Summaries, summarise
from linestudy.study.model import Subgroup

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


class Run(ABC):
    """The run of one characteristic; each kind of run answers in its own way.

    Parameters
    ----------
    study : Study
    item : Characteristic
    stream : str, optional
        The one stream that it is of.

    Attributes
    ----------
    unit : str
    events : tuple of (float, str)
        Events of the whole line or of this characteristic: order number and name.
    resets : tuple of float
        Events named for this characteristic alone, or said to reset: there its drift or wear starts anew.
    has_parts : bool
        Whether single parts are at hand.
    set_aside : int
        Parts in periods that study.toml sets aside.
    notes : tuple of str
        What the chart says of them.
    parts_per_stroke : int
        Parts that one stroke of the tool makes.
    """

    has_parts = False
    set_aside = 0
    notes: tuple[str, ...] = ()
    parts_per_stroke = 1

    def __init__(self, study: Study, item: Characteristic, stream: str | None = None) -> None:
        self.study, self.item, self.unit = study, item, item.unit or ""
        self.events = events_of(study, item, stream)
        self.resets = resets_of(study, item, stream)

    @property
    def parts_per_minute(self) -> float | None:
        """Compute strokes per minute times parts per stroke, or None."""
        rate = self.study.line_rate
        return None if rate is None else rate * self.parts_per_stroke

    @cached_property
    def _grouped(self) -> Summaries | CannotJudge:
        """Form subgroups, or return why there are none; each method that asks gets the reason anew."""
        try:
            return self._summaries()
        except CannotJudge as stop:
            return stop

    def groups(self) -> Summaries:
        """Return summaries of the subgroups.

        Raises
        ------
        CannotJudge
            There are none.
        """
        if isinstance(self._grouped, CannotJudge):
            raise CannotJudge(self._grouped.reason)
        return self._grouped

    def chart(self, **choice: Any) -> ChartStudy:
        """Chart the subgroups."""
        return control_chart_of_summaries(
            self.groups(), confidence=self.study.confidence, unit=self.unit, **choice
        )

    def chart_about_trend(self, worn: Any) -> ChartStudy:
        """Chart the subgroups about the trend of wear; `worn` is what was found of it."""
        raise CannotJudge("A line log keeps sums, and this method needs the single parts.")

    @property
    def parts(self) -> pd.DataFrame:
        """One part per row, in production order.

        Raises
        ------
        CannotJudge
            Only sums were kept.
        """
        raise CannotJudge("A line log keeps sums, and this method needs the single parts.")

    @abstractmethod
    def stream_groups(self) -> pd.DataFrame:
        """Return the subgroups of all streams: ``window`` (alike where taken together), ``station``, ``n, mean, sd, order``."""

    @abstractmethod
    def _summaries(self) -> Summaries:
        """Return the summaries of the subgroups."""

    @abstractmethod
    def autocorrelation(self) -> AutocorrelationStudy:
        """Judge serial correlation."""

    @abstractmethod
    def variance_sources(self) -> VarianceSourcesStudy:
        """Judge sources of variation."""

    @abstractmethod
    def variance_components(self) -> VarianceComponentsStudy:
        """Judge variance components."""

    @abstractmethod
    def tool_wear(self) -> ToolWearStudy:
        """Judge tool wear."""

    @abstractmethod
    def has_streams(self, by: str) -> bool:
        """Check whether the run is known to have several stations, or coils."""

    @abstractmethod
    def streams(self, by: str) -> StreamStudy:
        """Compare stations, or coils."""

    @abstractmethod
    def change_points(self, worn: Any) -> ChangePointStudy:
        """Search for change points; `worn` is what was found of tool wear."""

    @abstractmethod
    def time_model(self) -> TimeModelStudy:
        """Decide on the model of ISO 22514-2."""


#: Fewest parts of a stream with a chart of its own, and most streams (more are no stations).
_LEAST_STREAM, _MOST_STREAMS = 25, 64


class RunOfParts(Run):
    """A run whose parts are at hand.

    Parameters
    ----------
    study : Study
    item : Characteristic
    table : pandas.DataFrame
        One part per row; those that ``set_aside`` marks are left out of all but `whole`.
    stream : str, optional
        The stream that all of them come from: events that name others do not concern it.
    """

    has_parts = True

    def __init__(
        self, study: Study, item: Characteristic, table: pd.DataFrame, stream: str | None = None
    ) -> None:
        super().__init__(study, item, stream)
        self._table, self._kept = table, table
        if "set_aside" in table and bool(table["set_aside"].any()):
            self._kept = table[~table["set_aside"]]
        self.set_aside = len(table) - len(self._kept)
        self.parts_per_stroke = int(table.attrs.get("parts_per_stroke", 1))
        self.notes = (
            *set_aside_notes(study, item, self.set_aside),
            *self._of_streams(),
            *(("The bonus of each part is taken off its position.",) if "size" in table else ()),
        )

    @property
    def parts(self) -> pd.DataFrame:
        """One part per row, in production order."""
        return self._kept

    def _of_streams(self) -> tuple[str, ...]:
        """Report what the chart of all parts shows of streams that one stroke makes side by side."""
        if self.parts_per_stroke == 1 or not self.has_streams("station"):
            return ()
        return (
            "Each subgroup is of one stream, and each stream's distance from the mean of all is taken off; the "
            "streams have charts of their own.",
        )

    @cached_property
    def _charted(self) -> pd.DataFrame:
        """Return parts for one chart of all: streams side by side are no movement in time."""
        if not self._of_streams():
            return self.parts
        table = in_subgroups(self.parts)
        value = without_stations(table["value"].to_numpy(dtype=float), table["station"])
        return table.assign(value=value)

    def chart(self, **choice: Any) -> ChartStudy:
        """Chart the subgroups; what chance signals is counted on these values where they are not normal."""
        # Whoever has no subgroups hears why.
        self.groups()
        return control_chart(
            self._charted["value"],
            self._charted.get("subgroup"),
            self._charted.get("order"),
            confidence=self.study.confidence,
            unit=self.unit,
            **choice,
        )

    def chart_about_trend(self, worn: Any) -> ChartStudy:
        slope = getattr(worn, "slope_per_thousand", None)
        if not isinstance(slope, Interval) or 0 in slope:
            raise CannotJudge("No straight trend of wear is seen, so there is none to chart about.")
        self.groups()
        table = self._charted
        order = table["order"].to_numpy(dtype=float)
        value = table["value"].to_numpy(dtype=float)
        about = value.mean() + without_stretches(value, stretch_of(order, self.resets), order)
        found = control_chart(
            about,
            table.get("subgroup"),
            table.get("order"),
            confidence=self.study.confidence,
            unit=self.unit,
        )
        note = "The level of each tool life and the common slope of wear are taken off; limits are those about the trend."
        return replace(found, cautions=(*found.cautions, note))

    @property
    def whole(self) -> RunOfParts:
        """The run with the parts set aside."""
        return RunOfParts(self.study, self.item, self._table.drop(columns="set_aside"))

    @cached_property
    def by_stream(self) -> dict[str, RunOfParts]:
        """Return the runs of the streams, each with subgroups of its own parts; empty where fewer than two are named."""
        if not self.has_streams("station"):
            return {}
        found = {}
        for name, part in self.parts.groupby("station", sort=True):
            if not name or len(part) < _LEAST_STREAM:
                continue
            table = part.reset_index(drop=True)
            table.attrs = {**self.parts.attrs, "parts_per_stroke": 1}
            if self.parts_per_stroke == 1 and isinstance(self._taking, Subgroup):
                table["subgroup"] = subgroups_of_stream(table, self._taking)
            found[str(name)] = RunOfParts(self.study, self.item, table, str(name))
        return found if 2 <= len(found) <= _MOST_STREAMS else {}

    def stream_groups(self) -> pd.DataFrame:
        import pandas as pd

        width = 1.0
        if isinstance(self._taking, Subgroup):
            width = float(self._taking.every or self._taking.size)
        first = float(np.asarray(self.order, dtype=float)[0])
        found = []
        for name, one in self.by_stream.items():
            groups = one.groups()
            window = np.floor((groups.order - first) / width)
            columns = {"n": groups.n, "mean": groups.mean, "sd": groups.sd, "order": groups.order}
            found.append(pd.DataFrame({"window": window, "station": name, **columns}))
        if not found:
            raise CannotJudge("Fewer than two streams have parts enough for charts of their own.")
        return pd.concat(found, ignore_index=True)

    @cached_property
    def _taking(self) -> Any:
        """Describe how the study takes subgroups from the run."""
        for data in self.study.data:
            if data.role == "run" and self.item.id in data.columns:
                return data.subgroup
        return None

    def _summaries(self) -> Summaries:
        require_sound(self.parts)
        subgroup = self._charted.get("subgroup")
        if subgroup is not None and bool(subgroup.isna().all()):
            subgroup = None
        return summarise(self._charted["value"], subgroup, self._charted.get("order"))

    @property
    def order(self) -> Any:
        """Order numbers, counted from one where the parts have none."""
        if "order" in self.parts:
            return self.parts["order"]
        return np.arange(1.0, len(self.parts) + 1)

    def autocorrelation(self) -> AutocorrelationStudy:
        try:
            size = int(np.median(self.groups().n))
        except CannotJudge:
            size = 1
        values: Any = self.parts["value"]
        order = np.asarray(self.order, dtype=float)
        # Wear between named resets is known and no chance: it is taken off first.
        named = resets_by_stream(self.study, self.item, self.parts)
        rest, slope = without_wear(
            values.to_numpy(dtype=float), order, self.resets, self.parts.get("station"), named
        )
        found = autocorrelation(
            values if slope is None else rest,
            line_rate=self.parts_per_minute,
            station=self.parts.get("station"),
            subgroup_size=size,
            confidence=self.study.confidence,
            unit=self.unit,
        )
        note = "Wear between the named resets was taken off first."
        return found if slope is None else replace(found, cautions=(*found.cautions, note))

    def variance_sources(self) -> VarianceSourcesStudy:
        table = self.parts if "order" in self.parts else self.parts.assign(order=self.order)
        found = variance_sources(
            table,
            resets=self.resets,
            confidence=self.study.confidence,
            seed=self.study.seed,
            unit=self.unit,
        )
        together = resets_at_coil_changes(table, self.resets)
        if not together:
            return found
        note = (
            f"{counted(together, 'named reset')} of {len(self.resets)} came with a change of coil: what the reset leaves "
            "and what the coil brings cannot be told apart there."
        )
        return replace(found, cautions=(note, *found.cautions))

    def variance_components(self) -> VarianceComponentsStudy:
        return variance_components(
            self.parts,
            line_rate=self.study.line_rate,
            confidence=self.study.confidence,
            seed=self.study.seed,
            unit=self.unit,
        )

    def tool_wear(self) -> ToolWearStudy:
        return tool_wear(
            self.parts["value"],
            self.order,
            resets=[at for at, _ in self.events],
            lower=self.item.lower,
            upper=self.item.upper,
            station=self.parts.get("station"),
            batch=coils_of(self.parts),
            confidence=self.study.confidence,
            unit=self.unit,
        )

    def has_streams(self, by: str) -> bool:
        return by in self.parts and self.parts[by].nunique() > 1

    def streams(self, by: str) -> StreamStudy:
        values: Any = self.parts["value"]
        if by != "station":
            values = without_stations(values.to_numpy(dtype=float), self.parts.get("station"))
        return compare_streams(
            values,
            self.parts[by],
            by=by,
            order=self.order if by == "station" and self.parts_per_stroke > 1 else None,
            tolerance=self.item.tolerance if by == "station" else None,
            confidence=self.study.confidence,
            unit=self.unit,
        )

    def change_points(self, worn: Any) -> ChangePointStudy:
        known = None
        if self.resets and isinstance(worn, ToolWearStudy) and 0 not in worn.slope_per_thousand:
            known = worn.slope_per_thousand.estimate
        return change_points(
            self.parts["value"],
            self.order,
            events=self.events,
            station=self.parts.get("station"),
            slope_per_thousand=known,
            confidence=self.study.confidence,
            unit=self.unit,
        )

    def time_model(self) -> TimeModelStudy:
        table = self._charted
        if "subgroup" not in table or table["subgroup"].isna().all():
            raise CannotJudge(
                "The study takes no subgroups from the run, so movement is not judged."
            )
        return time_model(
            table["value"],
            table["subgroup"],
            table.get("order", self.order),
            batch=table.get("coil"),
            station=table.get("station"),
            resets=self.resets,
        )
