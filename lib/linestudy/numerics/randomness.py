"""Seeded randomness: every draw in a study follows from the study's seed and a name."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

#: Used where a method is called outside a study and no seed is given.
DEFAULT_SEED = 20260101


def generator(seed: int | None = None, *purpose: str) -> np.random.Generator:
    """Return a random generator that depends on the seed and on what it is for.

    Parameters
    ----------
    seed : int, optional
        The study's seed; :data:`DEFAULT_SEED` when absent.
    *purpose : str
        Names of the step, for example ``"crossed", "throat", "camera"``. Another
        purpose gives an independent stream, so adding a characteristic or
        changing the order of the work changes no other draw.

    Returns
    -------
    numpy.random.Generator

    Examples
    --------
    >>> float(generator(1, "a").random()) == float(generator(1, "a").random())
    True
    """
    import numpy as np

    digest = hashlib.sha256("\x1f".join(purpose).encode()).digest()
    words = [int.from_bytes(digest[i : i + 4], "little") for i in range(0, 16, 4)]
    base = DEFAULT_SEED if seed is None else int(seed)
    return np.random.default_rng(np.random.SeedSequence([base % 2**63, *words]))
