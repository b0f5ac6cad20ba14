"""What study.toml names: a family that does not exist is a sentence, not a crash."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from linestudy.results import CannotJudge
from linestudy.shape.evaluation import declared_family
from linestudy.shape.families import FAMILIES
from linestudy.shape.finding import in_the_trade


def test_a_family_that_is_not_known_is_said_with_those_that_are() -> None:
    with pytest.raises(CannotJudge, match=r'"gaus", which is not known;.* known are .*normal'):
        declared_family(SimpleNamespace(family="gaus"))
    assert declared_family(SimpleNamespace(family="auto")) == "auto"
    assert declared_family(SimpleNamespace(family="gamma")) == "gamma"


def test_a_family_is_known_as_the_tables_show_it() -> None:
    """A notebook asks for the name "as the table above names it"."""
    for key in FAMILIES:
        for written in (key, in_the_trade(key), in_the_trade(key).upper(), f" {key} "):
            assert declared_family(SimpleNamespace(family=written)) == key
    with pytest.raises(CannotJudge, match=r"did you mean 'Johnson SB'\? known are"):
        declared_family(SimpleNamespace(family="Jonson SB"))
