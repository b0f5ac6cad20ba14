"""A line that measures every part: daily files into one log, its sums, and what they say of stability."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
