"""Decide on every characteristic of a study."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.results import Findings, Interval, Unjudged
from linestudy.verdict.attribute import rule_on_judgement
from linestudy.verdict.claims import CharacteristicVerdict, Claim, StudyVerdict
from linestudy.verdict.criteria import Criteria, resolve
from linestudy.verdict.decisions import Evidence, Ruling, decide, rule_on
from linestudy.verdict.evidence import gather, judged_by

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def evaluate(study: Study, records: Records, findings: Findings) -> Findings:
    """Apply the criteria to what the rooms found.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings
        What gauges, stability, shape and capability found.

    Returns
    -------
    Findings
        A verdict for each characteristic at ``("verdict",)``, and one for the study.

    Examples
    --------
    See ``notebooks/submission/6_verdict.ipynb``.
    """
    criteria = resolve(study.criteria)
    new = Findings()
    verdicts = {}
    for characteristic in study.characteristics:
        verdict = _verdict(study, records, findings, characteristic, criteria)
        verdicts[characteristic.id] = verdict
        new.add(characteristic.id, ("verdict",), verdict)
    accept, review = criteria["capability_accept"].number, criteria["capability_review"].number
    lines = {f"{review:g}: by agreement": review, f"{accept:g}: accepted": accept}
    new.add(None, ("verdict",), StudyVerdict(verdicts, lines))
    return new


def _verdict(
    study: Study,
    records: Records,
    findings: Findings,
    characteristic: Characteristic,
    criteria: Criteria,
) -> CharacteristicVerdict:
    rulings: tuple[Ruling, ...]
    claims: tuple[Claim, ...]
    measured = judged_by(records, characteristic.id)[1] is not None
    if characteristic.is_attribute and measured:
        reason = "Neither limit is given, so there is nothing to hold the readings against."
        rulings, claims = (Ruling("limits", "cannot be judged", reason),), ()
    elif characteristic.is_attribute:
        rulings, claims = rule_on_judgement(findings.get(characteristic.id, "attribute"), criteria)
    else:
        evidence = gather(study, records, findings, characteristic)
        rulings = rule_on(evidence, criteria)
        claims = _claims(evidence, criteria)
    return CharacteristicVerdict(
        name=characteristic.name,
        limits=characteristic.measures(),
        decision=decide(rulings),
        rulings=rulings,
        claims=claims,
        cautions=_cautions(findings, characteristic.id),
    )


def _claims(evidence: Evidence, criteria: Criteria) -> tuple[Claim, ...]:
    accept, grr = criteria["capability_accept"], criteria["grr_accept"]
    claims = [
        Claim(evidence.index_name, evidence.index, f"above {accept.number:g}", accept.source),
        Claim(
            f"gauge spread, share of {evidence.share_of}",
            evidence.gauge_share,
            f"at most {grr.number:.0%}",
            grr.source,
        ),
    ]
    if isinstance(evidence.distinct_categories, Interval):
        ndc = criteria["ndc_min"]
        claims.append(
            Claim("ndc", evidence.distinct_categories, f"at least {ndc.number:g}", ndc.source)
        )
    return tuple(claims)


def _cautions(findings: Findings, characteristic: str) -> tuple[str, ...]:
    """Methods that could not say anything bear on the verdict."""
    return tuple(
        f"{item.method}: {item.reason}"
        for item in findings.of(characteristic).values()
        if isinstance(item, Unjudged)
    )


def decision_table(study: Study, findings: Findings) -> pd.DataFrame:
    """The decision per characteristic, as a small table.

    Parameters
    ----------
    study : Study
    findings : Findings
        Of a whole evaluation.

    Returns
    -------
    pandas.DataFrame
        One row per characteristic: name, limits, index, value, what is asked, decision.

    Raises
    ------
    KeyError
        The study has not been taken through the room verdict.

    Examples
    --------
    See ``notebooks/submission/6_verdict.ipynb``.
    """
    verdict = findings.get(None, "verdict")
    if verdict is None:
        raise KeyError("the study has not been taken through the room verdict")
    return verdict.shown()
