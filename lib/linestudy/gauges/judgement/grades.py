"""Judgements in ordered grades (no burr, slight, heavy): agreement weighted by the distance between grades.

Model: parts are the unit; judgements of different parts are independent, those of one part are not. Weighted
kappa (`weighted_agreement`) of each appraiser with the reference, with every other one and with themselves;
Kendall's concordance of the appraisers' rankings of the parts; and by how many grades each one lies off the
reference on the average (Student's t over parts). Incomplete judgements are used as far as they go.

Sources: Cohen, *Psychological Bulletin* 70 (1968), 213-220; Fleiss & Cohen, *Educational and Psychological
Measurement* 33 (1973), 613-619; Kendall & Gibbons, *Rank Correlation Methods*, 5th ed. (1990), ch. 6; AIAG
MSA, 4th ed. (2010), ch. III, section C.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.gauges.judgement.weighted_agreement import weighted_kappa, weights_of
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    counted,
    data_arguments,
    p_text,
    show,
)
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

_Array = np.ndarray[Any, np.dtype[np.float64]]


@dataclass(frozen=True, slots=True)
class Concordance:
    """How far the appraisers rank the parts in the same order.

    Attributes
    ----------
    w : float
        Kendall's coefficient, corrected for ties: 0 no order in common, 1 the same order.
    chi_square : float
        Formula: appraisers (parts - 1) w.
    p : float
        Chance of as much with no order in common; chi-square with parts - 1 degrees of freedom.
    parts : int
        Parts that all of them graded.
    """

    w: float
    chi_square: float
    p: float
    parts: int


@dataclass(frozen=True)
class GradedStudy(Finding):
    """Result of a study of judgements in ordered grades.

    Attributes
    ----------
    parts : int
        Parts judged.
    grades : tuple of str
        In their order.
    appraisers : tuple of str
        Their names.
    weights : str
        ``"quadratic"`` or ``"linear"``: what two grades apart cost against one.
    kappa_with_reference : dict of str to Interval or Absent
        By appraiser: weighted kappa against the reference grade. Formula: 1 - disagreement / chance.
    kappa_within : dict of str to Interval or Absent
        By appraiser: weighted kappa of their trials with one another.
    kappa_pairs : dict of str to Interval or Absent
        Of every two appraisers.
    kappa_between : Interval or Absent
        Of all pairs of different people together.
    offset : dict of str to Interval or Absent
        [grades] By appraiser: mean of grade less reference.
    concordance : Concordance or Absent
        Kendall's, of the appraisers' mean grades.
    incomplete : int
        Judgements missing of those that parts, appraisers and trials make.
    """

    parts: int
    grades: tuple[str, ...]
    appraisers: tuple[str, ...]
    weights: str
    kappa_with_reference: dict[str, Interval | Absent]
    kappa_within: dict[str, Interval | Absent]
    kappa_pairs: dict[str, Interval | Absent]
    kappa_between: Interval | Absent
    offset: dict[str, Interval | Absent]
    concordance: Concordance | Absent
    incomplete: int
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Judgements in grades"
    picture: ClassVar[str] = "gauge_error:graded_kappa"

    @property
    def statement(self) -> str:
        people = counted(len(self.appraisers), "appraiser")
        text = f"{people} judged {counted(self.parts, 'part')} in {len(self.grades)} grades"
        known = {k: v for k, v in self.kappa_with_reference.items() if isinstance(v, Interval)}
        if known:
            who, lowest = min(known.items(), key=lambda item: item[1].estimate)
            text += f"; lowest weighted kappa against the reference {show(lowest)} ({who})"
        if isinstance(self.kappa_between, Interval):
            text += f"; weighted kappa between appraisers {show(self.kappa_between)}"
        if isinstance(self.concordance, Concordance):
            text += f"; Kendall's W {self.concordance.w:.2f} ({p_text(self.concordance.p)})"
        return f"{text}."

    def _rows(self) -> Rows:
        rows: list[dict[str, object]] = [
            {
                "appraiser": who,
                "weighted kappa": self.kappa_with_reference[who],
                "within appraiser": self.kappa_within[who],
                "offset (grades)": self.offset[who],
                "between appraisers": None,
            }
            for who in self.appraisers
        ]
        pairs = dict(self.kappa_pairs)
        if len(pairs) > 1:
            pairs["all pairs together"] = self.kappa_between
        empty = dict.fromkeys(rows[0])
        return rows + [
            {**empty, "appraiser": names, "between appraisers": kappa}
            for names, kappa in pairs.items()
        ]


GRADES = Declaration(
    "attribute.grades",
    GradedStudy,
    part="characteristic",
    question="measurement",
    order=32,
    picture=80,
    with_table=True,
)


def graded_agreement(
    data: pd.DataFrame,
    *,
    grades: Sequence[str] | None = None,
    weights: str = "quadratic",
    confidence: float = 0.95,
) -> GradedStudy:
    r"""Analyse judgements of parts in ordered grades.

    Parameters
    ----------
    data : pandas.DataFrame
        One judgement per row: ``part``, ``appraiser`` (absent for one appraiser), ``grade`` (0, 1, 2 …, or a
        word of `grades`) and, if known, ``reference_grade``. Rows without a grade are counted and left out.
    grades : sequence of str, optional
        Names of the grades in their order; the numbers that occur when absent.
    weights : str
        ``"quadratic"`` (two grades apart cost four times as much as one) or ``"linear"`` (twice).
    confidence : float
        Of the intervals, between 0 and 1.

    Returns
    -------
    GradedStudy
        Weighted kappa by appraiser and pair, offset in grades, Kendall's concordance.

    Raises
    ------
    CannotJudge
        Fewer than three parts or two grades, a part whose reference is not always the same.
    ValueError
        A column that is not there, a grade that is none, or weights of another name.

    See Also
    --------
    judgement_agreement : Judgements that accept or reject.

    Notes
    -----
    With the share :math:`p_{ij}` of parts graded i by one and j by the other and costs
    :math:`w_{ij} = (|i-j|/(k-1))^q`, q = 1 or 2,

    .. math:: \kappa_w = 1 - \sum w_{ij} p_{ij} \big/ \sum w_{ij} p_{i\cdot} p_{\cdot j}

    Misleads where nearly all parts have one grade: kappa is then low although hardly anyone errs. Kendall's W
    is not harmed by an appraiser who grades all parts too high; weighted kappa is.

    References
    ----------
    Cohen, *Psychological Bulletin* 70 (1968), 213-220. Fleiss & Cohen, *Educational and Psychological
    Measurement* 33 (1973), 613-619. Kendall & Gibbons, *Rank Correlation Methods*, 5th ed. (1990).

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({"part": [1, 2, 3, 4] * 2, "appraiser": ["A"] * 4 + ["B"] * 4,
    ...     "grade": [0, 1, 2, 2, 0, 1, 1, 2]})
    >>> round(graded_agreement(data).kappa_between.estimate, 3)
    0.8
    """
    for name in ("part", "grade"):
        data_arguments.column(data, name, "data")
    arguments.share("confidence", confidence)
    arguments.one_of("weights", weights, ("quadratic", "linear"))
    table = data.copy()
    if "appraiser" not in table:
        table["appraiser"] = "the judgement"
    table["appraiser"] = table["appraiser"].astype(str)
    table = table[table["grade"].notna()].reset_index(drop=True)
    names, table["grade"] = _numbered(table["grade"], grades, "grade")
    known = "reference_grade" in table
    if known:
        again = names if grades is None else tuple(grades)
        names, table["reference_grade"] = _numbered(
            table["reference_grade"], again, "reference_grade"
        )
        both = table.groupby("part")["reference_grade"].nunique() != 1
        if both.any():
            raise CannotJudge(
                f"For {int(both.sum())} of {len(both)} parts the reference grade is given in two ways or not at all; "
                "decide which holds."
            )
    # Sums, and so all numbers, then do not depend on the order of the rows.
    parts = tuple(sorted(set(table["part"]), key=str))
    if len(parts) < 3:
        raise CannotJudge(f"{counted(len(parts), 'part')} judged in grades; three are needed.")
    people = tuple(sorted(set(table["appraiser"])))
    cost = weights_of(weights, len(names))
    shares = {who: _shares(table[table["appraiser"] == who], parts, len(names)) for who in people}
    counts = {who: _counts(table[table["appraiser"] == who], parts, len(names)) for who in people}
    truth = None
    if known:
        at = table.groupby("part")["reference_grade"].first().reindex(list(parts)).to_numpy(int)
        truth = np.eye(len(names))[at]
    none = Absent("no reference was given")
    each = {
        f"{a} and {b}": weighted_kappa([(shares[a], shares[b])], cost, confidence)
        for a, b in combinations(people, 2)
    }
    together: Interval | Absent = Absent("one appraiser judged")
    if each:
        pairs = [(shares[a], shares[b]) for a, b in combinations(people, 2)]
        together = weighted_kappa(pairs, cost, confidence)
    full = np.stack([counts[who].sum(axis=1) for who in people])
    missing = max(int((full.max() - full).sum()), len(data) - len(table))
    return GradedStudy(
        parts=len(parts),
        grades=names,
        appraisers=people,
        weights=weights,
        kappa_with_reference={
            who: none if truth is None else weighted_kappa([(shares[who], truth)], cost, confidence)
            for who in people
        },
        kappa_within={who: _within(counts[who], cost, confidence) for who in people},
        kappa_pairs=each,
        kappa_between=together,
        offset={
            who: none if truth is None else _offset(shares[who], truth, confidence)
            for who in people
        },
        concordance=_concordance([shares[who] for who in people]),
        incomplete=missing,
        cautions=_cautions(table["grade"].to_numpy(), names, len(parts), known, missing),
    )


def _numbered(
    cells: pd.Series[Any], grades: Sequence[str] | None, column: str
) -> tuple[tuple[str, ...], pd.Series[int]]:
    """Number the grades from 0, and return their names."""
    if grades is None:
        found = sorted(set(cells.dropna()))
        places: dict[Any, int] = {value: place for place, value in enumerate(found)}
        names = tuple(str(value) for value in found)
    else:
        names = tuple(str(name) for name in grades)
        if len(set(names)) != len(names):
            raise ValueError("grades: a name stands twice.")
        places = {name: place for place, name in enumerate(names)}
        places |= {place: place for place in range(len(names))}
    if len(names) < 2:
        raise CannotJudge("All judgements are the same grade, so chance explains any agreement.")
    numbers = cells.map(places)
    if numbers.isna().any():
        odd = cells[numbers.isna()].iloc[0]
        raise ValueError(f"{column}: {odd!r} is none of the grades {', '.join(names)}.")
    return names, numbers.astype(int)


def _counts(own: pd.DataFrame, parts: tuple[Any, ...], grades: int) -> _Array:
    """Count the judgements of each part that fell on each grade."""
    place = {part: number for number, part in enumerate(parts)}
    found = np.zeros((len(parts), grades))
    np.add.at(found, (own["part"].map(place).to_numpy(int), own["grade"].to_numpy(int)), 1.0)
    return found


def _shares(own: pd.DataFrame, parts: tuple[Any, ...], grades: int) -> _Array:
    """Return the counts as shares of the part's judgements; NaN where it was not judged."""
    found = _counts(own, parts, grades)
    total = found.sum(axis=1, keepdims=True)
    return np.where(total > 0, found / np.maximum(total, 1.0), np.nan)


def _within(counts: _Array, cost: _Array, confidence: float) -> Interval | Absent:
    """Compute the agreement of a person's trials with one another; no trial is compared with itself."""
    total = counts.sum(axis=1)
    again = total > 1
    if not again.any():
        return Absent("each part was judged once")
    m = np.where(again, total, np.nan)
    # A judgement compared with itself costs nothing, so only the number of comparisons is corrected.
    disagreement = np.einsum("pi,ij,pj->p", counts, cost, counts) / (m * (m - 1))
    shares = counts / m[:, None]
    return weighted_kappa([(shares, shares)], cost, confidence, own=[disagreement])


def _offset(shares: _Array, truth: _Array, confidence: float) -> Interval | Absent:
    """Compute the mean of grade less reference, over parts."""
    from scipy.special import stdtrit

    at = np.arange(shares.shape[1])
    off = (shares - truth) @ at
    off = off[np.isfinite(off)]
    if off.size < 3:
        return Absent("fewer than three parts were graded")
    mean, sd = float(off.mean()), float(off.std(ddof=1))
    if sd == 0:
        return Absent(
            f"{mean:+.2f} on every part" if mean else "no part was graded off its reference"
        )
    half = float(stdtrit(off.size - 1, (1 + confidence) / 2)) * sd / math.sqrt(off.size)
    return Interval(mean, mean - half, mean + half, confidence, "Student's t over parts")


def _concordance(shares: list[_Array]) -> Concordance | Absent:
    """Compute Kendall's W of the appraisers' mean grades, corrected for ties."""
    from scipy.special import chdtrc
    from scipy.stats import rankdata

    if len(shares) < 2:
        return Absent("one appraiser judged")
    means = np.stack([one @ np.arange(one.shape[1]) for one in shares])
    means = means[:, np.isfinite(means).all(axis=0)]
    m, n = means.shape
    if n < 3:
        return Absent("fewer than three parts were graded by all")
    # Means of grades that are equal are equal, whatever their last digit.
    ranks = rankdata(np.round(means, 9), axis=1)
    tied = sum(float((np.unique(row, return_counts=True)[1] ** 3.0).sum()) - n for row in ranks)
    free = m * m * (n**3 - n) - m * tied
    if free <= 0:
        return Absent("all judgements are the same grade")
    w = 12 * float(((ranks.sum(axis=0) - m * (n + 1) / 2) ** 2).sum()) / free
    chi_square = m * (n - 1) * w
    return Concordance(w, chi_square, float(chdtrc(n - 1, chi_square)), n)


def _cautions(
    grades: np.ndarray[Any, Any], names: tuple[str, ...], parts: int, known: bool, missing: int
) -> tuple[str, ...]:
    notes = []
    if not known:
        notes.append("Without a reference, agreement may be agreement in error.")
    used = np.bincount(grades, minlength=len(names))
    if used.max() > 0.8 * used.sum():
        notes.append(
            f"{100 * used.max() / used.sum():.0f} % of the judgements are {names[int(used.argmax())]}; "
            "with so one-sided a mix kappa comes out low even where few errors are made."
        )
    empty = [name for name, count in zip(names, used, strict=True) if not count]
    if empty:
        notes.append(f"No part was judged {' or '.join(empty)}, so nothing is known of that grade.")
    if parts < 30:
        notes.append(
            f"{parts} parts are few for agreement in grades; 30 are usual (common practice, no source)."
        )
    if missing:
        notes.append(
            f"{counted(missing, 'judgement')} {'is' if missing == 1 else 'are'} missing; agreement is taken over what was judged."
        )
    return tuple(notes)
