"""What a run says of its process, whatever the limits: is it in statistical control, what is its tail."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
