"""What may be claimed about a characteristic and about the study, as findings.

Everything shown comes from one frozen :class:`~linestudy.verdict.facts.CharacteristicFacts`: the
sentence, the table, the picture, the record, the console.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import Absent, Finding, Interval, counted, plain, show
from linestudy.results.declared import Declaration
from linestudy.verdict.conditions import conditions_of, conditions_of_study
from linestudy.verdict.criteria import Criteria, two_places
from linestudy.verdict.decisions import Decision
from linestudy.verdict.facts import CharacteristicFacts
from linestudy.verdict.rulings import APPROVAL, DECISIONS, FAILS, MEETS, SUPPORTS, UNKNOWN, Ruling

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

_OPENING = {
    MEETS: "meets its requirement",
    APPROVAL: "needs the customer's approval",
    FAILS: "does not meet its requirement",
    UNKNOWN: "cannot be judged on this evidence",
}


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
    decision : str
        ``meets``, ``customer approval required``, ``does not meet`` or ``cannot be judged``.
    rulings : tuple of Ruling
        What each rule said, in the order of the table of rules.
    claims : tuple of Claim
        The numbers offered.
    facts : CharacteristicFacts
        What the rules read; text, table, picture, workbook and console take their numbers from here.
    stream : str
        The stream (station, lane, cavity, head) whose index decides; empty where none is named.
    conditions : tuple of str
        What the reader must know beside the decision: settings, rows left out, gaps, weaker criteria.
    reasons : list of str
        What each rule says, in the order of the list.
    objections : list of str
        Reasons of the rules that do not support the claim.
    rules : list of dict
        ``rule, effect, reason, criterion, evidence`` of every rule, as far as it has them.
    """

    decision: str
    rulings: tuple[Ruling, ...]
    claims: tuple[Claim, ...]
    facts: CharacteristicFacts
    conditions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "What may be claimed"
    recorded: ClassVar[tuple[str, ...]] = (
        "decision",
        "stream",
        "reasons",
        "objections",
        "rules",
        "claims",
        "facts",
        "conditions",
    )

    @classmethod
    def of(
        cls, decision: Decision, criteria: Criteria, cautions: tuple[str, ...] = ()
    ) -> CharacteristicVerdict:
        """Make the finding of a decision."""
        claims = _claims(decision.facts, criteria)
        return cls(
            decision.decision,
            decision.rulings,
            claims,
            decision.facts,
            conditions_of(decision.facts, criteria.weaker),
            cautions,
        )

    @property
    def name(self) -> str:
        """Name of the characteristic."""
        return self.facts.name

    @property
    def limits(self) -> str:
        """Its limits in words."""
        return self.facts.limits

    @property
    def stream(self) -> str:
        """The stream whose index decides; empty where none is named."""
        return "" if isinstance(self.facts.index, Absent) else self.facts.index.stream

    @property
    def reasons(self) -> tuple[str, ...]:
        """Sentences of the rules that made the decision, or of all where no rule objected."""
        decisive = tuple(item.reason for item in self.rulings if item.effect == self.decision)
        return decisive or tuple(item.reason for item in self.rulings if item.effect == SUPPORTS)

    @property
    def objections(self) -> tuple[str, ...]:
        """Every sentence that speaks against the claim, decisive or not."""
        against = (APPROVAL, FAILS, UNKNOWN)
        return tuple(item.reason for item in self.rulings if item.effect in against)

    @property
    def headline(self) -> Claim | None:
        """The number that represents the decision: that of the rule which made it, else the first."""
        deciding = {item.rule for item in self.rulings if item.effect == self.decision}
        named = (item for item in self.claims if item.name in deciding)
        return next(named, self.claims[0] if self.claims else None)

    @property
    def statement(self) -> str:
        reasons = self.reasons[:2]
        if self.decision == MEETS and self.claims:
            first = self.claims[0]
            reasons = (f"{_named(first)} = {_shown(first)}, {first.criterion} is asked.",)
        kind = {"gauge": ", as a gauge,", "machine": ", in a short run,"}.get(self.facts.kind, "")
        return f"{self.name} ({self.limits}){kind} {_OPENING[self.decision]}. {' '.join(reasons)}"

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "rule": [
                    f"{item.group}: {item.rule}" if item.group != item.rule else item.rule
                    for item in self.rulings
                ],
                "effect": [item.effect for item in self.rulings],
                "because": [item.reason for item in self.rulings],
                "criterion from": [
                    item.criterion.source if item.criterion else "" for item in self.rulings
                ],
            }
        )

    def points_table(self) -> pd.DataFrame:
        """Tabulate every point beyond the chart's limits with what is known of it."""
        import pandas as pd

        unit = f" ({self.facts.unit})" if self.facts.unit else ""
        return pd.DataFrame(
            [
                {
                    "point": item.point,
                    "stroke": f"{item.order:,.0f}",
                    "time": item.time[:19].replace("T", " "),
                    "coil": item.coil,
                    "stream": item.stream,
                    "charted": item.kind,
                    f"value{unit}": item.value,
                    "rule": "beyond a limit" if item.rule == "beyond" else item.rule,
                    "cause": item.cause or "not named",
                }
                for item in self.facts.process.points
            ]
        )

    def record(self) -> dict[str, Any]:
        """Return decision, reasons, objections, rules, claims and facts for results.json."""
        return {
            "decision": self.decision,
            "stream": self.stream,
            "reasons": list(self.reasons),
            "objections": list(self.objections),
            "rules": plain(self.rulings),
            "claims": plain(self.claims),
            "facts": plain(self.facts),
            "conditions": list(self.conditions),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


VERDICT = Declaration("verdict", CharacteristicVerdict, "Decision", part="none")


def _shown(claim: Claim) -> str:
    """Write the number as its criterion is written: in per cent where that is."""
    if isinstance(claim.value, Absent):
        return "not given"
    if not claim.criterion.endswith("%"):
        return show(claim.value)
    # One decimal, as criteria in per cent are passed or missed by less than one.
    best, low, high = (
        f"{100 * one:.1f}" for one in (claim.value.estimate, claim.value.low, claim.value.high)
    )
    return f"{best} ({low} to {high}) %"


def _named(claim: Claim) -> str:
    """Name the criterion as the trade does."""
    if claim.name.startswith("gauge spread"):
        return f"%GRR of {claim.name.partition('share of ')[2]}"
    return claim.name


def _claims(facts: CharacteristicFacts, criteria: Criteria) -> tuple[Claim, ...]:
    if facts.kind == "judgement":
        return _of_judgement(facts, criteria)
    accept, grr, ndc = (criteria[key] for key in ("capability_accept", "grr_accept", "ndc_min"))
    claims = []
    if facts.kind != "gauge":
        index = facts.index
        value: Interval | Absent = index if isinstance(index, Absent) else index.claimed
        name = "Ppk" if isinstance(index, Absent) else index.name
        claims.append(Claim(name, value, f"above {two_places(accept.number)}", accept.source))
    share = f"gauge spread, share of {facts.gauge.of_what}"
    claims.append(Claim(share, facts.gauge.share, f"at most {grr.percent}", grr.source))
    if isinstance(facts.gauge.ndc, Interval):
        claims.append(Claim("ndc", facts.gauge.ndc, f"at least {ndc.number:g}", ndc.source))
    return tuple(claims)


def _of_judgement(facts: CharacteristicFacts, criteria: Criteria) -> tuple[Claim, ...]:
    known = facts.judgement
    rows = (
        ("effectiveness", known.effectiveness, "effectiveness_min", "at least"),
        ("miss rate", known.miss, "miss_max", "at most"),
        ("false alarm rate", known.false_alarm, "false_alarm_max", "at most"),
    )
    claims = [
        Claim(name, value, f"{words} {criteria[key].percent}", criteria[key].source)
        for name, value, key, words in rows
    ]
    least = criteria["kappa_min"]
    claims.append(Claim("kappa", known.kappa, f"at least {least.number:g}", least.source))
    return tuple(item for item in claims if isinstance(item.value, Interval))


@dataclass(frozen=True)
class StudyVerdict(Finding):
    """All decisions of a study together.

    Attributes
    ----------
    verdicts : dict of str to CharacteristicVerdict
        By characteristic id.
    criteria_lines : dict of str to float
        Criteria on the index, for the picture.
    own_records : pandas.DataFrame
        Counts to hold against records of one's own: what, in this study, hold against.
    decisions : dict of str to str
        Decision by characteristic id.
    """

    verdicts: dict[str, CharacteristicVerdict]
    criteria_lines: dict[str, float] = field(repr=False)
    own_records: pd.DataFrame = field(repr=False, compare=False)
    cautions: tuple[str, ...] = (
        "A decision to release parts belongs to those authorised to take it; this study informs it.",
    )
    title: ClassVar[str] = "Decisions"
    recorded: ClassVar[tuple[str, ...]] = ("decisions", "own_records")

    def of(self, decision: str) -> tuple[str, ...]:
        """List the characteristics with this decision."""
        return tuple(item.name for item in self.verdicts.values() if item.decision == decision)

    @property
    def conditions(self) -> tuple[str, ...]:
        """Conditions of all characteristics, each said once."""
        return conditions_of_study(self.verdicts.values())

    @property
    def statement(self) -> str:
        parts = []
        for decision in DECISIONS:
            names = self.of(decision)
            if names:
                parts.append(f"{decision}: {', '.join(names)}")
        return f"Of {counted(len(self.verdicts), 'characteristic')}: {'; '.join(parts)}."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame([_row(item) for item in self.verdicts.values()])

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture | None:
        from linestudy.figures.verdict import indices_against_criteria

        shown = {
            item.name: (item.facts.index.name, item.facts.index.interval, item.decision)
            for item in self.verdicts.values()
            if not isinstance(item.facts.index, Absent)
        }
        if not shown:
            return None
        return indices_against_criteria(shown, self.criteria_lines, ax=ax)

    def record(self) -> dict[str, Any]:
        """Return the decision of each characteristic, counts to compare with own records, statement, cautions."""
        return {
            "decisions": {key: item.decision for key, item in self.verdicts.items()},
            "own_records": self.own_records.to_dict(orient="records"),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


STUDY_VERDICT = Declaration("verdict", StudyVerdict, part="none", of_study=True)


def _row(item: CharacteristicVerdict) -> dict[str, Any]:
    facts, claim, process = item.facts, item.headline, item.facts.process
    timed = facts.kind == "process" and facts.circumstances.in_time and process.n > 0
    return {
        "characteristic": item.name,
        "limits": item.limits,
        "index": _named(claim) if claim else "",
        "value": _shown(claim) if claim else "not given",
        "asked": claim.criterion if claim else "",
        "gauge": f"{100 * facts.gauge.share.estimate:.1f} %"
        if isinstance(facts.gauge.share, Interval)
        else "",
        "out of control (expected)": (
            f"{len(process.points)} ({process.expected_points:.1f})" if timed else ""
        ),
        "decision": item.decision,
    }
