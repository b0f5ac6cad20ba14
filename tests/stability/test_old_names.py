"""Old names of the room warn, name the new one, and give the same function until they go."""

from __future__ import annotations

import importlib

import pytest

import linestudy.stability as room
from linestudy.running.deprecation import DECLARED

OLD = [one for one in DECLARED if one.owner == "linestudy.stability"]


@pytest.mark.parametrize("one", OLD, ids=lambda one: one.old)
def test_an_old_name_gives_what_the_new_one_does(one: object) -> None:
    with pytest.warns(DeprecationWarning, match=f"'{one.old}' is called '{one.new}'") as told:
        found = getattr(room, one.old)
    # The warning points at the line that used the old name.
    assert told[0].filename == __file__
    module, _, name = one.new.rpartition(".")
    assert found is getattr(importlib.import_module(module) if module else room, name)


def test_no_old_name_is_offered() -> None:
    assert len(OLD) == 17
    assert not {one.old for one in OLD} & set(room.__all__)
    assert not {one.old for one in OLD} & set(dir(room))
