"""The submission: document, page, workbook, results, bag; and its recomputation."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "Evaluation": "evaluation",
        "RecomputeReport": "recomputation",
        "evaluate": "evaluation",
        "recompute": "recomputation",
        "tampered": "tampering",
        "write": "writing",
    },
)
