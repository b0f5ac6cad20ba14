"""What distribution is it."""

from linestudy.running.deprecation import old_names, renamed
from linestudy.running.lazy import attach_stub

_load, __dir__, __all__ = attach_stub(__name__, __file__)
__getattr__ = old_names(
    __name__,
    (
        renamed("choose", "select_distribution", since="0.2.0", removal="0.3.0"),
        renamed("normality", "normality_tests", since="0.2.0", removal="0.3.0"),
        renamed("NAMES", "FAMILIES", since="0.2.0", removal="0.3.0"),
    ),
    _load,
)
