"""What was recorded: read, map, screen; a ledger that accounts for every row."""

from linestudy.running.deprecation import old_names, renamed
from linestudy.running.lazy import attach_stub

_load, __dir__, __all__ = attach_stub(__name__, __file__)

#: The line log has a package of its own, above this one.
_OF_THE_LOG = ("LineLog", "LogSummary", "build_log", "summarise_log")
__getattr__ = old_names(
    __name__,
    [
        renamed("propose", "infer_data_table", "0.2.0", "0.3.0"),
        *(renamed(name, f"linestudy.linelog.{name}", "0.2.0", "0.3.0") for name in _OF_THE_LOG),
    ],
    _load,
)
