"""How reliable a decision is: processes of known truth, and shares of "meets" over simulated studies of them."""

from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
