"""Studies of a line with hidden faults, a form for decisions, and a grade."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
