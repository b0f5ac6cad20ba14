"""Labs: small experiments on a line whose truth is known, one question each.

Each lab draws studies by simulation and sets what they say beside the truth. A lab is a plain function of
a few numbers, so that a notebook can put sliders on it (`play`); the same numbers give the same picture.
"""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
