"""Sizes and limits as drawings and lists write them in one cell (signs as in ISO 129-1, ISO 1101 and ASME Y14.5)."""

from __future__ import annotations

import pytest

from linestudy.records.across.specs import spec_of

CASES = {
    "2,80 ± 0,05": (2.8, 2.75, 2.85),
    "Ø1,20 +0,02/-0,01": (1.2, 1.19, 1.22),
    "⌖ Ø0,1 Ⓜ A B": (None, None, 0.1),
    "⌖ Ø.004 M A B C": (None, None, 0.004),
    "⏥ 0,03": (None, None, 0.03),
    "Flatness 0.02": (None, None, 0.02),
    "max. 0,05": (None, None, 0.05),
    ".003 MAX": (None, None, 0.003),
    "0,5 mm max": (None, None, 0.5),
    "≥ 40": (None, 40.0, None),
    "9 LBF MIN": (None, 9.0, None),
    "min. 2,7 max. 2,9": (None, 2.7, 2.9),
    "Ra ≤ 1,6": (None, None, 1.6),
    "90° ± 1°": (90.0, 89.0, 91.0),
    ".110 +/- .002": (0.11, 0.108, 0.112),
    "Ø.047/.050": (None, 0.047, 0.05),
    ".250-.254": (None, 0.25, 0.254),
    "2,75 bis 2,85 mm": (None, 2.75, 2.85),
    "4X Ø.047 ±.002": (0.047, 0.045, 0.049),
    "10 H7 (+0,015/0)": (10.0, 10.0, 10.015),
    "2.0 0/-0.1": (2.0, 1.9, 2.0),
    "2.0 -0.1 -0.3": (2.0, 1.7, 1.9),
    "2,80 (+0,05/-0,02)": (2.8, 2.78, 2.85),
    "R0,3 (Hilfsmaß)": (0.3, None, None),
    "R.010 REF": (0.01, None, None),
    "10 H7": (10.0, None, None),
    "Ø 8 H7": (8.0, None, None),
    "10 -0,1": (10.0, 9.9, 10.0),
    "25 +0.3": (25.0, 25.0, 25.3),
    ".003": (0.003, None, None),
    ".125 DIA. TYP": (0.125, None, None),
    "平面度 0.05": (None, None, 0.05),
}
#: What says no size with limits.
NONE = (
    "M3x0,5",
    "1/2",
    "12-14",
    "ISO 2768-m",
    "BC-12",
    "2026-09-03",
    "2026-09-01",
    "Pos 12-1",
    "±0,05",
    "P1",
    "",
    "Shot 12",
    "R2 - R3",
)


@pytest.mark.parametrize("text", CASES)
def test_a_cell_says_its_limits(text: str) -> None:
    found = spec_of(text)
    assert found is not None
    assert (found.nominal, found.lower, found.upper) == CASES[text]


@pytest.mark.parametrize("text", NONE)
def test_a_cell_says_none(text: str) -> None:
    assert spec_of(text) is None


def test_name_and_unit_beside_the_limits() -> None:
    found = spec_of("Burr max. 0.05 mm")
    assert found is not None
    assert (found.rest, found.unit, found.upper) == ("Burr", "mm", 0.05)
