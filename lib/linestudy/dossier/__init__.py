"""The submission: document, page, workbook, results, bag; and its recomputation."""

from linestudy.running.deprecation import old_names, renamed
from linestudy.running.lazy import attach_stub

_load, __dir__, __all__ = attach_stub(__name__, __file__)

__getattr__ = old_names(
    __name__, [renamed("tampered", "make_tampered_copy", "0.2.0", "0.3.0")], _load
)
