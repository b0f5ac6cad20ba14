"""A line that measures every part: daily files into one log, its sums, and what they say of stability."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
