"""How reliable a decision is: processes of known truth, and shares of "meets" over simulated studies of them."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
