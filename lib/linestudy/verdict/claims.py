"""What may be claimed about a characteristic and about the study, as findings."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import Absent, Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.verdict.decisions import Ruling

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


@dataclass(frozen=True, slots=True)
class Claim:
    """One number offered to the customer, with what it is held against.

    Attributes
    ----------
    name : str
        Its name in the trade, for example ``"Ppk"``.
    value : Interval or Absent
        The number, or why it cannot be given.
    criterion : str
        The criterion in words.
    source : str
        Whose criterion it is.
    """

    name: str
    value: Interval | Absent
    criterion: str
    source: str


@dataclass(frozen=True)
class CharacteristicVerdict(Finding):
    """The decision on one characteristic, with every ruling that made it.

    Attributes
    ----------
    name : str
        Name of the characteristic.
    limits : str
        Its limits in words.
    decision : str
        ``meets``, ``needs agreement``, ``does not meet`` or ``cannot be judged``.
    rulings : tuple of Ruling
        What each rule said.
    claims : tuple of Claim
        The numbers offered.
    """

    name: str
    limits: str
    decision: str
    rulings: tuple[Ruling, ...]
    claims: tuple[Claim, ...]
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "What may be claimed"

    @property
    def reasons(self) -> tuple[str, ...]:
        """Sentences of the rules that made the decision, or of all where nothing stood against it."""
        decisive = tuple(item.reason for item in self.rulings if item.effect == self.decision)
        return decisive or tuple(item.reason for item in self.rulings)

    @property
    def objections(self) -> tuple[str, ...]:
        """Every sentence that speaks against the claim, decisive or not."""
        return tuple(item.reason for item in self.rulings if item.effect != "supports")

    @property
    def statement(self) -> str:
        opening = {
            "meets": "meets its requirement",
            "needs agreement": "needs the customer's agreement",
            "does not meet": "does not meet its requirement",
            "cannot be judged": "cannot be judged on this evidence",
        }[self.decision]
        reasons = self.reasons[:2]
        if self.decision == "meets" and self.claims:
            first = self.claims[0]
            reasons = (f"{first.name} = {show(first.value)}, {first.criterion} is asked.",)
        return f"{self.name} ({self.limits}) {opening}. {' '.join(reasons)}"

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "looked at": [item.rule for item in self.rulings],
                "effect": [item.effect for item in self.rulings],
                "because": [item.reason for item in self.rulings],
                "criterion from": [
                    item.criterion.source if item.criterion else "" for item in self.rulings
                ],
            }
        )

    def record(self) -> dict[str, Any]:
        """Decision and reasons as format 1 has them; added: objections, rules, claims."""
        from linestudy.results import plain

        return {
            "decision": self.decision,
            "reasons": list(self.reasons),
            "objections": list(self.objections),
            "rules": plain(self.rulings),
            "claims": plain(self.claims),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


VERDICT = Declaration("verdict", CharacteristicVerdict, "Decision", part="none")


@dataclass(frozen=True)
class StudyVerdict(Finding):
    """All decisions of a study together.

    Attributes
    ----------
    verdicts : dict of str to CharacteristicVerdict
        By characteristic id.
    criteria_lines : dict of str to float
        Criteria on the index, for the picture.
    """

    verdicts: dict[str, CharacteristicVerdict]
    criteria_lines: dict[str, float] = field(repr=False)
    cautions: tuple[str, ...] = (
        "A decision to release parts belongs to those authorised to take it; this study informs it.",
    )
    title: ClassVar[str] = "Decisions"

    def of(self, decision: str) -> tuple[str, ...]:
        """Names of the characteristics with this decision."""
        return tuple(item.name for item in self.verdicts.values() if item.decision == decision)

    @property
    def statement(self) -> str:
        parts = []
        for decision in ("meets", "needs agreement", "does not meet", "cannot be judged"):
            names = self.of(decision)
            if names:
                parts.append(f"{decision}: {', '.join(names)}")
        return f"Of {len(self.verdicts)} characteristics: {'; '.join(parts)}."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        rows = []
        for item in self.verdicts.values():
            claim = item.claims[0] if item.claims else None
            rows.append(
                {
                    "characteristic": item.name,
                    "limits": item.limits,
                    "index": claim.name if claim else "",
                    "value": show(claim.value) if claim and claim.value else "not given",
                    "asked": claim.criterion if claim else "",
                    "decision": item.decision,
                }
            )
        return pd.DataFrame(rows)

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture | None:
        from linestudy.figures.verdict import indices_against_criteria

        shown = {
            item.name: (item.claims[0].name, item.claims[0].value, item.decision)
            for item in self.verdicts.values()
            if item.claims
            and isinstance(item.claims[0].value, Interval)
            and item.claims[0].name != "kappa"
        }
        if not shown:
            return None
        return indices_against_criteria(shown, self.criteria_lines, ax=ax)

    def record(self) -> dict[str, Any]:
        """Decision per characteristic id, the statement and the cautions."""
        return {
            "decisions": {key: item.decision for key, item in self.verdicts.items()},
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


STUDY_VERDICT = Declaration("verdict", StudyVerdict, "Decisions", part="none", of_study=True)
