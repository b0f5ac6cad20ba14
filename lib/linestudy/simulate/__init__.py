"""A line with known truth, for teaching, planning and tests."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "Experiment": "experiment",
        "MeasuringSystem": "process",
        "check": "exercises",
        "glossary": "terms",
        "labs": "labs",
        "play": "experiment",
        "Process": "process",
        "crossed": "studies",
        "drift": "studies",
        "judged": "studies",
        "nested": "studies",
        "paired": "studies",
        "reference": "studies",
        "run": "process",
        "write_sample": "sample",
    },
)
