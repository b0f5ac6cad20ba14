"""The submission: document, page, workbook, results, bag; and its recomputation."""

from linestudy.results.deprecation import old_names, renamed
from linestudy.results.lazy import attach

_load, __dir__, __all__ = attach(
    __name__,
    {
        "Evaluation": "evaluation",
        "RecomputeReport": "audit.report",
        "evaluate": "evaluation",
        "make_tampered_copy": "audit.tampering",
        "recompute": "audit.recomputation",
        "write": "writing",
    },
)

__getattr__ = old_names(
    __name__, [renamed("tampered", "make_tampered_copy", "0.2.0", "0.3.0")], _load
)
