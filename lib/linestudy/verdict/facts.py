"""The facts of one characteristic: what rules read, and what text, table, picture and workbook show.

One frozen object for each characteristic, gathered once. Whoever prints a number about a
characteristic takes it from here, so no two places can disagree; and a rule can read nothing
else, so what is shown is what was decided on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from linestudy.results import Absent, Interval
from linestudy.verdict.measurement_facts import GaugeFacts, JudgementFacts
from linestudy.verdict.process.points import OutPoint

_NO_READINGS = Absent("no readings of the process were submitted")


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What was left out for one reason, where it is more than one reading in a hundred.

    Attributes
    ----------
    reason : str
    count : int
    share : float
        Of the readings, those of rows left out among them.
    named : bool
        Whether study.toml gives the reason.
    """

    reason: str
    count: int
    share: float
    named: bool


@dataclass(frozen=True, slots=True)
class Doubt:
    """A contradiction, with how likely an honest record shows it.

    Attributes
    ----------
    what : str
        Kind, for example ``"copied readings"``.
    p : float
        Probability of as much in an honest record; on the safe side.
    evidence : str
        One clause with numbers and place.
    """

    what: str
    p: float
    evidence: str


@dataclass(frozen=True, slots=True)
class RecordFacts:
    """What the readings were taken from, for a reader to hold against records of their own.

    Attributes
    ----------
    rows : int
        Rows read from the files of the readings.
    left_out : dict of str to int
        Reason → readings, of rows and of single values.
    left_out_rows : int
        Rows left out that may have had an order number of their own.
    suspect : int
        Readings left out by a range or a missing code that lies where parts may lie.
    chosen : int
        Readings of this part that study.toml leaves out by a choice of rows (``only``), in all its files.
    rejected_unread : int
        Rejected parts without a reading and without a reason for it, where accepted parts have theirs.
    periods, periods_outside : int
        Readings in periods that study.toml sets aside, and how many of them lie outside the limits.
    periods_index : float or None
        Estimate of the index had they been left in.
    first, last : float or None
        Order numbers of the first and last reading.
    numbers_missing, gaps : int
        Order numbers missing beyond the usual step, and in how many places.
    longest_gap : tuple of float
        Order numbers on either side of the longest; empty where there is none.
    backwards : int
        Rows whose order number is smaller than that of the row before, in the order of the file.
    sorted_rows : bool
        Whether the rows of a file are in the order of a reading, as somebody sorted them.
    clock_back : float or None
        Share of the counter's steps at which the clock goes back by more than a hundredth of the run; None without a clock.
    pause : tuple of float
        Seconds of the longest pause of the clock, and the order number after it; empty where none is long.
    coils, stations : tuple of str
    not_recorded : tuple of str
        Which of clock, coil, station and verdict no column names.
    settings : tuple of str
        What study.toml sets that bears on the decision: ranges and codes where parts may lie, conversions, family.
    seed : int or None
        Of random draws, where it is not the usual one.
    first_readings, last_readings : tuple of float
        In the characteristic's unit.
    extremes, extremes_at : tuple of float
        Smallest and largest reading, in the characteristic's unit, and their order numbers; empty where there are none.
    masters : tuple of float
        Their reference values.
    master_readings : tuple of float
        First and last reading of masters, in the order of their file.
    study_parts : tuple of float
        Of the crossed study: number of parts, smallest and largest mean of a part, SD of the parts.
    study_readings : tuple of float
        First and last reading of the crossed study, in the order of its file.
    study_people : tuple of str
        Who read, tested or judged in it, as its file names them.
    doubts, gauge_doubts : tuple of Doubt
        What readings and gauge study contradict themselves in; none where all is as honest records are.
    names : tuple of str
        Names of parts and people of the gauge study that may mean one, and part numbers that are in no row, a sentence each.
    bins_p : float or None
        p-value that bins and log are counts of the same production; None where not both are there.
    bins : tuple of int
        Accepted and rejected in the bins, accepted and rejected in the log.
    bins_by_verdicts : bool
        Whether the log's counts are its verdicts; else they are of readings within and outside the limits.
    sorter : tuple of str
        What the log's verdicts and its readings contradict each other in, a clause each.
    files_say : tuple of str
        What files of readings say otherwise than study.toml, a clause each: narrower limits, another column of the characteristic's name,
        other readings of parts that lie worse.
    short_run : tuple of float
        Of a short run of the same characteristic: Pmk, the lower and upper end of its interval, and its parts; empty where there is
        none beside the run.
    earlier : str
        Name of the earlier revision compared with; empty where none is in the folder.
    changed, relaxed : tuple of str
        What was changed against it, and which of that asks for less.
    """

    rows: int = 0
    left_out: dict[str, int] = field(default_factory=dict)
    left_out_rows: int = 0
    suspect: int = 0
    chosen: int = 0
    rejected_unread: int = 0
    periods: int = 0
    periods_outside: int = 0
    periods_index: float | None = None
    first: float | None = None
    last: float | None = None
    numbers_missing: int = 0
    gaps: int = 0
    longest_gap: tuple[float, ...] = ()
    backwards: int = 0
    sorted_rows: bool = False
    clock_back: float | None = None
    pause: tuple[float, ...] = ()
    coils: tuple[str, ...] = ()
    stations: tuple[str, ...] = ()
    not_recorded: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()
    seed: int | None = None
    first_readings: tuple[float, ...] = ()
    last_readings: tuple[float, ...] = ()
    extremes: tuple[float, ...] = ()
    extremes_at: tuple[float, ...] = ()
    masters: tuple[float, ...] = ()
    master_readings: tuple[float, ...] = ()
    study_parts: tuple[float, ...] = ()
    study_readings: tuple[float, ...] = ()
    study_people: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    gauge_doubts: tuple[Doubt, ...] = ()
    names: tuple[str, ...] = ()
    bins_p: float | None = None
    bins: tuple[int, ...] = ()
    bins_by_verdicts: bool = True
    sorter: tuple[str, ...] = ()
    files_say: tuple[str, ...] = ()
    short_run: tuple[float, ...] = ()
    earlier: str = ""
    changed: tuple[str, ...] = ()
    relaxed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What bears on a claim and is in no reading.

    Attributes
    ----------
    sorted_parts : bool
        The data hold accepted parts only.
    sorted_with : str
        Another characteristic on which the parts were sorted and with which the readings go; empty where none shows it.
    excluded : float
        Share of the readings set aside with no reason named in study.toml.
    set_aside : float
        Share set aside for named reasons.
    left_out : tuple of LeftOut
        Every reason for which more than one reading in a hundred is left out.
    model : str or None
        Time-dependent model of ISO 22514-2 that package stability supports.
    in_time : bool
        Whether the readings are of a run in production order.
    refused : str
        Why no index may be given; empty where one may.
    before_sorting : Interval or None
        Index of the process before sorting.
    streams_unseen : str
        Why not every stream of the tool is judged; empty where each has readings enough.
    """

    sorted_parts: bool = False
    sorted_with: str = ""
    excluded: float = 0.0
    set_aside: float = 0.0
    left_out: tuple[LeftOut, ...] = ()
    model: str | None = None
    in_time: bool = True
    refused: str = ""
    before_sorting: Interval | None = None
    streams_unseen: str = ""


@dataclass(frozen=True, slots=True)
class ProcessFacts:
    """What the readings say of the process.

    Attributes
    ----------
    n, subgroups : int
        Readings, and subgroups that the study forms (0 where it forms none).
    mean, sd, smallest, largest : float
        Of all readings used.
    coils : int or None
        Coils seen; None where no column names them.
    regrinds : int or None
        Named regrinds inside the run; None where study.toml names none.
    hours : float or None
        [h] From the first reading to the last by the clock; None without one.
    days : int or None
        Days of the calendar on which readings were taken; None without a clock.
    lots : int or None
        Lots (coils of a run, batches of a destructive test) that the readings name.
    lot_share : float
        Share of the variance that lies between them.
    lot_bound_share : float or None
        Lower bound of the index by the lots alone over its estimate; None where nothing names two lots.
    lots_needed : int or None
        How many lots like these would bring it to four fifths.
    one_by_one : bool
        Whether the streams were made one after the other.
    steady_p : float
        Of all tests that the process is in statistical control.
    strongest : str
        Test with the smallest p-value.
    matters : bool
        Whether what moves is large enough to matter.
    moved_share : float
        Share of the variance that lies between subgroups beyond what neighbours explain.
    neighbours : float
        Correlation of neighbours.
    points : tuple of OutPoint
        Beyond the chart's limits, each with its cause where one is named.
    expected_points : float
        How many chance would give, under the readings' own distribution.
    unexplained : int
        Points without a named cause that was acted upon.
    described : bool
        Whether any description of the distribution was not rejected.
    carried : bool
        Whether the tail of the data itself is among the descriptions.
    rejected : tuple of str
        Families that the data reject.
    outside : int
        Readings outside the limits.
    expected_outside : float
        How many the description that expects most of the admissible ones expects.
    n_eff_mean, n_eff_sd : float
        Effective number of independent readings, within lots where two are named.
    """

    n: int = 0
    subgroups: int = 0
    mean: float = float("nan")
    sd: float = float("nan")
    smallest: float = float("nan")
    largest: float = float("nan")
    coils: int | None = None
    regrinds: int | None = None
    hours: float | None = None
    days: int | None = None
    lots: int | None = None
    lot_share: float = 0.0
    lot_bound_share: float | None = None
    lots_needed: int | None = None
    one_by_one: bool = False
    steady_p: float = 1.0
    strongest: str = ""
    matters: bool = False
    moved_share: float = 0.0
    neighbours: float = 0.0
    points: tuple[OutPoint, ...] = ()
    expected_points: float = 0.0
    unexplained: int = 0
    described: bool = True
    carried: bool = False
    rejected: tuple[str, ...] = ()
    outside: int = 0
    expected_outside: float = 0.0
    n_eff_mean: float = 0.0
    n_eff_sd: float = 0.0


#: Name of the index of a process whose bad parts were taken out.
BEFORE_SORTING = "Ppk before sorting"


@dataclass(frozen=True, slots=True)
class IndexFacts:
    """The index that the claim rests on.

    Attributes
    ----------
    name : str
        ``"Ppk"``, ``"Ppk, worst stream"``, ``"Ppk before sorting"`` or ``"Pmk"``.
    estimate, bound : float
        Lowest of the admissible, and its one-sided lower bound.
    highest : float
        Largest estimate among the admissible descriptions.
    confidence : float
    family, stream : str
        Which description and which stream gave the estimate.
    by_stream : dict of str to float
        Estimate of every named stream.
    by_family : dict of str to float
        Estimate of every admissible description, in the worst stream.
    """

    name: str
    estimate: float
    bound: float
    highest: float
    confidence: float = 0.95
    family: str = ""
    stream: str = ""
    by_stream: dict[str, float] = field(default_factory=dict)
    by_family: dict[str, float] = field(default_factory=dict)

    @property
    def interval(self) -> Interval:
        """From the lower bound to the highest admissible estimate, for a picture."""
        return Interval(
            self.estimate,
            min(self.bound, self.estimate),
            max(self.highest, self.estimate),
            self.confidence,
            "one-sided lower bound; highest admissible estimate",
        )

    @property
    def claimed(self) -> Interval:
        """The estimate and its one-sided lower bound; before sorting, from the least to the most it may have been."""
        if self.name == BEFORE_SORTING:
            return self.interval
        return replace(self.interval, high=math.inf, method="one-sided lower bound")

    @property
    def by(self) -> str:
        """The distribution it rests on, as the end of a sentence; empty where there is none."""
        if not self.family:
            return ""
        # A person's name and a method take no article.
        article = "" if self.family.startswith(("Student", "peaks")) else "the "
        return f" by {article}{self.family}"


@dataclass(frozen=True, slots=True)
class CharacteristicFacts:
    """Everything a decision on one characteristic is made from.

    Attributes
    ----------
    name, unit, limits : str
        As the document prints them.
    kind : str
        ``"process"``, ``"machine"``, ``"gauge"`` or ``"judgement"``: what is decided on.
    special : bool
    lower, upper : float or None
    gauge : GaugeFacts
    judgement : JudgementFacts
    process : ProcessFacts
    index : IndexFacts or Absent
    circumstances : Circumstances
    record : RecordFacts
    """

    name: str = ""
    unit: str = ""
    limits: str = ""
    kind: str = "process"
    special: bool = False
    lower: float | None = None
    upper: float | None = None
    gauge: GaugeFacts = field(default_factory=GaugeFacts)
    judgement: JudgementFacts = field(default_factory=JudgementFacts)
    process: ProcessFacts = field(default_factory=ProcessFacts)
    index: IndexFacts | Absent = _NO_READINGS
    circumstances: Circumstances = field(default_factory=Circumstances)
    record: RecordFacts = field(default_factory=RecordFacts)
