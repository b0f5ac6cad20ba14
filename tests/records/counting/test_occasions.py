"""Dates that the names of occasions begin with."""

from __future__ import annotations

import pytest

from linestudy.records.counting.occasions import dated


@pytest.mark.parametrize(
    ("name", "date"),
    [("31.03.2026, after maintenance", "2026-03-31"), ("2026-03-31b", "2026-03-31"), ("2026-03 May", "2026-03-"), ("first", "")],
)  # fmt: skip
def test_the_date_in_front(name: str, date: str) -> None:
    assert dated(name) == date
