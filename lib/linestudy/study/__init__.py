"""What is claimed: study.toml as typed objects, and a starter folder."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
