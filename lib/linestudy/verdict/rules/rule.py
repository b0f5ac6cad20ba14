"""A rule: its name, what it reads, which criteria it uses, and what it says.

What a rule reads is declared by the names of facts; a name that no fact has fails when the
module is imported, so a renamed field cannot silently drop a rule. A rule is handed what it declared and
nothing else.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, get_type_hints

from linestudy.verdict.criteria import DEFAULTS, Criteria
from linestudy.verdict.facts import CharacteristicFacts
from linestudy.verdict.measurement_facts import NAMELESS
from linestudy.verdict.rulings import NONE, Ruling

Seen = dict[str, Any]
Judge = Callable[[Seen, Criteria], Ruling | None]


@dataclass(frozen=True)
class Rule:
    """One row of the table of rules.

    Attributes
    ----------
    name : str
    group : str
        Row of the table in the document: measurement system, judgement, stability ...
    kinds : tuple of str
        Kinds of decision it belongs to.
    reads : tuple of str
        Facts it looks at, as ``"gauge.share"``.
    criteria : tuple of str
        Keys of the criteria it uses.
    source : str
        Where the rule itself comes from.
    silent : str
        What it says where there is no evidence.
    judge : callable
        From what it reads and the criteria to a ruling; None where there is no evidence.
    """

    name: str
    group: str
    kinds: tuple[str, ...]
    reads: tuple[str, ...]
    criteria: tuple[str, ...]
    source: str
    silent: str
    judge: Judge

    def __post_init__(self) -> None:
        for path in self.reads:
            _require(path)
        for key in self.criteria:
            if key not in DEFAULTS:
                raise AttributeError(
                    f"rule {self.name!r} uses the criterion {key!r}, which does not exist"
                )

    def __call__(self, facts: CharacteristicFacts, criteria: Criteria) -> Ruling:
        """Apply the rule."""
        found = self.judge({path: _read(facts, path) for path in self.reads}, criteria)
        if found is None:
            return Ruling(self.name, NONE, self.silent, None, self.group)
        reason = found.reason
        if reason.startswith(NAMELESS):
            reason = f"{reason[0].upper()}{reason[1:]}"
        return Ruling(self.name, found.effect, reason, found.criterion, self.group)


def rule(
    name: str,
    *,
    group: str,
    kinds: tuple[str, ...],
    reads: tuple[str, ...],
    criteria: tuple[str, ...] = (),
    source: str,
    silent: str,
) -> Callable[[Judge], Rule]:
    """Declare a function as the judgement of a rule; see :class:`Rule`."""

    def declared(judge: Judge) -> Rule:
        return Rule(name, group, kinds, reads, criteria, source, silent, judge)

    return declared


def says(effect: str, reason: str, criterion: Any = None) -> Ruling:
    """Make a ruling whose name the rule fills in."""
    return Ruling("", effect, reason, criterion)


def _read(facts: Any, path: str) -> Any:
    value = facts
    for part in path.split("."):
        # An index that is absent has no estimate: the rule sees why.
        value = getattr(value, part)
    return value


def _require(path: str) -> None:
    """Fail where a path names no fact."""
    owner: Any = CharacteristicFacts
    for part in path.split("."):
        if not is_dataclass(owner) or part not in {item.name for item in fields(owner)}:
            raise AttributeError(f"no fact is called {path!r}")
        owner = get_type_hints(owner)[part]
