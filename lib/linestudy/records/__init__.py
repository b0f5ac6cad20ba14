"""What was recorded: read, map, screen; a ledger that accounts for every row."""

from typing import Any

from linestudy.results.deprecation import old_names, renamed
from linestudy.results.lazy import attach

_of_records, _, _names = attach(
    __name__,
    {
        "FileAccount": "ledger",
        "Ledger": "ledger",
        "Records": "read_files",
        "Screening": "screening",
        "Source": "read_files",
        "ValueCount": "ledger",
        "infer_data_table": "infer",
        "read": "read_files",
    },
)

#: The line log has a room of its own, above this one; its names are still found here.
_OF_THE_LOG = ("LineLog", "LogSummary", "build_log", "summarise_log")
__all__ = sorted([*_names, *_OF_THE_LOG])


def _load(name: str) -> Any:
    if name in _OF_THE_LOG:
        from importlib import import_module

        return getattr(import_module("linestudy.linelog"), name)
    return _of_records(name)


__getattr__ = old_names(__name__, [renamed("propose", "infer_data_table", "0.2.0", "0.3.0")], _load)


def __dir__() -> list[str]:
    return __all__
