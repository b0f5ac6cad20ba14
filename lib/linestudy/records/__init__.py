"""What was recorded: read, map, screen; a ledger that accounts for every row."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "FileAccount": "ledger",
        "Ledger": "ledger",
        "LineLog": "linelog",
        "LogSummary": "log_summary",
        "Records": "read",
        "Screening": "screening",
        "Source": "read",
        "build_log": "linelog",
        "propose": "propose",
        "read": "read",
        "summarise_log": "log_sums",
    },
)
