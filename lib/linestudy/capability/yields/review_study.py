"""What people who looked at stored pictures say of the verdict that the line gave: escapes, overkill, rates of error."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.capability.yields.review_sample import GROUPS, JUDGEMENTS, ReviewSheet
from linestudy.gauges.budget.risk_study import ConformityRisk
from linestudy.numerics.shares import share_interval
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    counted,
    data_arguments,
)
from linestudy.results.rounding import show_ppm
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd

_WORDS = {"accept": True, "reject": False, "true": True, "false": False}


@dataclass(frozen=True, slots=True)
class ReviewedGroup:
    """Reviewed parts of one group.

    Attributes
    ----------
    name : str
        ``"rejected"``, ``"accepted, near a limit"`` or ``"accepted"``.
    made : int
        Parts of the run.
    pictured : int
        Those of them with a stored picture.
    reviewed : int
        Parts judged.
    contradicted : int
        Judged otherwise than the line's verdict.
    share : Interval or Absent
        Contradicted over reviewed.
    """

    name: str
    made: int
    pictured: int
    reviewed: int
    contradicted: int
    share: Interval | Absent


@dataclass(frozen=True)
class ReviewStudy(Finding):
    """The line's verdict held against people who looked at pictures.

    Attributes
    ----------
    appraisers : tuple of str
        Who judged.
    groups : tuple of ReviewedGroup
        Rejected, accepted near a limit, accepted.
    escapes : Interval or Absent
        [ppm] Of all parts: accepted, and judged to be rejected.
    overkill : Interval or Absent
        [ppm] Of all parts: rejected, and judged to be accepted.
    miss : Interval or Absent
        Share of the bad parts that the line accepts. Formula: ``escapes / (escapes + rejected and bad)``.
    false_alarm : Interval or Absent
        Share of the good parts that the line rejects.
    expected_ppm : float or None
        [ppm] At most so many wrong verdicts of either kind come from measurement error.
    disagreed : int
        Parts on which the appraisers were not of one mind; the majority counts, a tie rejects.
    """

    appraisers: tuple[str, ...]
    groups: tuple[ReviewedGroup, ...]
    escapes: Interval | Absent
    overkill: Interval | Absent
    miss: Interval | Absent
    false_alarm: Interval | Absent
    expected_ppm: float | None
    disagreed: int
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Verdict against review of pictures"

    @property
    def statement(self) -> str:
        seen = sum(group.reviewed for group in self.groups)
        text = f"{counted(len(self.appraisers), 'appraiser')} looked at {counted(seen, 'part')}."
        for name, found in (("Escapes", self.escapes), ("overkill", self.overkill)):
            if isinstance(found, Interval):
                text += f" {name} {show_ppm(found)} ppm of all parts"
                text += ";" if name == "Escapes" else "."
        if self.expected_ppm is not None:
            text += f" Measurement error explains at most {self.expected_ppm:,.0f} ppm of each."
        return text

    def _rows(self) -> Rows:
        return [
            {
                "parts": group.name,
                "made": group.made,
                "with picture": group.pictured,
                "reviewed": group.reviewed,
                "judged otherwise": group.contradicted,
                "share": group.share,
            }
            for group in self.groups
        ]


def review_of_verdicts(
    sheet: ReviewSheet,
    judgements: pd.DataFrame,
    *,
    risks: Mapping[str, ConformityRisk] | None = None,
    confidence: float = 0.95,
) -> ReviewStudy:
    r"""Hold the line's verdicts against judgements of its pictures.

    Parameters
    ----------
    sheet : ReviewSheet
        The parts that were drawn.
    judgements : pandas.DataFrame
        ``part``, ``appraiser`` and ``judgement`` (accept or reject), as ``sheet.ask`` writes them; empty judgements are
        passed over.
    risks : mapping of str to ConformityRisk, optional
        Risks of wrong verdicts of the gauge, by characteristic.
    confidence : float
        Of the intervals, between 0 and 1.

    Returns
    -------
    ReviewStudy
        Escapes and overkill of the whole run, and the camera's rates of error.

    Raises
    ------
    CannotJudge
        No judgement of a part of the sheet.
    ValueError
        A judgement that is neither accept nor reject, or a column that is not there.

    See Also
    --------
    review_sheet : Draws the parts.
    camera_judgements : The same as an attribute study.

    Notes
    -----
    Model: each group is a random sample of its parts; the reference of a part is what most appraisers say, and a
    tie rejects. With :math:`W_h` the share of group h in the run and :math:`p_h` its share contradicted, escapes are
    :math:`\sum_h W_h p_h` over the accepted groups, and the ends of the interval lie

    .. math:: \sqrt{\textstyle\sum_h W_h^2 (p_h - l_h)^2}, \qquad \sqrt{\textstyle\sum_h W_h^2 (u_h - p_h)^2}

    away (square-and-add of Clopper and Pearson's ends :math:`l_h, u_h`). Rates of error take the ends of both their
    parts, which is conservative. A sample of drawn groups is no sample of the run: rates counted over the sheet
    (:func:`camera_judgements`) are those of the mix of the study. Misleads where a picture does not show the fault.

    References
    ----------
    Zou & Donner, *Statistics in Medicine* 27 (2008), 1693-1702 (square-and-add). Clopper & Pearson, *Biometrika* 26
    (1934), 404-413. Cochran, *Sampling Techniques*, 3rd ed. (1977), ch. 5.

    Examples
    --------
    See ``notebooks/submission/8_review.ipynb``.
    """
    arguments.share("confidence", confidence)
    reference, names, disagreed = _reference(sheet, judgements)
    parts = sheet.parts[sheet.parts["part"].isin(reference)]
    bad = ~parts["part"].map(reference).to_numpy(dtype=bool)
    group, accepted = parts["group"].to_numpy(), parts["accepted"].to_numpy(dtype=bool)
    wrong = np.where(accepted, bad, ~bad)
    groups = []
    for name in GROUPS:
        n, count = int((group == name).sum()), int(wrong[group == name].sum())
        share = share_interval(count, n, confidence) if n else Absent("no part was reviewed")
        groups.append(ReviewedGroup(name, sheet.made[name], sheet.pictured[name], n, count, share))
    total = float(sum(sheet.made.values()))
    rejected, near, other = groups
    escapes = _together([near, other], total, confidence)
    overkill = _together([rejected], total, confidence)
    kept = rejected.made / total
    expected = None
    if risks:
        expected = 1e6 * sum(
            float(one.false_accept.high + one.false_reject.high) for one in risks.values()
        )
    return ReviewStudy(
        appraisers=names,
        groups=tuple(groups),
        escapes=escapes if isinstance(escapes, Absent) else escapes.times(1e6),
        overkill=overkill if isinstance(overkill, Absent) else overkill.times(1e6),
        miss=_rate(escapes, kept, overkill),
        false_alarm=_rate(overkill, 1 - kept, escapes),
        expected_ppm=expected,
        disagreed=disagreed,
        cautions=_cautions(groups, disagreed, escapes, overkill, expected),
    )


def camera_judgements(
    sheet: ReviewSheet, judgements: pd.DataFrame, *, camera: str = "camera"
) -> pd.DataFrame:
    """Turn a review into an attribute study of the line's verdict.

    Parameters
    ----------
    sheet : ReviewSheet
        The parts that were drawn.
    judgements : pandas.DataFrame
        As for :func:`review_of_verdicts`.
    camera : str
        What gave the verdict.

    Returns
    -------
    pandas.DataFrame
        ``part``, ``appraiser``, ``judgement`` and ``reference`` (True accepts), as
        :func:`~linestudy.gauges.judgement_agreement` and a file of role ``attribute`` take them.

    Raises
    ------
    CannotJudge
        No judgement of a part of the sheet.
    ValueError
        A judgement that is neither accept nor reject, or a column that is not there.

    See Also
    --------
    review_of_verdicts : Rates of the whole run.

    Notes
    -----
    The reference of a part is what most appraisers say, and a tie rejects. Shares of good and bad parts are those of
    the sheet, not of the run.

    References
    ----------
    AIAG, *Measurement Systems Analysis*, 4th ed. (2010), ch. III, section C.

    Examples
    --------
    See ``notebooks/submission/8_review.ipynb``.
    """
    reference, _, _ = _reference(sheet, judgements)
    parts = sheet.parts[sheet.parts["part"].isin(reference)]
    return (
        parts[["part"]]
        .assign(
            appraiser=camera,
            judgement=parts["accepted"].to_numpy(dtype=bool),
            reference=parts["part"].map(reference).to_numpy(dtype=bool),
        )
        .reset_index(drop=True)
    )


def _reference(
    sheet: ReviewSheet, judgements: pd.DataFrame
) -> tuple[dict[str, bool], tuple[str, ...], int]:
    """Find what most appraisers say of each part, who they are, and of how many parts they disagree."""
    for name in JUDGEMENTS:
        data_arguments.column(judgements, name, "judgements")
    text = judgements["judgement"].fillna("").astype(str).str.strip().str.lower()
    table = judgements[(text != "").to_numpy()].assign(judgement=text[text != ""])
    odd = set(table["judgement"]) - set(_WORDS)
    if odd:
        raise ValueError(
            f"judgement holds {', '.join(sorted(odd))}; accept and reject are allowed."
        )
    table = table[table["part"].astype(str).isin(set(sheet.parts["part"]))]
    if not len(table):
        raise CannotJudge("No part of the review sheet has been judged.")
    accept = table["judgement"].map(_WORDS).astype(float)
    mean = accept.groupby(table["part"].astype(str).to_numpy()).mean()
    names = tuple(sorted(table["appraiser"].astype(str).unique()))
    reference = {str(part): bool(share > 0.5) for part, share in mean.items()}
    return reference, names, int(((mean > 0) & (mean < 1)).sum())


def _together(groups: list[ReviewedGroup], total: float, confidence: float) -> Interval | Absent:
    """Estimate contradicted parts of all groups over all parts of the run."""
    held = [group for group in groups if group.made]
    shares = [group.share for group in held]
    if any(isinstance(share, Absent) for share in shares):
        names = ", ".join(group.name for group in held if isinstance(group.share, Absent))
        return Absent(f"no part was reviewed of: {names}")
    if not held:
        return Interval(0.0, 0.0, 0.0, confidence, "no such part was made")
    known: list[Any] = shares
    weights = [group.made / total for group in held]
    best = sum(w * one.estimate for w, one in zip(weights, known, strict=True))
    below = math.hypot(
        *(w * (one.estimate - one.low) for w, one in zip(weights, known, strict=True))
    )
    above = math.hypot(
        *(w * (one.high - one.estimate) for w, one in zip(weights, known, strict=True))
    )
    return Interval(
        float(best),
        max(float(best - below), 0.0),
        float(best + above),
        confidence,
        "square-and-add",
    )


def _rate(
    wrong: Interval | Absent, of_that_verdict: float, other: Interval | Absent
) -> Interval | Absent:
    """Estimate wrong verdicts over all parts that are so: wrong, and those of the other verdict that are right."""
    if isinstance(wrong, Absent) or isinstance(other, Absent):
        return Absent("not all groups were reviewed")

    def rate(a: float, b: float) -> float:
        right = max(of_that_verdict - b, 0.0)
        return a / (a + right) if a + right > 0 else 0.0

    return Interval(
        rate(wrong.estimate, other.estimate),
        rate(wrong.low, other.low),
        rate(wrong.high, other.high),
        wrong.confidence,
        "ends of both shares",
    )


def _cautions(
    groups: list[ReviewedGroup],
    disagreed: int,
    escapes: Interval | Absent,
    overkill: Interval | Absent,
    expected: float | None,
) -> tuple[str, ...]:
    notes = []
    for group in groups:
        if 0 < group.pictured < 0.5 * group.made:
            notes.append(
                f"Pictures are stored of {group.pictured:,} of {group.made:,} parts ({group.name}); they count as a random "
                "sample of them."
            )
        elif group.made and not group.pictured:
            notes.append(f"No picture is stored of any part of this kind: {group.name}.")
    if disagreed:
        notes.append(
            f"The appraisers do not agree on {counted(disagreed, 'part')}; the majority counts, and a tie rejects."
        )
    for name, found in (("escapes", escapes), ("overkill", overkill)):
        if expected is not None and isinstance(found, Interval) and 1e6 * found.low > expected:
            notes.append(
                f"More {name} than measurement error explains: look at the sorter's limits, and at what it does not measure."
            )
    return tuple(notes)
