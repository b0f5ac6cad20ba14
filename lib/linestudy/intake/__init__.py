"""From raw files to a study: what they are, what belongs together, what nobody has said yet."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
