"""What was recorded: read, map, screen; a ledger that accounts for every row."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "FileAccount": "ledger",
        "Ledger": "ledger",
        "Records": "read",
        "Screening": "screening",
        "Source": "read",
        "propose": "propose",
        "read": "read",
    },
)
