"""From raw files to a study: what they are, what belongs together, what nobody has said yet."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
