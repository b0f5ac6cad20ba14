"""What a study of strength by size says, and shows."""

from __future__ import annotations

import numpy as np
import pytest
from pulled_welds import welds

from linestudy.gauges import strength_assurance
from linestudy.results import Absent, CannotJudge


def test_what_cannot_assure_says_why() -> None:
    rng = np.random.default_rng(7)
    width, force, _ = welds(rng, 40)
    beyond = strength_assurance(width, force, 200.0)
    assert isinstance(beyond.width_limit, Absent)
    assert "not even the largest" in beyond.statement
    falling = strength_assurance(width, 200 - force, 190.0)
    assert "strength falls with size" in falling.statement
    with pytest.raises(CannotJudge, match="size of all 40 parts"):
        strength_assurance(np.full(40, 0.4), force, 60.0)
    with pytest.raises(ValueError, match="batch has 3 entries"):
        strength_assurance(width, force, 60.0, batch=[1, 2, 3])


def test_the_sentence_says_whether_the_limit_is_enough() -> None:
    width, force, _ = welds(np.random.default_rng(1), 60)
    for required, word in ((55.0, "which is enough"), (65.0, "which is not enough")):
        found = strength_assurance(width, force, required, lower=0.36, measured_unit="mm", unit="N")
        assert word in found.statement
        assert (found.at_limits["lower"] >= required) == (word == "which is enough")
    assert "99 % of the parts (95 % confidence)" in found.statement
    figure = found.figure()
    assert "size (mm)" in figure.axes[0].get_xlabel()
    assert figure.axes[0].get_ylabel() == "strength (N)"
