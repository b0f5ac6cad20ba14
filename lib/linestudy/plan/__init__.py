"""Before anyone measures: sample sizes and sheets in random order."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
