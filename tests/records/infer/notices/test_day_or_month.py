"""What else in a file, and in the files beside it, tells whether the day or the month comes first."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from proposals import WIDTHS, delimited

from linestudy.intake import draft_study
from linestudy.intake.draft import Draft


def _rows(
    layout: str, heads: tuple[str, str, str], comma: bool = False, day: int = 3
) -> list[list[object]]:
    begin = datetime.datetime(2026, 4, day, 6)
    rows: list[list[object]] = [list(heads)]
    for i, w in enumerate(WIDTHS):
        moment = begin + datetime.timedelta(minutes=i)
        rows.append([i + 1, f"{moment:{layout}}", f"{w:.4f}".replace(".", "," if comma else ".")])
    return rows


def _draft(folder: Path, **files: list[list[object]]) -> Draft:
    paths = []
    for name, rows in files.items():
        path = folder / f"{name}.csv"
        path.write_bytes(delimited(rows, ";"))
        paths.append(path)
    return draft_study(paths)


@pytest.mark.parametrize(
    ("heads", "comma", "name", "first"),
    [
        (("No", "Time", "Width"), True, "run", "%d"),
        (("Nº", "Fecha", "Width"), False, "run", "%d"),
        (("Pièce", "Date", "Width"), False, "run", "%d"),
        (("No", "Data", "Larghezza"), False, "run", "%d"),
        (("No", "Time", "Width (in)"), False, "run", "%m"),
        (("No", "Time", "Width"), False, "run_2026-04-03", "%d"),
        (("No", "Time", "Width"), False, "run_20260304", "%m"),
    ],
)
def test_what_the_file_tells(
    tmp_path: Path, heads: tuple[str, str, str], comma: bool, name: str, first: str
) -> None:
    # 03/04/2026, which is the third of April for one and the fourth of March for the other.
    draft = _draft(tmp_path, **{name: _rows("%d/%m/%Y %H:%M", heads, comma)})
    (said,) = (table.said for table in draft.tables)
    assert said.key("time_format").startswith(first)
    assert said.twofold == ""
    assert not any("day or month" in each for each in said.open)
    assert "first, because" in next(why for key, _, why in said.keys if key == "time_format")


@pytest.mark.parametrize("heads", [("No", "Time", "Width"), ("No", "Time", "Width (mm)")])
def test_what_nothing_tells_is_asked(tmp_path: Path, heads: tuple[str, str, str]) -> None:
    draft = _draft(tmp_path, run=_rows("%d/%m/%Y %H:%M", heads))
    (said,) = (table.said for table in draft.tables)
    assert said.twofold in said.open


@pytest.mark.parametrize("layout", ["%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"])
def test_a_file_beside_it_tells(tmp_path: Path, layout: str) -> None:
    heads = ("No", "Time", "Width")
    draft = _draft(tmp_path, early=_rows(layout, heads), late=_rows(layout, heads, day=23))
    assert [table.said.key("time_format") for table in draft.tables] == [layout, layout]
    assert not any(table.said.twofold for table in draft.tables)


def test_files_of_two_countries_tell_nothing(tmp_path: Path) -> None:
    heads = ("No", "Time", "Width")
    files = {
        "early": _rows("%d/%m/%Y %H:%M", heads),
        "day": _rows("%d/%m/%Y %H:%M", heads, day=23),
        "month": _rows("%m/%d/%Y %H:%M", heads, day=24),
    }
    assert [bool(table.said.twofold) for table in _draft(tmp_path, **files).tables] == [True, False, False]  # fmt: skip
