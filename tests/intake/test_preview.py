"""What a person sees of a file: its columns in order, and its first rows as written."""

from __future__ import annotations

from pathlib import Path

from linestudy.intake import draft_study
from linestudy.intake.preview import preview


def test_the_first_rows_stand_as_they_are_written(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    text = "Messprotokoll\nNr;Breite [mm]\n" + "".join(f"{i};2,80{i}\n" for i in range(1, 9))
    file.write_bytes(text.encode("cp1252"))
    seen = preview(draft_study([file]).tables[0], rows=3)
    assert [kind.name for kind in seen.kinds] == ["Nr", "Breite [mm]"]
    assert seen.cells("Breite [mm]") == ["2,801", "2,802", "2,803"]


def test_a_sheet_is_shown_and_not_its_neighbour(tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(["remarks"])
    for name, value in (("Width", 2.8), ("Gap", 1.0)):
        page = book.create_sheet(name)
        page.append(["Part", name])
        for i in range(1, 9):
            page.append([i, value + i / 1000])
    book.save(tmp_path / "book.xlsx")
    tables = draft_study([tmp_path / "book.xlsx"]).tables
    assert [preview(table).kinds[1].name for table in tables] == ["Width", "Gap"]
