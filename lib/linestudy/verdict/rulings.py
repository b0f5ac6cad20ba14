"""What one rule says, and the decision that follows from all of them.

========================  ==================================================================
effect                    meaning
========================  ==================================================================
supports                  nothing speaks against the claim here
no evidence               the folder holds nothing to judge this by; said, and no support
customer approval required  the customer must approve before the claim is made
does not meet             the evidence speaks against the claim
cannot be judged          without this evidence no claim is honest
========================  ==================================================================

The decision is the strongest effect of all rules, in this order: a good index never outweighs an
untrustworthy gauge or a process that is not in statistical control.
"""

from __future__ import annotations

from dataclasses import dataclass

from linestudy.verdict.criteria import Criterion

SUPPORTS, NONE = "supports", "no evidence"
APPROVAL, FAILS, UNKNOWN = "customer approval required", "does not meet", "cannot be judged"
#: Effects from weakest to strongest; the last one present is the decision.
EFFECTS = (SUPPORTS, NONE, APPROVAL, FAILS, UNKNOWN)
MEETS = "meets"
DECISIONS = (MEETS, APPROVAL, FAILS, UNKNOWN)


@dataclass(frozen=True, slots=True)
class Ruling:
    """What one rule says.

    Attributes
    ----------
    rule : str
        Its name.
    effect : str
        One of :data:`EFFECTS`.
    reason : str
        One or two sentences, with the numbers and the criterion that made it.
    criterion : Criterion or None
        The threshold used, if the rule has one.
    group : str
        Which row of the table of rules it belongs to, for example ``"measurement system"``.
    """

    rule: str
    effect: str
    reason: str
    criterion: Criterion | None = None
    group: str = ""


def strongest(rulings: tuple[Ruling, ...]) -> str:
    """Return the decision that follows from all rulings: the strongest effect.

    Parameters
    ----------
    rulings : tuple of Ruling
        What each rule said.

    Returns
    -------
    str
        ``meets``, ``customer approval required``, ``does not meet`` or ``cannot be judged``; the
        last also where no rule has any evidence.

    See Also
    --------
    linestudy.verdict.rule_on : Makes them.

    Examples
    --------
    >>> strongest((Ruling("a", "supports", ""), Ruling("b", "customer approval required", "")))
    'customer approval required'
    """
    if all(item.effect == NONE for item in rulings):
        return UNKNOWN
    effect = EFFECTS[max(EFFECTS.index(item.effect) for item in rulings)]
    return MEETS if effect in (SUPPORTS, NONE) else effect
