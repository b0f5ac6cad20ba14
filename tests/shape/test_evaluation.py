"""What study.toml names: a family that does not exist is a sentence, not a crash."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from linestudy.results import CannotJudge
from linestudy.shape.evaluation import declared_family


def test_a_family_that_is_not_known_is_said_with_those_that_are() -> None:
    with pytest.raises(CannotJudge, match=r'"gaus", which is not known; known are .*normal'):
        declared_family(SimpleNamespace(family="gaus"))
    assert declared_family(SimpleNamespace(family="auto")) == "auto"
    assert declared_family(SimpleNamespace(family="gamma")) == "gamma"
