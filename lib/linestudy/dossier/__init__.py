"""The submission: document, page, workbook, results, bag; and its recomputation."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "Evaluation": "evaluation",
        "RecomputeReport": "audit.report",
        "evaluate": "evaluation",
        "recompute": "audit.recompute",
        "tampered": "audit.tampering",
        "write": "writing",
    },
)
