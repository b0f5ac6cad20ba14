"""The one list of rules, in the order a reader meets them."""

from linestudy.verdict.rules import claiming, judging, measuring, process
from linestudy.verdict.rules.rule import Rule

RULES: tuple[Rule, ...] = (
    *measuring.RULES,
    *judging.RULES,
    *process.RULES,
    *claiming.RULES,
)

__all__ = ["RULES", "Rule"]
