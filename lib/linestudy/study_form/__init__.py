"""A study set up in a notebook: files in, recognised, corrected, study.toml out."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
