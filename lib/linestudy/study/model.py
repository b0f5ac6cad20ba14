"""study.toml, format 1, as typed objects.

The meaning of every key is written in ``FORMAT.md`` beside this file; the models
here are what is enforced.
"""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import Annotated, Any, Literal

from pydantic import Field, field_validator, model_validator

from linestudy.results.rounding import as_given
from linestudy.study import submission
from linestudy.study.bounds import writing
from linestudy.study.events import Cause, Event, Id, Number, SetAside, Strict, Text
from linestudy.study.grades import rejecting

Share = Annotated[float, Field(gt=0, lt=1)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Column = Annotated[str, Field(min_length=1, max_length=2_000)]
#: Several columns that make one tag together: job and counter, station and lane.
Columns = Annotated[tuple[Column, ...], Field(min_length=1, max_length=8)]
#: Beyond these an interval says nothing, or needs more readings than anybody takes.
Confidence = Annotated[float, Field(ge=0.5, le=0.9999)]
#: A test level below the smallest never objects, one above the largest always does.
Level = Annotated[float, Field(ge=1e-6, le=0.5)]

Role = Literal[
    "run",
    "machine",
    "crossed",
    "nested",
    "reference",
    "drift",
    "paired",
    "attribute",
    "bins",
    "layout",
]

#: What a file is called by the study it serves.
ROLE_WORDS: dict[str, str] = {
    "run": "run in production order",
    "machine": "short run",
    "crossed": "crossed gauge study",
    "nested": "nested or destructive study",
    "reference": "readings of masters",
    "drift": "master over the run",
    "paired": "parts measured by two gauges",
    "attribute": "judgements",
    "bins": "counts of bins",
    "layout": "dimensions of the drawing",
}

#: Digits that limits are written with: as many as anybody gives, and none of the last of a double.
_GIVEN = 12

#: What the title of a block may say its rows are of.
BlockTag = Literal["appraiser", "trial", "station", "part", "coil", "factor"]


class StudyHead(Strict):
    """What is studied, and the settings that hold throughout."""

    title: Text
    part: Text
    revision: Text = "-"
    customer: Text | None = None
    supplier: Text | None = None
    date: Text | None = None
    line_rate: Annotated[Positive, Field(le=1e6)] | None = None
    confidence: Confidence = 0.95
    seed: Annotated[int, Field(ge=0)] = 20260101
    accepted_bad_ppm: Annotated[Positive, Field(le=1e6)] = 10.0
    earlier: Text | None = None

    @property
    def known_revision(self) -> str:
        """The revision; empty where study.toml names none."""
        return "" if self.revision == "-" else self.revision

    @property
    def part_and_revision(self) -> str:
        """The part, with its revision where that is known."""
        return f"{self.part}, revision {self.known_revision}" if self.known_revision else self.part


class Tool(Strict):
    """The tool that makes the parts."""

    name: Text | None = None
    parts_per_stroke: Annotated[int, Field(ge=1, le=64)] | None = None


class CriteriaKeys(Strict):
    """Thresholds of the verdict; a key left out keeps its default and the default's source."""

    capability_accept: Annotated[Positive, Field(le=1000)] | None = None
    capability_review: Annotated[Positive, Field(le=1000)] | None = None
    grr_accept: Share | None = None
    grr_review: Share | None = None
    grr_multiplier: Annotated[Positive, Field(ge=1, le=10)] | None = None
    grr_of: Literal["tolerance", "total variation", "process variation", "largest"] | None = None
    ndc_min: Annotated[Positive, Field(le=1e6)] | None = None
    bias_alpha: Level | None = None
    bias_share: Share | None = None
    drift_share: Share | None = None
    q_ms_max: Share | None = None
    q_mp_max: Share | None = None
    cg_min: Positive | None = None
    cgk_min: Positive | None = None
    cg_fraction: Share | None = None
    cg_multiplier: Annotated[Positive, Field(ge=1, le=10)] | None = None
    resolution_share: Share | None = None
    contradiction: Share | None = None
    kappa_min: Share | None = None
    effectiveness_min: Share | None = None
    effectiveness_review: Share | None = None
    miss_max: Share | None = None
    miss_review: Share | None = None
    false_alarm_max: Share | None = None
    false_alarm_review: Share | None = None
    stability_alpha: Share | None = None
    decide_on: Literal["estimate", "lower bound"] | None = None
    decide_capability_on: Literal["estimate", "lower bound"] | None = None
    decide_measurement_on: Literal["estimate", "lower bound"] | None = None
    least_readings: Positive | None = None
    least_subgroups: Positive | None = None
    source: Text | None = None


class Criteria(CriteriaKeys):
    """The study's criteria, and those of special and of all other characteristics."""

    special: CriteriaKeys | None = None
    other: CriteriaKeys | None = None


class Position(Strict):
    """That a characteristic is a position: twice the distance of an axis from where it should be."""

    at: tuple[Number, Number] = (0.0, 0.0)
    size: Id | None = None
    most_material: Number | None = None
    feature: Literal["hole", "pin"] = "hole"

    @model_validator(mode="after")
    def _bonus_is_whole(self) -> Position:
        if (self.size is None) != (self.most_material is None):
            raise ValueError("a bonus needs both size (a characteristic's id) and most_material")
        return self


class Characteristic(Strict):
    """One thing that is claimed about the part."""

    id: Id
    name: Text
    unit: Text | None = None
    nominal: Number | None = None
    lower: Number | None = None
    upper: Number | None = None
    bound: Number | None = None
    plausible: tuple[Number, Number] | None = None
    special: bool = False
    family: Text = "auto"
    position: Position | None = None
    criteria: CriteriaKeys | None = None
    number: Text | None = None

    @property
    def tolerance(self) -> float | None:
        """Width of the tolerance in the characteristic's unit; None when a limit is absent."""
        if self.lower is None or self.upper is None:
            return None
        return self.upper - self.lower

    @property
    def bound_above(self) -> float | None:
        """The bound, where it is one that parts cannot exceed: at or above the upper limit, or above the lower where that is the only one."""
        if self.bound is None:
            return None
        highest = self.upper if self.upper is not None else self.lower
        above = highest is not None and (
            self.bound >= highest if self.upper is not None else self.bound > highest
        )
        return self.bound if above else None

    @property
    def bound_below(self) -> float | None:
        """The bound, where it is one that parts cannot fall below."""
        return None if self.bound_above is not None else self.bound

    @property
    def is_attribute(self) -> bool:
        """Judged, not measured: neither limit given."""
        return self.lower is None and self.upper is None

    def measures(self) -> str:
        """Write the limits in words, with unit."""
        unit = f" {self.unit}" if self.unit else ""
        if self.lower is not None and self.upper is not None:
            return f"{as_given(self.lower, digits=_GIVEN)} to {as_given(self.upper, digits=_GIVEN)}{unit}"
        if self.lower is not None:
            return f"at least {as_given(self.lower, digits=_GIVEN)}{unit}"
        if self.upper is not None:
            return f"at most {as_given(self.upper, digits=_GIVEN)}{unit}"
        return "no limits" if self.unit or self.nominal is not None else "judged"

    @model_validator(mode="after")
    def _limits_in_order(self) -> Characteristic:
        if self.lower is not None and self.upper is not None and self.lower >= self.upper:
            raise ValueError(
                f"lower limit {as_given(self.lower, digits=_GIVEN)} is not below upper limit {as_given(self.upper, digits=_GIVEN)}"
            )
        if self.nominal is not None:
            if self.lower is not None and self.nominal < self.lower:
                raise ValueError(
                    f"nominal {as_given(self.nominal, digits=_GIVEN)} is below lower limit {as_given(self.lower, digits=_GIVEN)}"
                )
            if self.upper is not None and self.nominal > self.upper:
                raise ValueError(
                    f"nominal {as_given(self.nominal, digits=_GIVEN)} is above upper limit {as_given(self.upper, digits=_GIVEN)}"
                )
        if self.plausible is not None and self.plausible[0] >= self.plausible[1]:
            raise ValueError("plausible must be [low, high] with low below high")
        if self.position is not None and (self.upper is None or self.lower is not None):
            raise ValueError("a position has an upper limit only: the diameter of its zone")
        return self


class Gauge(Strict):
    """One measuring system."""

    id: Id
    name: Text
    resolution: Positive | None = None
    unit: Text | None = None
    expanded_uncertainty: Positive | None = None
    coverage: Annotated[Positive, Field(ge=0.1, le=100)] = 2.0
    range: tuple[Number, Number] | None = None
    serial: Text | None = None
    certificate: Text | None = None
    due: Text | None = None


class Subgroup(Strict):
    """How subgroups are taken from the run: `size` neighbours at every `every`-th part."""

    size: Annotated[int, Field(ge=1, le=1_000_000)] = 5
    every: Annotated[int, Field(ge=1, le=1_000_000_000)] | None = None

    @model_validator(mode="after")
    def _refuse_overlap(self) -> Subgroup:
        if self.every is not None and self.every < self.size:
            raise ValueError("every must not be smaller than size, or subgroups overlap")
        return self


class Long(Strict):
    """Names of the columns where a file holds one characteristic's value per row, and of the one with its unit."""

    characteristic: Column | Columns
    value: Column
    unit: Column | None = None

    @property
    def characteristics(self) -> tuple[str, ...]:
        """Columns that together name the characteristic."""
        own = self.characteristic
        return own if isinstance(own, tuple) else (own,)


class Data(Strict):
    """One file of the study folder and what its columns mean."""

    role: Role
    file: Text
    planned: bool = False
    gauge: Id | None = None
    gauges: tuple[Id, Id] | None = None
    characteristic: Id | None = None
    columns: dict[str, Any] = Field(default_factory=dict)
    across: tuple[Text, ...] | None = None
    long: Long | None = None
    order: Column | Columns | None = None
    time: Column | tuple[Column, Column] | None = None
    subgroup: Subgroup | Column | None = None
    coil: Column | None = None
    station: Column | Columns | None = None
    stop: Column | None = None
    verdict: Column | Columns | None = None
    image: Column | None = None
    reason: Column | None = None
    part: Column | None = None
    appraiser: Column | None = None
    trial: Column | None = None
    factor: Column | None = None
    occasion: Text | None = None
    levels: tuple[Column, ...] | None = None
    size: Column | None = None
    size_of: Id | None = None
    size_gauge: Id | None = None
    specimen_sd: Positive | None = None
    reference: Column | Number | dict[str, Number] | None = None
    reference_uncertainty: Column | Number | dict[str, Number] | None = None
    judgement: Any = None
    grades: Annotated[tuple[Text, ...], Field(min_length=3, max_length=50)] | None = None
    measured: Column | None = None
    accept: tuple[str, ...] | None = None
    reject: tuple[str, ...] | None = None
    purge: tuple[str, ...] | None = None
    period: Column | Columns | None = None
    accepted: Column | None = None
    rejected: Column | None = None
    purged: Column | None = None
    layout: submission.Layout | None = None
    missing: tuple[str, ...] = ("", "NA")
    decimal: Literal[".", ",", "both"] = "."
    thousands: Literal[",", ".", " ", "'"] | None = None
    delimiter: Annotated[str, Field(min_length=1, max_length=1)] | None = None
    encoding: Text | None = None
    header_row: Annotated[int, Field(ge=1, le=100_000)] | None = None
    header_rows: Annotated[int, Field(ge=0, le=3)] | None = None
    skip_rows_after_header: Annotated[int, Field(ge=0, le=10_000_000)] = 0
    sheet: Text | None = None
    transpose: bool = False
    block: Text | None = None
    blocks: BlockTag | tuple[BlockTag, BlockTag] | None = None
    cells: Text | None = None
    largest_mb: Annotated[Positive, Field(ge=1e-6, le=100_000)] = 400.0
    engine: Literal["duckdb", "spark"] = "duckdb"
    unit: Text | None = None
    units: dict[str, Text] = Field(default_factory=dict)
    time_format: Text | None = None
    set_aside_verdict: dict[str, Text] = Field(default_factory=dict)
    fill_down: tuple[Column, ...] = ()
    only: dict[Column, str | tuple[str, ...]] = Field(default_factory=dict, max_length=8)

    @field_validator("file")
    @classmethod
    def _inside_the_folder(cls, value: str) -> str:
        path = PurePosixPath(value.replace("\\", "/"))
        if not path.parts:
            raise ValueError(f'"{value[:40]}" is a folder, not the name of a data file')
        if path.is_absolute() or ".." in path.parts or ":" in path.parts[0]:
            raise ValueError("a data file must lie inside the study folder")
        return value

    @field_validator("delimiter")
    @classmethod
    def _separates_cells(cls, value: str | None) -> str | None:
        if value is None or value == "\t":
            return value
        if not value.isascii() or not value.isprintable() or value.isalnum() or value in "\"'+-.":
            raise ValueError(f"delimiter = {value!r} cannot separate cells")
        return value

    @field_validator("encoding")
    @classmethod
    def _is_of_text(cls, value: str | None) -> str | None:
        return None if value is None else writing(value)

    @model_validator(mode="after")
    def _keys_of_the_role(self) -> Data:
        for key in NEEDED[self.role]:
            titles = (self.blocks,) if isinstance(self.blocks, str) else self.blocks or ()
            if getattr(self, key) is None and key not in (*(self.across or ()), *titles):
                raise ValueError(f'role "{self.role}" needs the key "{key}"')
        if self.decimal == "both" and self.thousands in (",", "."):
            raise ValueError('decimal = "both" leaves neither comma nor point for thousands')
        if self.block is not None and self.blocks is not None:
            raise ValueError("block names one block, blocks reads all of them: write one of both")
        if (self.size is None) != (self.size_of is None):
            raise ValueError("size (a column) and size_of (a characteristic) go together")
        if self.size is not None and self.role != "nested":
            raise ValueError('size belongs to destroyed parts, role "nested"')
        if self.grades is not None:
            rest = rejecting(self.role, self.grades, self.accept or (), self.reject)
            object.__setattr__(self, "reject", rest)
        if (
            self.role not in ("attribute", "bins", "layout")
            and not self.columns
            and self.long is None
        ):
            raise ValueError(f'role "{self.role}" needs "columns" or "long"')
        return self


#: Role → the keys without which it cannot be read.
NEEDED: dict[str, tuple[str, ...]] = {
    "run": (),
    "machine": (),
    "crossed": ("gauge", "part"),
    "nested": ("levels",),
    "reference": ("gauge", "reference"),
    "drift": ("gauge",),
    "paired": ("gauges", "part"),
    "attribute": ("part", "judgement", "characteristic", "accept"),
    "bins": ("period", "accepted", "rejected"),
    "layout": ("layout",),
}


class Budget(Strict):
    """One entry of a measurement-uncertainty budget that no study in the folder gives."""

    gauge: Id
    source: Text
    characteristic: Id | None = None
    standard_uncertainty: Positive | None = None
    half_width: Positive | None = None
    distribution: Literal["normal", "rectangular", "triangular", "U"] = "normal"
    degrees_of_freedom: Positive | None = None
    origin: Text = "declared by the author"
    sensitivity: Number = 1.0
    correlated_with: Text | None = None
    correlation: Annotated[float, Field(ge=-1, le=1)] = 1.0

    @model_validator(mode="after")
    def _has_one_size(self) -> Budget:
        if (self.standard_uncertainty is None) == (self.half_width is None):
            raise ValueError("needs either standard_uncertainty or half_width")
        return self


class StudyFile(Strict):
    """The whole of study.toml."""

    format: Literal[1]
    study: StudyHead
    tool: Tool = Tool()
    criteria: Criteria = Criteria()
    characteristic: tuple[Characteristic, ...] = Field(min_length=1)
    gauge: tuple[Gauge, ...] = ()
    data: tuple[Data, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
    event: tuple[Event, ...] = ()
    cause: tuple[Cause, ...] = ()
    budget: tuple[Budget, ...] = ()
    identification: submission.Identification = submission.Identification()
    line: submission.Line = submission.Line()
    master: tuple[submission.Master, ...] = ()
    appraiser: tuple[submission.Appraiser, ...] = ()
    action: tuple[submission.Action, ...] = ()
    control: tuple[submission.Control, ...] = ()
    attachment: tuple[submission.Attachment, ...] = ()
    form: submission.Form | None = None
