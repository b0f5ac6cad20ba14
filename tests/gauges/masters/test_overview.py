"""Biases side by side: the one that could matter most comes first."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import (
    bias_overview,
    bias_study,
)
from linestudy.results import CannotJudge


def test_biases_side_by_side() -> None:
    rng = np.random.default_rng(10)
    off = bias_study(1.2 + rng.normal(0, 0.01, 30), 1.0)
    true = bias_study(1.0 + rng.normal(0, 0.01, 30), 1.0)
    found = bias_overview([("a", "camera", true, 1.0), ("b", "camera", off, 1.0)])
    assert found.rows[0].characteristic == "b"
    assert found.rows[0].seen
    assert "b (camera)" in found.statement
    with pytest.raises(CannotJudge):
        bias_overview([])
