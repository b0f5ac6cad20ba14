"""The verdict on a characteristic that is judged by eye: can the judgement be trusted."""

from __future__ import annotations

from linestudy.results import Finding, Interval, Unjudged, show
from linestudy.verdict.claims import Claim
from linestudy.verdict.criteria import Criteria
from linestudy.verdict.decisions import Ruling


def rule_on_judgement(
    finding: Finding | None, criteria: Criteria
) -> tuple[tuple[Ruling, ...], tuple[Claim, ...]]:
    """Rulings and claims about an attribute study.

    Parameters
    ----------
    finding : Finding or None
        The attribute study, why it could not be judged, or None.
    criteria : Criteria

    Returns
    -------
    rulings : tuple of Ruling
    claims : tuple of Claim
    """
    least = criteria["kappa_min"]
    if finding is None or isinstance(finding, Unjudged):
        reason = finding.reason if finding else "No judgements are in the folder."
        return (Ruling("judgement", "cannot be judged", reason, least),), ()
    kappas = _kappas(finding)
    if not kappas:
        reason = "The judgements give no kappa, so how far they can be trusted is unknown."
        return (Ruling("judgement", "cannot be judged", reason, least),), ()
    who, lowest = min(kappas.items(), key=lambda item: item[1].estimate)
    value = lowest.low if criteria.on_bound else lowest.estimate
    claim = Claim("kappa", lowest, f"at least {least.number:g}", least.source)
    on = " (decided on the confidence bound)" if criteria.on_bound else ""
    found = f"The lowest kappa against the reference is {show(lowest)} ({who}){on}"
    scope = Ruling(
        "scope",
        "supports",
        "This says that the judgement can be trusted; the share of parts that fail is not claimed.",
    )
    if value >= least.number:
        return (
            Ruling("judgement", "supports", f"{found}, {least.number:g} is asked.", least),
            scope,
        ), (claim,)
    short = Ruling(
        "judgement", "does not meet", f"{found}, below {least.number:g}: train and repeat.", least
    )
    return (short, scope), (claim,)


def _kappas(finding: Finding) -> dict[str, Interval]:
    """Cohen's kappa of each appraiser against the reference."""
    kappa = getattr(finding, "kappa_with_reference", None) or {}
    return {who: value for who, value in kappa.items() if isinstance(value, Interval)}
