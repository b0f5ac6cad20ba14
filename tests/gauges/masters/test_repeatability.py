"""Cg and Cgk: arithmetic by hand."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import cg_cgk
from linestudy.results import CannotJudge


def test_repeatability_by_hand() -> None:
    # VDA 5 manner, arithmetic by hand: s = 1, tolerance 60, 20 % of it over 6 s is 2.
    values = np.array([-1.0, 1.0, -1.0, 1.0, 0.0]) * np.sqrt(4 / 4) + 10.5
    study = cg_cgk(values, 10.0, 60.0)
    assert study.sd == pytest.approx(1.0)
    assert study.Cg.estimate == pytest.approx(2.0)
    assert study.Cgk.estimate == pytest.approx((6 - 0.5) / 3)
    assert cg_cgk(values, 10.0, 60.0, sigma_multiplier=4.0).Cg.estimate == pytest.approx(3.0)
    assert study.smallest_tolerance.estimate == pytest.approx(60 * 1.33 / 2)


def test_readings_of_one_master_that_never_differ_are_refused() -> None:
    with pytest.raises(CannotJudge, match="All 3 readings"):
        cg_cgk([2.0, 2.0, 2.0], 2.0, 1.0)
