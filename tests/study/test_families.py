"""The names that study.toml may give a distribution are those that can be fitted, and no others."""

from __future__ import annotations

from linestudy.shape import FAMILIES
from linestudy.shape.finding import in_the_trade
from linestudy.study.families import FAMILY_NAMES


def test_every_family_is_known_by_its_key_and_by_what_tables_call_it() -> None:
    assert set(FAMILY_NAMES) == {"auto", *FAMILIES, *map(in_the_trade, FAMILIES)}
    assert len(set(FAMILY_NAMES)) == len(FAMILY_NAMES)
