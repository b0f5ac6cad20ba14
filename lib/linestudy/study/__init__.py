"""What is claimed: study.toml as typed objects, and a starter folder."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
