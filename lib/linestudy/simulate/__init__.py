"""A line with known truth, for teaching, planning and tests."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "MeasuringSystem": "process",
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
