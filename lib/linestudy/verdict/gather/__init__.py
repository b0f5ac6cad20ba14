"""Gather what the packages found, and what the records hold, into the facts that rules read."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
