"""How far judgements can be trusted, with intervals by part.

Judgements of one part are not independent: whoever misses a bad part once tends to miss it again. So
the part is the unit: each appraiser's rate is the mean over parts, and its interval that of Clopper
and Pearson (*Biometrika* 26 (1934), 404-413) for as many trials as there are parts, with the mean in
place of a count (a beta distribution takes any number). It is too wide where a part's judgements vary,
and never of zero width.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linestudy.results import Absent, Findings, Interval, Unjudged
from linestudy.verdict.facts import JudgementFacts

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records


def judgement_facts(
    records: Records, findings: Findings, key: str, confidence: float
) -> JudgementFacts:
    """The worst appraiser's rates, by part.

    Parameters
    ----------
    records : Records
    findings : Findings
        For kappa.
    key : str
        Id of the characteristic.
    confidence : float

    Returns
    -------
    JudgementFacts
    """
    table = records.table("attribute", key)
    if table is None or not len(table):
        why = Absent("no judgements are in the folder")
        return JudgementFacts(effectiveness=why, miss=why, false_alarm=why, kappa=why)
    if "reference" not in table:
        why = Absent("the judgements have no reference")
        return JudgementFacts(
            parts=table["part"].nunique(), effectiveness=why, miss=why, false_alarm=why, kappa=why
        )
    rates: dict[str, dict[str, Interval]] = {"effectiveness": {}, "miss": {}, "false_alarm": {}}
    trials = []
    for person, own in _by_person(table):
        parts = own.assign(right=own["judgement"] == own["reference"]).groupby("part")
        right = parts["right"].mean()
        good = parts["reference"].first().astype(bool)
        trials.append(int(parts.size().min()))
        rates["effectiveness"][person] = by_part((right == 1).astype(float), confidence)
        for name, which in (("miss", ~good), ("false_alarm", good)):
            if which.any():
                rates[name][person] = by_part(1 - right[which], confidence)
    who: dict[str, str] = {}

    def worst(name: str, high_is_bad: bool, kind: str) -> Interval | Absent:
        if not rates[name]:
            return Absent(f"no {kind} part was judged")
        sign = -1 if high_is_bad else 1
        # Of two who are equally far off the first by name, so that the order of rows says nothing.
        person, value = min(
            rates[name].items(), key=lambda pair: (sign * pair[1].estimate, pair[0])
        )
        who[name] = person
        return value

    kappa = _kappa(findings, key, who)
    return JudgementFacts(
        parts=int(table["part"].nunique()),
        trials=min(trials),
        effectiveness=worst("effectiveness", False, "single"),
        miss=worst("miss", True, "bad"),
        false_alarm=worst("false_alarm", True, "good"),
        kappa=kappa,
        who=who,
    )


def by_part(shares: Any, confidence: float) -> Interval:
    """Mean of shares between 0 and 1, one for each part, with an interval that has width.

    Parameters
    ----------
    shares : array_like of float, shape (parts,)
    confidence : float

    Returns
    -------
    Interval

    Examples
    --------
    >>> found = by_part([1, 1, 1, 1, 1, 1], 0.95)
    >>> round(found.low, 3), found.high
    (0.541, 1.0)
    """
    import numpy as np
    from scipy.special import betaincinv

    share = np.asarray(shares, dtype=float)
    n, x = share.size, float(share.sum())
    tail = (1 - confidence) / 2
    low = float(betaincinv(x, n - x + 1, tail)) if x > 0 else 0.0
    high = float(betaincinv(x + 1, n - x, 1 - tail)) if x < n else 1.0
    mean = x / n
    return Interval(
        mean, min(low, mean), max(high, mean), confidence, "Clopper and Pearson, by part"
    )


def _by_person(table: pd.DataFrame) -> Any:
    if "appraiser" not in table:
        return [("the judgement", table)]
    return [(str(name), own) for name, own in table.groupby("appraiser", sort=False)]


def _kappa(findings: Findings, key: str, who: dict[str, str]) -> Interval | Absent:
    found = findings.get(key, "attribute")
    if found is None or isinstance(found, Unjudged):
        return Absent("the judgements could not be taken together")
    given = getattr(found, "kappa_with_reference", None) or {}
    kappas = {name: value for name, value in given.items() if isinstance(value, Interval)}
    if not kappas:
        return Absent("the judgements give no kappa")
    person = min(kappas, key=lambda name: (kappas[name].estimate, str(name)))
    who["kappa"] = str(person)
    return kappas[person]
