"""Gather what the packages found, and what the records hold, into the facts that rules read."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
