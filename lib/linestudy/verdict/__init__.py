"""What may be claimed, against which criteria; what may not."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "CharacteristicFacts": "facts",
        "CharacteristicVerdict": "claims",
        "Circumstances": "facts",
        "Claim": "claims",
        "Criteria": "criteria",
        "Criterion": "criteria",
        "Decision": "decisions",
        "GaugeFacts": "facts",
        "IndexFacts": "facts",
        "JudgementFacts": "facts",
        "ProcessFacts": "facts",
        "RULES": "rules",
        "Ruling": "rulings",
        "StudyVerdict": "claims",
        "Tags": "process.tags",
        "decide": "decisions",
        "decision_table": "evaluate",
        "describe": "process.describe",
        "evaluate": "evaluate",
        "judge": "decisions",
        "resolve": "criteria",
        "rule_on": "decisions",
        "strongest": "rulings",
    },
)
