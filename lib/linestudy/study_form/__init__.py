"""A study set up in a notebook: files in, recognised, corrected, study.toml out."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
