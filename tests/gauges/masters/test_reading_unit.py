"""Readings in another unit are recognised by the factor."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges.masters.reading_unit import refuse_wrong_unit
from linestudy.results import CannotJudge


@pytest.mark.parametrize("factor", [25.4, 1 / 25.4, 1000, 1 / 1000, 1000 / 25.4])
def test_a_wrong_unit_is_recognised_and_named(factor: float) -> None:
    values = np.random.default_rng(1).normal(2.8, 0.01, 50)
    refuse_wrong_unit(values, 2.8, 2.75, 2.85, unit="mm")
    with pytest.raises(CannotJudge, match="Declare their unit"):
        refuse_wrong_unit(values * factor, 2.8, 2.75, 2.85, unit="mm")


def test_no_unit_is_suspected_where_there_is_no_scale() -> None:
    refuse_wrong_unit([0.0001, 0.0002], None, None, 0.08, unit="mm")
    refuse_wrong_unit([25.4, 25.5], 1.0, 0.0, 2.0, unit="mm")


def test_without_a_nominal_the_middle_of_the_limits_is_expected() -> None:
    with pytest.raises(CannotJudge, match=r"where 2\.8 mm is expected.*inches"):
        refuse_wrong_unit([0.1102, 0.1103], None, 2.75, 2.85, unit="mm")
    # A nominal away from the middle is what is expected, not the middle.
    with pytest.raises(CannotJudge, match=r"where 2\.76 mm is expected"):
        refuse_wrong_unit([0.10866], 2.76, 2.75, 2.95, unit="mm")
