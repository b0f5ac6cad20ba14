"""Tones of the pictures: apart from the paper, from the shade behind coils, and from each other in grey (WCAG 2, 1.4.11)."""

from __future__ import annotations

import itertools

import pytest

from linestudy.figures.style import DEEP, FAINT, INK, MID, SERIES, SOFT, plain_texts


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


def test_names_that_begin_alike_stay_different() -> None:
    coils = [f"Ring-Nr. 2026/09-{n}" for n in range(4711, 4716)]
    short = plain_texts(coils, 12)
    assert len(set(short)) == len(coils)
    assert max(map(len, short)) <= 12
    # Begin and end alike: the middle goes. What fits is not cut.
    assert len(set(plain_texts(["left inner rail, die A", "right outer rail, die A"], 12))) == 2
    assert plain_texts(["A", "B"], 12) == ["A", "B"]
    # The same name twice is the same label twice, and nothing can tell hopeless ones apart.
    assert plain_texts(["x" * 30, "x" * 30], 12) == ["x" * 11 + "…"] * 2


def test_thousands_stand_apart_on_an_axis_and_nothing_stands_beside_it() -> None:
    from linestudy.figures.style import panels

    figure, (axes,) = panels()
    axes.plot([0, 1], [12_488.001, 12_488.004])
    axes.set_ylim(-20_000, 20_000)
    figure.svg()
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert "20,000" in labels
    assert "−20,000" in labels
    assert not axes.yaxis.get_offset_text().get_text()


def test_a_label_takes_the_width_it_was_laid_out_with() -> None:
    """A browser without the family sets words up to a fifth wider; a label at the edge was cut off."""
    import re

    from linestudy.figures.style import panels

    figure, (axes,) = panels()
    axes.set_xlabel("parts & customers")
    svg = figure.svg().decode()
    texts = re.findall(r"<text ([^>]*)>([^<]*)</text>", svg)
    assert texts
    for attributes, _ in texts:
        width = float(re.search(r'textLength="([\d.]+)"', attributes)[1])  # type: ignore[index]
        assert 0 < width < 500
    (one,) = (at for at, text in texts if text == "parts &amp; customers")
    assert 50 < float(re.search(r'textLength="([\d.]+)"', one)[1]) < 75  # type: ignore[index]
