"""Names for the arrays that packages hand to each other, as a type checker and a reader see them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

#: Computed numbers.
FloatArray = NDArray[np.float64]
#: Counts and positions.
IntArray = NDArray[np.int64]
#: Yes or no, one for each entry.
BoolArray = NDArray[np.bool_]
#: Numbers as a caller may hand them: array, list, Series.
Numbers = ArrayLike
#: Names or numbers of parts, coils, stations, as a caller may hand them.
Labels = ArrayLike
