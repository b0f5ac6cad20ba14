"""Numbers are read as people write them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from linestudy.simulate.exercises.answers import number_in


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("3,25", 3.25), ("3.25 times", 3.25), ("10 %", 10.0), ("about 3", 3.0), ((3, 25), 3.25), ("−2,5", -2.5),
        ("1e-3", 0.001), (np.float64(2), 2.0), (7, 7.0), ("", None), ("2 or 3", None), (None, None), (True, None),
        (float("nan"), None), ((1, 2, 3), None), ((3, -1), None), ("three", None), ([3], None),
    ],
)  # fmt: skip
def test_a_number_in_an_answer(written: Any, meant: float | None) -> None:
    assert number_in(written) == meant
