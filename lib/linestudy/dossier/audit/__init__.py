"""The auditor's side: recompute a dossier from its inputs, hold every file against that, and say what differs."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
