"""What may be claimed, against which criteria; what may not."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "CharacteristicVerdict": "claims",
        "Claim": "claims",
        "Criteria": "criteria",
        "Criterion": "criteria",
        "Evidence": "decisions",
        "Ruling": "decisions",
        "StudyVerdict": "claims",
        "decide": "decisions",
        "decision_table": "evaluate",
        "evaluate": "evaluate",
        "resolve": "criteria",
        "rule_on": "decisions",
    },
)
