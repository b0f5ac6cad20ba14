"""Times with words in them, as programs of many countries write them."""

from __future__ import annotations

from pathlib import Path

import pytest
from proposals import TIMES, WIDTHS, delimited, the_run

TEXTS = [f"{width:.4f}" for width in WIDTHS]


@pytest.mark.parametrize(
    "layout",
    ["%d/%m/%Y %I:%M %p", "%Y-%m-%d %H:%M:%S CEST", "%d.%m.%Y %H:%M:%S:000", "%d. September %Y %H:%M", "%d sept. %Y %H:%M", "Do, %d.%m.%y %H:%M", "%a %b %d %H:%M:%S %Y"],
)  # fmt: skip
def test_times_with_words(tmp_path: Path, layout: str) -> None:
    written = [time.strftime(layout).replace("PM", "p.m.").replace("AM", "a.m.") for time in TIMES]
    rows = [[cell, text] for cell, text in zip(written, TEXTS, strict=True)]
    table = the_run(tmp_path, "log.csv", delimited([["Time", "Width"], *rows], ";"))
    assert table["time"].tolist() == TIMES


def test_march_is_no_tuesday(tmp_path: Path) -> None:
    rows = [[f"Mar {i // 4 + 1:02d} {i % 4 + 8:02d}:00:00 2026", TEXTS[i]] for i in range(40)]
    table = the_run(tmp_path, "log.csv", delimited([["Time", "Width"], *rows], ";"))
    assert table["time"].dt.month.eq(3).all()
    assert table["time"].is_monotonic_increasing
