"""Exercises of the labs: numbers to work out and decisions to take, with replies to typical mistakes."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
