"""The facts of a gauge and of judgements, which the rules on the measurement system read."""

from __future__ import annotations

from dataclasses import dataclass, field

from linestudy.gauges.judgement.rates import WorstRates
from linestudy.results import Absent, Interval

#: A gauge that no file names.
NAMELESS = "the gauge"
_NO_STUDY = Absent("no study of it was submitted")


def share_of_what(share_of: str, multiplier: float) -> str:
    """Say what a gauge's share is of, in the words of the trade.

    Parameters
    ----------
    share_of : str
        As in :class:`GaugeFacts`.
    multiplier : float
        Standard deviations counted against the tolerance; six are not said.

    Returns
    -------
    str

    Examples
    --------
    >>> share_of_what("tolerance", 5.15)
    'tolerance (5.15 SD)'
    """
    if share_of == "tolerance":
        return share_of if multiplier == 6.0 else f"{share_of} ({multiplier:g} SD)"
    return "total variation" if share_of == "total spread" else share_of


@dataclass(frozen=True, slots=True)
class GaugeFacts:
    """What is known of the gauge that the readings come from.

    Attributes
    ----------
    name : str
    share : Interval or Absent
        Gauge spread (GRR) as a share of `share_of`.
    share_of : str
        ``"tolerance"``, ``"total spread"`` (of the study) or ``"process variation"`` (of the run).
    multiplier : float
        Standard deviations that the gauge's spread counts where it is held against the tolerance.
    declared : bool
        Whether it rests on a spread of specimens that study.toml declares.
    ndc : Interval or Absent
        Distinct categories by the parts of the gauge study.
    ndc_by_run : float or None
        The same by the spread of the run, which no choice of parts can flatter.
    failed : bool
        A crossed study was submitted and could not be judged.
    separable : bool
        False for destructive tests, whose spread includes that of the parts.
    bias : dict of str to Interval
        At each limit, or at the masters where no line was fitted; 90 % intervals, in the
        characteristic's unit.
    width : float or None
        Tolerance, or six standard deviations of the run where there is none; shares refer to it.
    drift : Interval or None
        Change over the longest stretch between resets, or over `drift_gap` where that is longer, 90 %, in the
        characteristic's unit.
    drift_gap : float or None
        Strokes from the nearest reading of the master to the stroke of the run that lies farthest from all of them,
        where they are more than the longest stretch of such readings; None where the master was read all along.
    q_ms, q_mp : Interval or None
        Shares of the tolerance that the expanded uncertainty takes (VDA 5).
    cg, cgk : Interval or None
    step_share : float or None
        Step of the readings over the tolerance.
    repeat_p : float or None
        p-value that the crossed study repeats better than readings of masters or in drift do.
    repeat_ratio : float or None
        How many times the spread elsewhere is that of the crossed study.
    repeat_where : str
        ``"on masters"`` or ``"in drift"``: where it repeats worst.
    certified : float or None
        Expanded uncertainty of the calibration certificate over the width.
    least_share : float or None
        `share` with the resolution's uncertainty, step over the square root of twelve, in place of a
        repeatability that is smaller; None where repeated readings show more than that.
    least_ndc : float or None
        ndc of the same.
    parts, appraisers : int or None
        Of the crossed study; `appraisers` is None where the study names none.
    repeat_df : float or None
        Degrees of freedom of its repeatability.
    parts_beyond : float
        How far the middle one of its parts lies beyond a limit, over the width.
    missing : int
        Readings of the crossed study that most of its parts have and others lack.
    missing_of : int
        Readings that it would have without them missing.
    missing_share : float or None
        `share` had each of them lain three standard deviations of repeatability off its cell.
    over_time_p : float or None
        p-value that studies of the gauge made one after the other read the same parts alike, of the two that differ
        most; None where there is one study.
    over_time_share : float or None
        `share` with that difference counted as spread between studies.
    over_time : str
        Which two they are and how much they differ, in words.
    masters_stated : bool
        Whether every master that was read has a stated uncertainty, in its [[data]] or [[master]] table.
    masters_short : str
        Near which limit no master was read; empty where masters reach the limits.
    bias_refused : str
        Why masters that were read give no bias; empty where they do, or where none was read.
    drift_level : Interval or None
        Mean error on the master of the stretch between two resets that lies farthest off, 90 %, in the
        characteristic's unit.
    drift_refused : str
        Why readings of a master over time say nothing of drift; empty where they do, or where there are none.
    worst_appraiser : str
        Who repeats worst in the crossed study; empty where it names fewer than two.
    appraisers_p : float or None
        p-value that all appraisers repeat equally well.
    appraisers_share : float or None
        `share` had all of them repeated as the worst.
    paired_with : str
        Gauge that read the same parts; empty where there is none.
    paired_where : str
        Where the two differ most surely: on average, or at a limit.
    paired_difference : Interval or None
        This gauge less the other there, 90 %, in the characteristic's unit.
    paired_spread : float or None
        Six standard deviations of the differences over the width.
    expired : tuple of str
        Certificates of the gauge and its masters that had run out before the readings, a sentence each.
    """

    name: str = NAMELESS
    share: Interval | Absent = _NO_STUDY
    share_of: str = "tolerance"
    multiplier: float = 6.0
    declared: bool = False
    ndc: Interval | Absent = _NO_STUDY
    ndc_by_run: float | None = None
    failed: bool = False
    separable: bool = True
    bias: dict[str, Interval] = field(default_factory=dict)
    width: float | None = None
    drift: Interval | None = None
    drift_gap: float | None = None
    q_ms: Interval | None = None
    q_mp: Interval | None = None
    cg: Interval | None = None
    cgk: Interval | None = None
    step_share: float | None = None
    repeat_p: float | None = None
    repeat_ratio: float | None = None
    repeat_where: str = "on masters"
    certified: float | None = None
    least_share: float | None = None
    least_ndc: float | None = None
    parts: int | None = None
    appraisers: int | None = None
    repeat_df: float | None = None
    parts_beyond: float = 0.0
    missing: int = 0
    missing_of: int = 0
    missing_share: float | None = None
    over_time_p: float | None = None
    over_time_share: float | None = None
    over_time: str = ""
    masters_stated: bool = True
    masters_short: str = ""
    bias_refused: str = ""
    drift_level: Interval | None = None
    drift_refused: str = ""
    worst_appraiser: str = ""
    appraisers_p: float | None = None
    appraisers_share: float | None = None
    paired_with: str = ""
    paired_where: str = ""
    paired_difference: Interval | None = None
    paired_spread: float | None = None
    expired: tuple[str, ...] = ()

    @property
    def of_what(self) -> str:
        """What the share is of, in the words of the trade."""
        return share_of_what(self.share_of, self.multiplier)


@dataclass(frozen=True, slots=True)
class JudgementFacts:
    """How far judgements can be trusted, each number that of the worst appraiser.

    Attributes
    ----------
    parts, trials : int
    effectiveness, miss, false_alarm : Interval or Absent
        Shares with intervals by part, which never have zero width.
    kappa : Interval or Absent
        Against the reference.
    kappa_between : Interval or Absent
        Between people, nobody compared with themselves.
    team_effectiveness : Interval or Absent
        Share of parts always judged right by everyone.
    appraisers : int or None
        Who judged; None where a camera or another machine did, 0 where nobody is named.
    incomplete : int
        Judgements missing.
    good, bad : int or None
        Parts of either kind by the reference; None without one.
    at_worst : WorstRates or None
        The same rates with every missing judgement counted as wrong; None where none is missing.
    who : dict of str to str
        Which appraiser gave each of the worst.
    """

    parts: int = 0
    trials: int = 0
    effectiveness: Interval | Absent = _NO_STUDY
    miss: Interval | Absent = _NO_STUDY
    false_alarm: Interval | Absent = _NO_STUDY
    kappa: Interval | Absent = _NO_STUDY
    kappa_between: Interval | Absent = _NO_STUDY
    team_effectiveness: Interval | Absent = _NO_STUDY
    appraisers: int | None = None
    incomplete: int = 0
    good: int | None = None
    bad: int | None = None
    at_worst: WorstRates | None = None
    who: dict[str, str] = field(default_factory=dict)
