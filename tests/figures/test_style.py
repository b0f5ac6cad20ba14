"""Tones of the pictures: apart from the paper, from the shade behind coils, and from each other in grey (WCAG 2, 1.4.11)."""

from __future__ import annotations

import itertools

import pytest

from linestudy.figures.style import DEEP, FAINT, INK, MID, SERIES, SOFT


def luminance(color: str) -> float:
    """Relative luminance as WCAG 2 defines it."""
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("tone", list(dict.fromkeys((DEEP, MID, SOFT, INK, *SERIES))))
@pytest.mark.parametrize("ground", ["#ffffff", FAINT])
def test_what_is_drawn_stands_out_from_paper_and_shade(tone: str, ground: str) -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast(tone, ground) >= 3


def test_the_first_two_series_are_apart_in_grey_too() -> None:
    assert contrast(*SERIES[:2]) >= 3
    assert len({round(luminance(tone), 3) for tone in SERIES}) == len(SERIES)
    assert all(a != b for a, b in itertools.pairwise(SERIES))
