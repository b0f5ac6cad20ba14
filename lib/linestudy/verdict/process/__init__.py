"""What a run says of its process, whatever the limits: is it in statistical control, what is its tail."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
