"""Gather what the rooms found, and what the records hold, into the facts that rules read."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "Readings": "readings",
        "circumstances_of": "circumstances",
        "gauge_facts": "gauge",
        "judged_by": "readings",
        "judgement_facts": "judgement",
        "readings_of": "readings",
    },
)
