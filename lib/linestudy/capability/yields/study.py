"""Yield and rejects: by reason, stream, coil and hour, and verdicts that the readings contradict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.gauges.budget.risk_study import ConformityRisk
from linestudy.numerics.shares import share_interval
from linestudy.results import CannotJudge, Finding, Interval, arguments, counted, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import show_ppm
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd

#: p-value below which verdicts and readings contradict each other (common practice, no source).
CONTRADICTION = 0.001
#: Reason of rejected parts whose log gives none.
_NO_REASON = "no reason named"
#: Most groups of one kind that are listed.
_MOST = 40
_KINDS = {"reason": "reason", "station": "stream", "coil": "coil", "hour": "hour"}


@dataclass(frozen=True, slots=True)
class RejectShare:
    """Rejects of one group of parts.

    Attributes
    ----------
    by : str
        ``"reason"``, ``"stream"``, ``"coil"`` or ``"hour"``.
    name : str
        Of the group.
    rejected : int
        Parts rejected.
    parts : int
        Parts made in the group; of a reason all parts.
    share : Interval
        Rejected over made.
    """

    by: str
    name: str
    rejected: int
    parts: int
    share: Interval


@dataclass(frozen=True, slots=True)
class WrongVerdicts:
    """Verdicts that the logged readings contradict.

    Attributes
    ----------
    count : int
        Parts.
    share : Interval
        Of the parts whose readings are all there.
    expected : float or None
        At most so many come from measurement error: of the sorter's reading and of the logged one.
    p : float or None
        Of at least so many, if measurement error alone makes them.
    """

    count: int
    share: Interval
    expected: float | None
    p: float | None

    @property
    def explained(self) -> bool | None:
        """Whether measurement error explains them; None where the gauge's risk is not known."""
        return None if self.p is None else self.p >= CONTRADICTION


@dataclass(frozen=True)
class YieldStudy(Finding):
    """Yield of a run, its rejects, and verdicts that the readings contradict.

    Attributes
    ----------
    parts : int
        With a verdict.
    rejected : int
        Of these, rejected.
    yielded : Interval
        Accepted over parts.
    groups : tuple of RejectShare
        By reason, stream, coil and hour, as far as the log has them; within each the most rejects first, hours in order.
    escapes : WrongVerdicts or None
        Accepted parts with a reading outside its limits; None where no part has all its readings.
    overkill : WrongVerdicts or None
        Rejected parts with all readings inside.
    streams_p : float or None
        Of one reject rate in all streams (chi-square).
    """

    parts: int
    rejected: int
    yielded: Interval
    groups: tuple[RejectShare, ...]
    escapes: WrongVerdicts | None
    overkill: WrongVerdicts | None
    streams_p: float | None
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Yield and rejects"
    picture: ClassVar[str] = "streams:rejects_by_group"

    @property
    def statement(self) -> str:
        text = (
            f"Of {self.parts:,} parts {self.rejected:,} were rejected: yield {self.yielded.estimate:.2%} "
            f"({self.yielded.low:.2%} to {self.yielded.high:.2%})."
        )
        reasons = [g for g in self.groups if g.by == "reason" and g.name != _NO_REASON]
        if reasons and self.rejected:
            first = reasons[0]
            name = f"code {first.name}" if first.name.isdecimal() else first.name
            text += (
                f" The most frequent reason is {name} ({first.rejected:,} of {self.rejected:,})."
            )
        streams = [group for group in self.groups if group.by == "stream"]
        if streams and self.streams_p is not None and self.streams_p < 0.01:
            # By its share: a lane that made few parts has few of the rejects.
            worst = max(streams, key=lambda group: group.share.estimate)
            text += (
                f" Stream {worst.name} is rejected most often: {worst.rejected:,} of {worst.parts:,} parts "
                f"({worst.share.estimate:.2%})."
            )
        if self.escapes is not None and self.overkill is not None:
            text += (
                f" Accepted with a reading outside the limits: {_said(self.escapes)}; "
                f"rejected with all readings inside: {_said(self.overkill)}."
            )
        return text

    def _rows(self) -> Rows:
        rows: list[dict[str, Any]] = [
            {
                "rejects by": group.by,
                "group": group.name,
                "rejected": group.rejected,
                "of parts": group.parts,
                "share (ppm)": group.share.times(1e6),
            }
            for group in self.groups
        ]
        for name, item in (
            ("accepted, reading outside", self.escapes),
            ("rejected, readings inside", self.overkill),
        ):
            if item is not None:
                rows.append(
                    {
                        "rejects by": "verdict against readings",
                        "group": name,
                        "rejected": item.count,
                        "of parts": self.parts,
                        "share (ppm)": item.share.times(1e6),
                    }
                )
        return rows


YIELD = Declaration(
    "yield", YieldStudy, "Yield and rejects", of_study=True, order=15, picture=60, with_table=True
)


def _said(item: WrongVerdicts) -> str:
    text = f"{counted(item.count, 'part')}, {show_ppm(item.share.times(1e6))} ppm"
    if item.expected is None:
        return text
    return f"{text} (measurement error explains {item.expected:.1f} at most)"


def yield_study(
    data: pd.DataFrame,
    limits: Mapping[str, tuple[float | None, float | None]],
    *,
    risks: Mapping[str, ConformityRisk] | None = None,
    confidence: float = 0.95,
) -> YieldStudy:
    r"""Count yield and rejects of a run, and hold verdicts against readings.

    Parameters
    ----------
    data : pandas.DataFrame
        One part per row: ``accepted`` (bool), a column of readings for each characteristic, and as far as
        known ``reason``, ``station``, ``coil`` and ``time``.
    limits : mapping of str to (float or None, float or None)
        Lower and upper limit of each characteristic.
    risks : mapping of str to ConformityRisk, optional
        Risks of wrong verdicts, by characteristic.
    confidence : float
        Of the intervals, between 0 and 1.

    Returns
    -------
    YieldStudy
        Yield, rejects by group, escapes and overkill.

    Raises
    ------
    CannotJudge
        No part has a verdict.
    KeyError
        The run has no column ``accepted``, or none of a characteristic.

    See Also
    --------
    reject_balance : Rejects that the models predict, against the bins.

    Notes
    -----
    Model: parts are independent; intervals of shares are those of Clopper and Pearson. The sorter judges a reading
    of its own, or the one that is logged. With a reading of its own a part whose logged reading lies outside is
    accepted where it is bad and was read as good, or is good and its logged reading was wrong: that is at most

    .. math:: n \sum_i (r^\mathrm{bad\ accepted}_i + r^\mathrm{good\ rejected}_i),

    and the same bound holds for rejected parts with readings inside. More than that (Poisson, p below 0.001)
    is no measurement error: other limits in the sorter, bins that were mixed up, a reason that no reading holds. Misleads
    where parts are rejected for something that is not measured.

    References
    ----------
    Clopper & Pearson, *Biometrika* 26 (1934), 404-413. JCGM 106:2012, 9.3 (global risks).

    Examples
    --------
    >>> import pandas as pd
    >>> run = pd.DataFrame({"accepted": [True] * 99 + [False], "w": [1.0] * 99 + [3.0]})
    >>> found = yield_study(run, {"w": (0.0, 2.0)})
    >>> found.rejected, found.escapes.count, found.overkill.count
    (1, 0, 0)
    """
    arguments.share("confidence", confidence)
    for name in ("accepted", *limits):
        data_arguments.column(data, name, "data")
    known = data[data["accepted"].notna()]
    if not len(known):
        raise CannotJudge("No part of the run has a verdict.")
    accepted = known["accepted"].to_numpy(dtype=bool)
    n, rejected = int(accepted.size), int((~accepted).sum())
    good = share_interval(n - rejected, n, confidence)
    groups, p = _groups(known, ~accepted, confidence)
    escapes, overkill = _wrong(known, accepted, limits, risks or {}, confidence)
    return YieldStudy(
        parts=n,
        rejected=rejected,
        yielded=good,
        groups=groups,
        escapes=escapes,
        overkill=overkill,
        streams_p=p,
        cautions=_cautions(escapes, overkill, groups),
    )


def _groups(
    run: pd.DataFrame, rejected: Any, confidence: float
) -> tuple[tuple[RejectShare, ...], float | None]:
    import pandas as pd

    found: list[RejectShare] = []
    p = None
    tags = {name: run[name] for name in ("reason", "station", "coil") if name in run}
    if "time" in run and run["time"].notna().any():
        tags["hour"] = run["time"].dt.floor("h").dt.strftime("%Y-%m-%d %H:00")
    for key, labels in tags.items():
        if key == "reason":
            named = _one_spelling(labels[rejected]).value_counts(sort=False)
            table = pd.DataFrame({"rejected": named, "parts": len(run)})
        else:
            by = pd.Series(rejected, index=run.index).groupby(labels)
            table = pd.DataFrame({"rejected": by.sum(), "parts": by.size()})
        if key == "station" and len(table) > 1:
            p = _alike(table["rejected"].to_numpy(float), table["parts"].to_numpy(float))
        if key != "hour":
            table = table.sort_index().sort_values("rejected", ascending=False, kind="stable")
        counts = table.to_numpy(dtype=int)[:_MOST]
        found += [
            RejectShare(
                _KINDS[key],
                str(name) or "none named",
                int(bad),
                int(made),
                share_interval(int(bad), int(made), confidence),
            )
            for name, (bad, made) in zip(table.index[:_MOST], counts, strict=True)
        ]
    return tuple(found), p


def _one_spelling(reasons: pd.Series) -> pd.Series:
    """Write reasons that differ in capitals, spaces and marks at their ends alone in the most used spelling."""
    plain = reasons.fillna("").astype(str).str.strip()
    bare = plain.str.casefold().str.replace(r"\s+", " ", regex=True).str.strip(" .,;:!-–—_/")
    most = plain.groupby(bare).agg(lambda same: same.value_counts(sort=True).index[0])
    nothing = bare.isin(["", "n/a", "none", "null", "nan"])
    return bare.map(most).where(~nothing, _NO_REASON)


def _alike(rejected: Any, parts: Any) -> float:
    """Compute the p-value of one reject rate throughout."""
    from scipy.stats import chi2_contingency

    if rejected.sum() == 0:
        return 1.0
    return float(chi2_contingency(np.array([rejected, parts - rejected])).pvalue)


def _wrong(
    run: pd.DataFrame,
    accepted: Any,
    limits: Mapping[str, tuple[float | None, float | None]],
    risks: Mapping[str, ConformityRisk],
    confidence: float,
) -> tuple[WrongVerdicts | None, WrongVerdicts | None]:
    whole = run[list(limits)].notna().all(axis=1).to_numpy()
    n = int(whole.sum())
    if not n or not limits:
        return None, None
    outside = np.zeros(len(run), dtype=bool)
    for name, (lower, upper) in limits.items():
        y = run[name].to_numpy(dtype=float)
        if lower is not None:
            outside |= y < lower
        if upper is not None:
            outside |= y > upper
    expected = None
    if risks and set(limits) <= set(risks):
        rate = sum(risks[k].false_accept.high + risks[k].false_reject.high for k in limits)
        expected = float(n * rate)
    return (
        _counted_wrong(int((outside & accepted & whole).sum()), n, expected, confidence),
        _counted_wrong(int((~outside & ~accepted & whole).sum()), n, expected, confidence),
    )


def _counted_wrong(count: int, n: int, expected: float | None, confidence: float) -> WrongVerdicts:
    from scipy.special import pdtrc

    p = None
    if expected is not None:
        p = 1.0 if count == 0 else float(pdtrc(count - 1, max(expected, 1e-300)))
    return WrongVerdicts(count, share_interval(count, n, confidence), expected, p)


def _cautions(
    escapes: WrongVerdicts | None, overkill: WrongVerdicts | None, groups: tuple[RejectShare, ...]
) -> tuple[str, ...]:
    notes = []
    if escapes is not None and escapes.explained is False:
        notes.append(
            f"{counted(escapes.count, 'accepted part')} lie outside the limits by the logged reading, more than measurement "
            "error explains: look at the sorter's limits and at the bins."
        )
    elif escapes is not None and escapes.count and escapes.expected is None:
        notes.append(
            "Parts outside the limits were accepted, and no gauge study says how many may be."
        )
    if overkill is not None and overkill.explained is False:
        notes.append(
            f"{counted(overkill.count, 'rejected part')} lie inside all limits by the logged reading, more than measurement error "
            "explains: they were rejected for something that is not measured, or by other limits."
        )
    unnamed = next((g.rejected for g in groups if g.name == _NO_REASON), 0)
    if unnamed:
        notes.append(
            f"{counted(unnamed, 'rejected part')} {'names' if unnamed == 1 else 'name'} no reason."
        )
    return tuple(notes)
