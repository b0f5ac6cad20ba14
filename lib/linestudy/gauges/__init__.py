"""Can the measurement be trusted."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
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
