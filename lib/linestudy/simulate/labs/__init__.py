"""Labs: small experiments on a line whose truth is known, one question each.

Each lab draws studies by simulation and sets what they say beside the truth. A lab is a plain function of
a few numbers, so that a notebook can put sliders on it (`play`); the same numbers give the same picture.
"""

from linestudy.running.deprecation import old_names, renamed
from linestudy.running.lazy import attach_stub

_load, __dir__, __all__ = attach_stub(__name__, __file__)
__getattr__ = old_names(
    __name__,
    [
        renamed("what_meets_is_worth", "operating_characteristic", since="0.3.0", removal="0.4.0"),
        renamed(
            "why_neighbours_flatter", "why_neighbours_overstate_cpk", since="0.3.0", removal="0.4.0"
        ),
    ],
    _load,
)
