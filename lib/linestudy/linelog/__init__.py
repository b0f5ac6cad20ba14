"""A line that measures every part: daily files into one log, its sums, and what they say of stability."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "LineLog": "build",
        "LogSummary": "summary",
        "build_log": "build",
        "evaluate_log": "evaluation",
        "summarise_log": "sums",
    },
)
