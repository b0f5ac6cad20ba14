"""Words for limits are known alone and with their unit, and no others are."""

from __future__ import annotations

import pytest

from linestudy.records.cells.limit_words import SAID_OF_LIMITS, said_of_limits


@pytest.mark.parametrize("said", SAID_OF_LIMITS)
def test_every_word_says_what_it_stands_under(said: str) -> None:
    for word in SAID_OF_LIMITS[said]:
        found = said_of_limits(f"{word.capitalize()} [mm]")
        # A few words are of two meanings, and the first counts.
        assert found == said or word in SAID_OF_LIMITS[found]


@pytest.mark.parametrize("text", ["", "Höhe", "12", "upper", "Part no."])
def test_other_words_say_nothing(text: str) -> None:
    assert said_of_limits(text) == ("upper limit" if text == "upper" else "")
