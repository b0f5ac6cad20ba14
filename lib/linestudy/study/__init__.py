"""What is claimed: study.toml as typed objects, and a starter folder."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {"Study": "load", "find_study": "starter", "open_study": "load", "start_study": "starter"},
)
