"""Can the measurement be trusted."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "AverageRangeStudy": "average_and_range",
        "Contribution": "uncertainty",
        "LeftOutStudy": "left_out",
        "RiskStudy": "risk",
        "UncertaintyStudy": "uncertainty",
        "average_and_range": "average_and_range",
        "crossed_stack": "crossed",
        "left_out": "left_out",
        "risk": "risk",
        "uncertainty": "uncertainty",
        "wrong_verdicts": "wrong_verdicts",
        "AgreementStudy": "agreement",
        "AttributeStudy": "attribute",
        "BiasStudy": "bias",
        "CrossedStudy": "crossed",
        "DriftStudy": "drift",
        "LinearityStudy": "linearity",
        "NestedStudy": "nested",
        "RepeatabilityStudy": "repeatability",
        "agreement": "agreement",
        "attribute": "attribute",
        "bias": "bias",
        "crossed": "crossed",
        "drift": "drift",
        "evaluate": "evaluate",
        "linearity": "linearity",
        "nested": "nested",
        "repeatability": "repeatability",
    },
)
