"""Judgements by eye or by a camera's verdict: do they agree with the truth and with each other.

Model: judgements of one appraiser on different parts are independent. Kappa compares agreement
with what chance would give at the same shares of accepted parts; where nearly all parts are
good (or bad) kappa is low although hardly anyone errs, so rates are shown beside it. The part
mix of a study is chosen, not sampled: rates refer to that mix of borderline parts.

Sources: AIAG MSA, 4th ed. (2010), ch. III, section C; Cohen, *Educational and Psychological
Measurement* 20 (1960); Fleiss, *Psychological Bulletin* 76 (1971); Clopper & Pearson,
*Biometrika* 26 (1934). Computed by statsmodels where it has them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from linestudy.numerics.shares import share_interval
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    counted,
    data_arguments,
    show,
)
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class AttributeStudy(Finding):
    """Result of a study of judgements.

    Attributes
    ----------
    parts : int
        Parts judged.
    trials : int
        Judgements of each part by each appraiser, the fewest.
    appraisers : tuple of str
        Their names.
    effectiveness : dict of str to Interval or Absent
        By appraiser: share of parts always judged right.
    miss : dict of str to Interval or Absent
        By appraiser: share of judgements of bad parts that accept.
    false_alarm : dict of str to Interval or Absent
        By appraiser: share of judgements of good parts that reject.
    within : dict of str to Interval
        By appraiser: share of parts on which they agree with themselves.
    between : Interval or Absent
        Share of parts on which all judgements of all appraisers agree.
    kappa_with_reference : dict of str to Interval or Absent
        Cohen's kappa of each appraiser against the reference. Formula: (p_o - p_e) / (1 - p_e).
    kappa_between : Interval or Absent
        Fleiss' kappa of all judgements.
    share_accepted : float or None
        Share of parts that the reference accepts.
    """

    parts: int
    trials: int
    appraisers: tuple[str, ...]
    effectiveness: dict[str, Interval | Absent]
    miss: dict[str, Interval | Absent]
    false_alarm: dict[str, Interval | Absent]
    within: dict[str, Interval]
    between: Interval | Absent
    kappa_with_reference: dict[str, Interval | Absent]
    kappa_between: Interval | Absent
    share_accepted: float | None
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Judgements"
    picture: ClassVar[str] = "gauges:judgement_rates"

    @property
    def statement(self) -> str:
        people = counted(len(self.appraisers), "appraiser")
        known = {k: v for k, v in self.kappa_with_reference.items() if isinstance(v, Interval)}
        if not known:
            return (
                f"{people} judged {self.parts} parts; agreement between them "
                f"has kappa {show(self.kappa_between)}, agreement with a reference is not known."
            )
        who, lowest = min(known.items(), key=lambda item: item[1].estimate)
        return (
            f"{people} judged {self.parts} parts {counted(self.trials, 'time')}; the "
            f"lowest kappa against the reference is that of {who}, {show(lowest)}."
        )

    def _rows(self) -> Rows:
        return [
            {
                "appraiser": a,
                "always right (%)": _percent(self.effectiveness[a]),
                "bad parts accepted (%)": _percent(self.miss[a]),
                "good parts rejected (%)": _percent(self.false_alarm[a]),
                "agrees with self (%)": _percent(self.within[a]),
                "kappa with reference": self.kappa_with_reference[a],
            }
            for a in self.appraisers
        ]


def _percent(share: Interval | Absent) -> Interval | Absent:
    return share.times(100.0) if isinstance(share, Interval) else share


ATTRIBUTE = Declaration(
    "attribute",
    AttributeStudy,
    part="characteristic",
    question="measurement",
    order=30,
    picture=80,
    with_table=True,
    own="rates",
)


def judgement_agreement(data: pd.DataFrame, *, confidence: float = 0.95) -> AttributeStudy:
    r"""Analyse judgements of parts: rates of error, and agreement beyond chance.

    Parameters
    ----------
    data : pandas.DataFrame
        One judgement per row: ``part``, ``appraiser`` (absent for one appraiser),
        ``judgement`` (bool, True accepts) and, if known, ``reference`` (bool).
    confidence : float
        Of the intervals, between 0 and 1.

    Returns
    -------
    AttributeStudy
        Rates and kappa for each appraiser and between them.

    Raises
    ------
    CannotJudge
        One part, a part whose reference is not always the same, or an appraiser who
        did not judge every part, or a judgement that is missing.
    ValueError
        A column that is not there, or judgements that are not true or false.

    See Also
    --------
    gauge_performance_curve : Where a measured value is behind each judgement.

    Notes
    -----
    Model: judgements of one appraiser on different parts are independent. With observed agreement
    :math:`p_o` and that expected by chance :math:`p_e`,

    .. math:: \kappa = (p_o - p_e) / (1 - p_e)

    by statsmodels; exact binomial intervals of rates. Misleads where nearly all parts are good: kappa
    is then low although hardly anyone errs.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III, section C. Cohen, *Educational and Psychological Measurement* 20
    (1960), 37-46. Fleiss, *Psychological Bulletin* 76 (1971), 378-382. Clopper & Pearson, *Biometrika*
    26 (1934), 404-413.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({"part": list("abcd"), "appraiser": "A",
    ...     "judgement": [True, True, False, False], "reference": [True, True, False, True]})
    >>> print(judgement_agreement(data).kappa_with_reference["A"])
    0.50 (-0.23 to 1.00)
    """
    for column in ("part", "judgement"):
        data_arguments.column(data, column, "data")
    arguments.share("confidence", confidence)
    table = data.copy()
    if "appraiser" not in table:
        table["appraiser"] = "the judgement"
    table["appraiser"] = table["appraiser"].astype(str)
    for column in ("judgement", "reference"):
        if column in table:
            table[column] = _yes_or_no(table[column], column)
    counts = table.groupby(["part", "appraiser"]).size().unstack(fill_value=0)
    if counts.shape[0] < 2:
        raise CannotJudge("Only one part was judged.")
    if (counts == 0).any(axis=None):
        row, column = np.argwhere(counts.to_numpy() == 0)[0]
        part, person = counts.index[row], counts.columns[column]
        raise CannotJudge(
            f"Appraiser {person} did not judge part {part}; everyone must judge all parts."
        )
    known = "reference" in table
    if known and (table.groupby("part")["reference"].nunique() > 1).any():
        both = table.groupby("part")["reference"].nunique() > 1
        raise CannotJudge(
            f"For {int(both.sum())} of {len(both)} parts the reference is given both ways; decide which "
            "holds."
        )
    people = tuple(sorted(set(table["appraiser"])))
    each = {
        person: _one_appraiser(table[table["appraiser"] == person], known, confidence)
        for person in people
    }
    all_agree = table.groupby("part")["judgement"].nunique() == 1
    several = len(people) > 1
    share = float(table.groupby("part")["reference"].first().mean()) if known else None
    return AttributeStudy(
        parts=int(counts.shape[0]),
        trials=int(counts.to_numpy().min()),
        appraisers=people,
        effectiveness={person: one.effectiveness for person, one in each.items()},
        miss={person: one.miss for person, one in each.items()},
        false_alarm={person: one.false_alarm for person, one in each.items()},
        within={person: one.within for person, one in each.items()},
        between=share_interval(int(all_agree.sum()), len(all_agree), confidence)
        if several
        else Absent("one appraiser judged"),
        kappa_with_reference={person: one.kappa for person, one in each.items()},
        kappa_between=_fleiss(table, confidence),
        share_accepted=share,
        cautions=_cautions(share, counts),
    )


def _yes_or_no(cells: pd.Series[bool], column: str) -> pd.Series[bool]:
    """Read True and False, or 1 and 0; refuse missing ones with their count."""
    missing = int(cells.isna().sum())
    if missing:
        raise CannotJudge(f"{missing} of {len(cells)} rows have no {column}.")
    if not set(cells.unique()) <= {0, 1}:
        raise ValueError(f"{column}: it must hold True and False (or 1 and 0) only")
    return cells.astype(bool)


@dataclass(frozen=True, slots=True)
class _Appraiser:
    effectiveness: Interval | Absent
    miss: Interval | Absent
    false_alarm: Interval | Absent
    within: Interval
    kappa: Interval | Absent


def _one_appraiser(own: pd.DataFrame, known: bool, confidence: float) -> _Appraiser:
    same = own.groupby("part")["judgement"].nunique() == 1
    within = share_interval(int(same.sum()), len(same), confidence)
    if not known:
        absent = Absent("no reference was given")
        return _Appraiser(absent, absent, absent, within, absent)
    right = (own["judgement"] == own["reference"]).groupby(own["part"]).all()
    bad, good = own[~own["reference"]], own[own["reference"]]
    return _Appraiser(
        effectiveness=share_interval(int(right.sum()), len(right), confidence),
        miss=share_interval(int(bad["judgement"].sum()), len(bad), confidence)
        if len(bad)
        else Absent("no bad part was in the study"),
        false_alarm=share_interval(int((~good["judgement"]).sum()), len(good), confidence)
        if len(good)
        else Absent("no good part was in the study"),
        within=within,
        kappa=_cohen(own["judgement"], own["reference"], confidence),
    )


def _cohen(
    judgement: pd.Series[bool], reference: pd.Series[bool], confidence: float
) -> Interval | Absent:
    from scipy.special import ndtri
    from statsmodels.stats.inter_rater import cohens_kappa

    a, b = judgement.to_numpy(dtype=bool), reference.to_numpy(dtype=bool)
    counts = np.array([[(~a & ~b).sum(), (~a & b).sum()], [(a & ~b).sum(), (a & b).sum()]])
    if min(counts.sum(axis=0).max(), counts.sum(axis=1).max()) == counts.sum():
        return Absent(
            "all judgements and references are the same, so chance explains any agreement"
        )
    result = cohens_kappa(counts)
    half = float(ndtri((1 + confidence) / 2)) * math.sqrt(max(float(result.var_kappa), 0.0))
    value = float(result.kappa)
    return Interval(
        value,
        max(value - half, -1.0),
        min(value + half, 1.0),
        confidence,
        "large sample (statsmodels)",
    )


def _fleiss(table: pd.DataFrame, confidence: float) -> Interval | Absent:
    """Compute Fleiss' kappa over all judgements, with a jackknife interval over parts."""
    from scipy.special import stdtrit
    from statsmodels.stats.inter_rater import fleiss_kappa

    accepted = table.groupby("part")["judgement"].sum().to_numpy()
    number = table.groupby("part")["judgement"].size().to_numpy()
    if (number != number[0]).any():
        return Absent("parts were judged unequal numbers of times")
    if number[0] < 2:
        return Absent("each part was judged once")
    counts = np.column_stack([accepted, number - accepted])
    if (counts.sum(axis=0) == 0).any():
        return Absent("all judgements are the same, so chance explains any agreement")
    value = float(fleiss_kappa(counts))
    n = len(counts)
    keep = ~np.eye(n, dtype=bool)
    without = np.array(
        [
            fleiss_kappa(counts[row]) if (counts[row].sum(axis=0) > 0).all() else value
            for row in keep
        ]
    )
    pseudo = n * value - (n - 1) * without
    error = float(pseudo.std(ddof=1)) / math.sqrt(n)
    half = float(stdtrit(n - 1, (1 + confidence) / 2)) * error
    return Interval(value, max(value - half, -1.0), min(value + half, 1.0), confidence, "jackknife")


def _cautions(share: float | None, counts: pd.DataFrame) -> tuple[str, ...]:
    notes = []
    if share is None:
        notes.append("Without a reference, agreement may be agreement in error.")
    elif not 0.2 <= share <= 0.8:
        notes.append(
            f"The reference accepts {share:.0%} of the parts; with so one-sided a mix kappa comes out "
            "low even where few errors are made, so read the rates beside it."
        )
    if counts.shape[0] < 50:
        notes.append(f"{counts.shape[0]} parts are few for rates of error; 50 are usual.")
    if int(counts.to_numpy().min()) < 2:
        notes.append("Each part was judged once, so agreement with oneself is not tested.")
    return tuple(notes)
