"""A complaint names the line of the key it is about."""

from __future__ import annotations

import pytest

from linestudy.study.lines import where_in

TEXT = (
    'format = 1\n\n[study]\ntitle = "t"\n\n[[event]]\nname = "a"\n[[event]]\nname = "b"\nat = 3\n'
)


@pytest.mark.parametrize(
    ("location", "told"),
    [
        (("study", "title"), "study.toml line 4, [study]"),
        (("event", 1, "at"), "study.toml line 10, [[event]] number 2"),
        # The first has no such key: its header is the nearest place.
        (("event", 0, "at"), "study.toml line 6, [[event]] number 1"),
        (("gauge", 0, "id"), "study.toml, [[gauge]] number 1"),
    ],
)
def test_the_line_of_a_key(location: tuple[int | str, ...], told: str) -> None:
    assert where_in(location, TEXT) == told
