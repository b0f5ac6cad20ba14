"""A column in which decimal commas and points are mixed is found by what the numbers are worth."""

from __future__ import annotations

from pathlib import Path

from linestudy.records.infer.data_table import infer_data_table

BOTH = 'decimal = "both"'


def described(folder: Path, *cells: str) -> str:
    file = folder / "f.csv"
    rows = "".join(f"{i};{c}\n" for i, c in enumerate(cells, 1))
    file.write_text(f"Part;Width\n{rows}", encoding="utf-8")
    return infer_data_table(file)


def test_both_marks_of_numbers_alike_are_told(tmp_path: Path) -> None:
    assert BOTH in described(tmp_path, *["2,81", "2.79"] * 10)


def test_full_width_digits_count_with_the_others(tmp_path: Path) -> None:
    assert BOTH in described(tmp_path, *["２，８１", "２．７９"] * 10)


def test_numbers_beyond_all_bounds_have_no_middle(tmp_path: Path) -> None:
    # A warning of linestudy is an error here.
    assert BOTH not in described(tmp_path, *["9" * 60 + ",5", "9" * 50 + ".5"] * 10)
