"""How far the values may reach: indices that lean on no single family of distributions."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
