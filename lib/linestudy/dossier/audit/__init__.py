"""The auditor's side: recompute a dossier from its inputs, hold every file against that, and say what differs."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "RecomputeReport": "report",
        "make_tampered_copy": "tampering",
        "recompute": "recomputation",
    },
)
