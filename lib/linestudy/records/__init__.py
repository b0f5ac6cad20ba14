"""What was recorded: read, map, screen; a ledger that accounts for every row."""

from typing import Any

from linestudy.core.lazy import attach

_of_records, __dir__, __all__ = attach(
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

#: Names of the line log, which has a room of its own by now; they are still found here.
_OF_THE_LOG = ("LineLog", "LogSummary", "build_log", "summarise_log")


def __getattr__(name: str) -> Any:
    if name in _OF_THE_LOG:
        from importlib import import_module

        # By name: this room knows nothing of those above it.
        return getattr(import_module("linestudy.linelog"), name)
    return _of_records(name)
