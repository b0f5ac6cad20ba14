"""Seeded randomness: every draw in a study follows from the study's seed and a name."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

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
        Independent of those for other purposes.

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


def normal_draws(
    covariance: ArrayLike, count: int, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Draw from a normal distribution of mean nought.

    NumPy's own turns the draws into the covariance's principal directions, whose signs and order are the processor's
    where two variances are alike; a Cholesky factor has neither.

    Parameters
    ----------
    covariance : array_like of float, shape (k, k)
        Rows of nought belong to what does not vary.
    count : int
        Number of draws.
    rng : numpy.random.Generator
        Where they come from.

    Returns
    -------
    numpy.ndarray of float, shape (count, k)
        Independent draws of the standard normal distribution.

    Examples
    --------
    >>> import numpy as np
    >>> drawn = normal_draws([[4.0, 0.0], [0.0, 0.0]], 1000, np.random.default_rng(1))
    >>> drawn.std(axis=0).round(1).tolist()
    [2.0, 0.0]
    """
    import numpy as np

    matrix = np.asarray(covariance, dtype=float)
    drawn = rng.standard_normal((count, len(matrix)))
    varying = np.diag(matrix) > 0
    size = np.sqrt(np.diag(matrix)[varying])
    # Correlations, so that no unit outweighs another; the least addition keeps a flat one positive.
    inner = matrix[np.ix_(varying, varying)] / np.outer(size, size) + 1e-13 * np.eye(size.size)
    out = np.zeros_like(drawn)
    out[:, varying] = drawn[:, varying] @ (size[:, None] * np.linalg.cholesky(inner)).T
    return out
