"""Exercises of the labs: numbers to work out and decisions to take, with replies to typical mistakes."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
