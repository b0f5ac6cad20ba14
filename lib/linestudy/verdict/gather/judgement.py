"""How far judgements can be trusted: the worst appraiser, and all of them together."""

from __future__ import annotations

from linestudy.gauges.judgement.judgements import ATTRIBUTE, NOBODY, AttributeStudy
from linestudy.results import Absent, Findings, Interval, Unjudged
from linestudy.verdict.measurement_facts import JudgementFacts


def judgement_facts(findings: Findings, key: str, by_machine: bool = False) -> JudgementFacts:
    """Gather the worst appraiser's rates, those of the team, and agreement.

    Parameters
    ----------
    findings : Findings
        Findings of the gauges.
    key : str
        Id of the characteristic.
    by_machine : bool
        Whether a gauge is named for the judgements and no appraiser: it judged itself.

    Returns
    -------
    JudgementFacts
    """
    found = findings.get(key, *ATTRIBUTE.at())
    if not isinstance(found, AttributeStudy):
        reason = (
            found.reason.rstrip(".")
            if isinstance(found, Unjudged)
            else "no judgements were submitted"
        )
        why = Absent(reason)
        return JudgementFacts(effectiveness=why, miss=why, false_alarm=why, kappa=why)
    who: dict[str, str] = {}

    def worst(
        name: str, values: dict[str, Interval | Absent], high_is_bad: bool
    ) -> Interval | Absent:
        known = {n: v for n, v in values.items() if isinstance(v, Interval)}
        if not known:
            return next(iter(values.values()), Absent("no judgements were submitted"))
        sign = -1 if high_is_bad else 1
        # Of two who are equally far off the first by name, so that the order of rows says nothing.
        person = min(known, key=lambda n: (sign * known[n].estimate, n))
        who[name] = person
        return known[person]

    known = found.share_accepted
    return JudgementFacts(
        parts=found.parts,
        trials=found.trials,
        effectiveness=worst("effectiveness", found.effectiveness, high_is_bad=False),
        miss=worst("miss", found.miss, high_is_bad=True),
        false_alarm=worst("false_alarm", found.false_alarm, high_is_bad=True),
        kappa=worst("kappa", found.kappa_with_reference, high_is_bad=False),
        kappa_between=found.kappa_between,
        team_effectiveness=found.team.effectiveness,
        appraisers=_people(found.appraisers, by_machine),
        incomplete=found.incomplete,
        good=None if known is None else round(known * found.parts),
        bad=None if known is None else round((1 - known) * found.parts),
        at_worst=found.at_worst,
        who=who,
    )


def _people(names: tuple[str, ...], by_machine: bool) -> int | None:
    if names != (NOBODY,):
        return len(names)
    return None if by_machine else 0
