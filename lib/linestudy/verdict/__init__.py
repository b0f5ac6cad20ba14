"""What may be claimed, against which criteria; what may not."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
