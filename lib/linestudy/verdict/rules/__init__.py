"""The one list of rules, in the order a reader meets them."""

from linestudy.verdict.rules import claiming, excluding, judging, measuring, process, record
from linestudy.verdict.rules.rule import Rule

RULES: tuple[Rule, ...] = (
    *measuring.RULES,
    *judging.RULES,
    *process.RULES,
    *excluding.RULES,
    *record.RULES,
    *claiming.RULES,
)

__all__ = ["RULES", "Rule"]
