"""Judgements by eye or by a camera's verdict: do they agree with the truth and with each other.

Model: parts are chosen (a mix of good, bad and borderline ones) and judged several times by each
appraiser; judgements of different parts are independent, those of one part are not: whoever misses a
bad part once tends to miss it again. So rates and agreement have intervals by part (`rates`), and
what is said refers to the mix of the study. Kappa compares agreement with what chance would give at the
same shares of accepted parts; where nearly all parts are good (or bad) kappa is low although hardly
anyone errs, so rates are given beside it. Agreement between people compares judgements of different people
only: not a person with themselves, nor with the reference.

Sources: AIAG MSA, 4th ed. (2010), ch. III, section C; Cohen, *Educational and Psychological
Measurement* 20 (1960); Conger, *Psychological Bulletin* 88 (1980), eq. 6.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from linestudy.gauges.grr.intervals import in_percent
from linestudy.gauges.judgement.rates import (
    JudgementRates,
    WorstRates,
    agreement_of_two,
    asked_for,
    kappa_of_rates,
    rates_at_worst,
    rates_by_part,
)
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


#: Name of the appraiser where nobody is named.
NOBODY = "the judgement"


@dataclass(frozen=True)
class AttributeStudy(Finding):
    """Result of a study of judgements.

    Attributes
    ----------
    parts : int
        Parts judged.
    trials : int
        Judgements of each part by each appraiser, as most of them were.
    appraisers : tuple of str
        Their names.
    effectiveness : dict of str to Interval or Absent
        By appraiser: share of parts always judged right.
    miss : dict of str to Interval or Absent
        By appraiser: share of judgements of bad parts that accept.
    false_alarm : dict of str to Interval or Absent
        By appraiser: share of judgements of good parts that reject.
    team : JudgementRates
        The same three of all appraisers together: parts always judged right by everyone.
    within : dict of str to Interval or Absent
        By appraiser: share of parts on which they agree with themselves.
    between : Interval or Absent
        Share of parts on which all judgements of all appraisers agree.
    kappa_with_reference : dict of str to Interval or Absent
        Cohen's kappa of each appraiser against the reference. Formula: (p_o - p_e) / (1 - p_e).
    kappa_pairs : dict of str to Interval or Absent
        Of every two appraisers: kappa of judgements of one against those of the other.
    kappa_between : Interval or Absent
        Kappa between people, of all pairs of them together (Conger); no one is compared with themselves.
    share_accepted : float or None
        Share of parts that the reference accepts.
    incomplete : int
        Judgements missing of those that parts, appraisers and trials make.
    at_worst : WorstRates or None
        Rates of the worst appraiser with every missing judgement counted as wrong; None where none is missing.
    """

    parts: int
    trials: int
    appraisers: tuple[str, ...]
    effectiveness: dict[str, Interval | Absent]
    miss: dict[str, Interval | Absent]
    false_alarm: dict[str, Interval | Absent]
    team: JudgementRates
    within: dict[str, Interval | Absent]
    between: Interval | Absent
    kappa_with_reference: dict[str, Interval | Absent]
    kappa_pairs: dict[str, Interval | Absent]
    kappa_between: Interval | Absent
    share_accepted: float | None
    incomplete: int
    at_worst: WorstRates | None
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
            f"{people} judged {self.parts} parts in {counted(self.trials, 'trial')}; lowest kappa "
            f"against the reference {show(lowest)} ({who})."
        )

    def _rows(self) -> Rows:
        rows: Rows = [
            {
                "appraiser": a,
                "effectiveness (%)": in_percent(self.effectiveness[a]),
                "miss rate (%)": in_percent(self.miss[a]),
                "false alarm rate (%)": in_percent(self.false_alarm[a]),
                "within appraiser (%)": in_percent(self.within[a]),
                "kappa": self.kappa_with_reference[a],
                "all appraisers agree (%)": None,
                "kappa between appraisers": None,
            }
            for a in self.appraisers
        ]
        if len(self.appraisers) < 2:
            return rows
        team = {
            "appraiser": "all together",
            "effectiveness (%)": in_percent(self.team.effectiveness),
            "miss rate (%)": in_percent(self.team.miss),
            "false alarm rate (%)": in_percent(self.team.false_alarm),
            "within appraiser (%)": None,
            "kappa": None,
            "all appraisers agree (%)": in_percent(self.between),
            "kappa between appraisers": self.kappa_between,
        }
        pairs = [
            {
                **dict.fromkeys(team),
                "appraiser": names,
                "kappa between appraisers": kappa,
            }
            for names, kappa in self.kappa_pairs.items()
        ]
        return [*rows, team, *pairs]


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
        ``judgement`` (bool, True accepts) and, if known, ``reference`` (bool) and ``trial``, by which
        judgements entered twice are found.
    confidence : float
        Of the intervals, between 0 and 1.

    Returns
    -------
    AttributeStudy
        Rates and kappa for each appraiser and between them.

    Raises
    ------
    CannotJudge
        One part, a part whose reference is not always the same, an appraiser who judged one part only, or a
        judgement entered twice.
    ValueError
        A column that is not there, or judgements that are not true or false.

    See Also
    --------
    gauge_performance_curve : Where a measured value is behind each judgement.

    Notes
    -----
    Model: judgements of different parts are independent, those of one part are not. With observed
    agreement :math:`p_o` and that expected by chance :math:`p_e`,

    .. math:: \kappa = (p_o - p_e) / (1 - p_e)

    Rates have intervals by part that never have zero width; kappa against the reference follows from both
    rates and their intervals, kappa between people from the share of disagreement by part. Incomplete
    judgements are used as far as they go: each rate over what was judged, each pair over the parts that both
    judged. Misleads where nearly all parts are good: kappa is then low although hardly anyone errs.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III, section C. Cohen, *Educational and Psychological Measurement* 20
    (1960), 37-46. Conger, *Psychological Bulletin* 88 (1980), 322-328. Korn & Graubard, *Survey
    Methodology* 24 (1998), 193-201. Zou & Donner, *Statistics in Medicine* 27 (2008), 1693-1702.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({"part": list("abcd"), "appraiser": "A",
    ...     "judgement": [True, True, False, False], "reference": [True, True, False, True]})
    >>> print(judgement_agreement(data).kappa_with_reference["A"])
    0.50 (-0.42 to 0.98)
    """
    for column in ("part", "judgement"):
        data_arguments.column(data, column, "data")
    arguments.share("confidence", confidence)
    table = data.copy()
    if "appraiser" not in table:
        table["appraiser"] = NOBODY
    table["appraiser"] = table["appraiser"].astype(str)
    table = table[table["judgement"].notna()]
    missing = len(data) - len(table)
    for column in ("judgement", "reference"):
        if column in table:
            table[column] = _yes_or_no(table[column], column)
    _refuse_doubles(table)
    counts = table.groupby(["part", "appraiser"]).size().unstack(fill_value=0)
    if counts.shape[0] < 2:
        raise CannotJudge("Only one part was judged.")
    if ((counts > 0).sum() < 2).any():
        lonely = str(counts.columns[(counts > 0).sum() < 2][0])
        raise CannotJudge(f"Appraiser {lonely} judged one part only.")
    known = "reference" in table
    if known and (table.groupby("part")["reference"].nunique() > 1).any():
        both = table.groupby("part")["reference"].nunique() > 1
        raise CannotJudge(
            f"For {int(both.sum())} of {len(both)} parts the reference is given both ways; decide which "
            "holds."
        )
    people = tuple(sorted(set(table["appraiser"])))
    rates = {
        person: rates_by_part(table[table["appraiser"] == person], confidence) for person in people
    }
    whole = rates_by_part(table, confidence)
    pairs, between = _between(table, people, confidence)
    share = float(table.groupby("part")["reference"].first().mean()) if known else None
    usual = int(np.median(counts.to_numpy()[counts.to_numpy() > 0]))
    short = asked_for(counts.to_numpy().ravel()) - counts.to_numpy()
    incomplete = max(int(short.clip(min=0).sum()), missing)
    return AttributeStudy(
        parts=int(counts.shape[0]),
        trials=usual,
        appraisers=people,
        effectiveness={person: one.effectiveness for person, one in rates.items()},
        miss={person: one.miss for person, one in rates.items()},
        false_alarm={person: one.false_alarm for person, one in rates.items()},
        team=whole,
        within={
            person: _agreeing(table[table["appraiser"] == person], confidence) for person in people
        },
        between=_all_agree(table, confidence)
        if len(people) > 1
        else Absent("one appraiser judged"),
        kappa_with_reference={
            person: kappa_of_rates(one, table[table["appraiser"] == person])
            for person, one in rates.items()
        },
        kappa_pairs=pairs,
        kappa_between=between,
        share_accepted=share,
        incomplete=incomplete,
        at_worst=rates_at_worst(table) if incomplete else None,
        cautions=(*_cautions(share, counts, usual, incomplete), *_not_judging(table, rates)),
    )


def _not_judging(table: pd.DataFrame, rates: dict[str, JudgementRates]) -> list[str]:
    """Say who gave every part the same judgement, and who judged against the reference."""
    notes: list[str] = []
    if table["judgement"].nunique() < 2:
        return notes
    for person, one in rates.items():
        own = table[table["appraiser"] == person]
        if own["judgement"].nunique() == 1 and len(own) > 1:
            did = "accepted" if own["judgement"].iloc[0] else "rejected"
            others = " though the reference has both kinds" if _both(own) else ""
            notes.append(
                f"{person} {did} every part{others}: such judgements tell nothing of the parts."
            )
            continue
        kappa = kappa_of_rates(one, own)
        if isinstance(kappa, Interval) and kappa.high < 0:
            notes.append(
                f"{person} judges against the reference more often than with it (kappa {show(kappa)}): look whether accepted and rejected were exchanged."
            )
    return notes


def _both(own: pd.DataFrame) -> bool:
    return "reference" in own and own["reference"].nunique() > 1


def _refuse_doubles(table: pd.DataFrame) -> None:
    """Refuse two judgements under one name: which of them counts must be decided first."""
    if "trial" not in table:
        return
    keys = ["part", "appraiser", "trial"]
    named = table[table["trial"].notna()]
    twice = named[named.duplicated(keys)]
    if len(twice):
        part, who, trial = twice.iloc[0][keys]
        raise CannotJudge(
            f"Part {part}, appraiser {who}, trial {trial} was judged twice; which judgement counts must be decided first."
        )


def _yes_or_no(cells: pd.Series[bool], column: str) -> pd.Series[bool]:
    """Read True and False, or 1 and 0; refuse a reference that is missing."""
    missing = int(cells.isna().sum())
    if missing:
        raise CannotJudge(f"{missing} of {len(cells)} rows have no {column}.")
    if not set(cells.unique()) <= {0, 1}:
        raise ValueError(f"{column}: it must hold True and False (or 1 and 0) only")
    return cells.astype(bool)


def _agreeing(own: pd.DataFrame, confidence: float) -> Interval | Absent:
    """Estimate the share of parts on which one person agrees with themselves, of those judged more than once."""
    by_part = own.groupby("part")["judgement"].agg(["nunique", "size"])
    again = by_part[by_part["size"] > 1]
    if not len(again):
        return Absent("each part was judged once")
    return share_interval(int((again["nunique"] == 1).sum()), len(again), confidence)


def _all_agree(table: pd.DataFrame, confidence: float) -> Interval | Absent:
    by_part = table.groupby("part").agg(
        kinds=("judgement", "nunique"), people=("appraiser", "nunique")
    )
    several = by_part[by_part["people"] > 1]
    if not len(several):
        return Absent("no part was judged by two appraisers")
    return share_interval(int((several["kinds"] == 1).sum()), len(several), confidence)


def _between(
    table: pd.DataFrame, people: tuple[str, ...], confidence: float
) -> tuple[dict[str, Interval | Absent], Interval | Absent]:
    """Compute kappa of every two people, and of all pairs of different people together."""
    if len(people) < 2:
        return {}, Absent("one appraiser judged")
    shares = table.groupby(["part", "appraiser"])["judgement"].mean().unstack()
    pairs = list(combinations(people, 2))
    each = {
        f"{a} and {b}": agreement_of_two([shares[[a, b]].to_numpy(float)], confidence)
        for a, b in pairs
    }
    together = agreement_of_two([shares[[a, b]].to_numpy(float) for a, b in pairs], confidence)
    return each, together


def _cautions(
    share: float | None, counts: pd.DataFrame, trials: int, incomplete: int
) -> tuple[str, ...]:
    notes = []
    if share is None:
        notes.append("Without a reference, agreement may be agreement in error.")
    elif not 0.2 <= share <= 0.8:
        notes.append(
            f"The reference accepts {100 * share:.0f} % of the parts; with so one-sided a mix kappa comes out "
            "low even where few errors are made, so read the rates beside it."
        )
    if counts.shape[0] < 50:
        notes.append(f"{counts.shape[0]} parts are few for rates of error; 50 are usual.")
    if trials < 2:
        notes.append("Each part was judged once, so agreement with oneself is not tested.")
    if incomplete:
        notes.append(
            f"{counted(incomplete, 'judgement')} are missing; rates and agreement are taken over what was judged."
        )
    return tuple(notes)
