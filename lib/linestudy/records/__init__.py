"""What was recorded: read, map, screen; a ledger that accounts for every row."""

from typing import Any

from linestudy.results.lazy import attach

_of_records, _, _names = attach(
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

#: The line log has a room of its own, above this one; its names are still found here.
_OF_THE_LOG = ("LineLog", "LogSummary", "build_log", "summarise_log")
__all__ = sorted([*_names, *_OF_THE_LOG])


def __getattr__(name: str) -> Any:
    if name in _OF_THE_LOG:
        from importlib import import_module

        return getattr(import_module("linestudy.linelog"), name)
    return _of_records(name)


def __dir__() -> list[str]:
    return __all__
