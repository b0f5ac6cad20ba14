"""Text whose columns stand below each other: protocols of measuring machines, tables copied out of a page. Truth is written here."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, draft_of, records_of

from linestudy.intake import draft_study
from linestudy.records.formats.lines.plain_columns import count_text_columns
from linestudy.results import InputError


def _protocol(part: int, width: float, flat: float, words: str = "de") -> str:
    """One part as a coordinate measuring machine prints it; the form tolerance has no lower one."""
    head = {
        "de": ("MESSPROTOKOLL", "Teil-Nr", "Datum", "Merkmal", "Nennmaß", "OT", "UT", "Istmaß"),
        "en": ("INSPECTION REPORT", "Part No", "Date", "Feature", "Nominal", "+Tol", "-Tol", "Actual"),
    }[words]  # fmt: skip
    mark = "," if words == "de" else "."

    def number(value: float, digits: int = 3) -> str:
        return f"{value:.{digits}f}".replace(".", mark)

    rule = "-" * 74
    return "\n".join(
        [
            "",
            f"  {head[0]}              {head[1]}: {part:3d}   {head[2]}: {TIMES[part]:%d.%m.%Y}",
            rule,
            f"{head[3]:<22}{head[4]:>10}{head[5]:>9}{head[6]:>9}{head[7]:>12}{'Dev':>10}",
            rule,
            f"{'Width of blade 1':<22}{number(2.8):>10}{number(0.05):>9}{number(-0.04):>9}{number(width, 4):>12}"
            f"{number(width - 2.8, 4):>10}",
            f"{'Flat':<22}{number(0):>10}{number(0.05):>9}{'':>9}{number(flat, 4):>12}{number(flat, 4):>10}",
        ]
    )


@pytest.mark.parametrize("words", ["de", "en"])
def test_a_protocol_of_one_part_after_the_other(tmp_path: Path, words: str) -> None:
    flats = (np.arange(20) + 1) / 1000
    text = "\n".join(
        _protocol(i + 1, w, f, words)
        for i, (w, f) in enumerate(zip(WIDTHS[:20], flats, strict=True))
    )
    draft = draft_of(tmp_path, "protocol.txt", text.encode("cp1252"))
    (table,) = draft.tables
    assert table.said.key("order") == {"de": "Teil-Nr", "en": "Part No"}[words]
    limits = {item.name: (item.nominal, item.lower, item.upper) for item in draft.items}
    assert limits == {"Width of blade 1": (2.8, 2.76, 2.85), "Flat": (0.0, None, 0.05)}
    records = records_of(tmp_path, draft)
    for item, truth in zip(draft.items, (WIDTHS[:20], flats), strict=True):
        found = records.table("run", item.id)
        assert found is not None
        np.testing.assert_array_equal(found["value"], truth)
        np.testing.assert_array_equal(found["order"], np.arange(1, 21))


def test_blocks_that_say_no_number_are_counted(tmp_path: Path) -> None:
    block = "Feature      Nominal    Actual\nWidth          2.800    {:.4f}\nGap            1.000    {:.4f}\n\n"
    text = "".join(block.format(w, w - 1.8) for w in WIDTHS[:12])
    draft = draft_of(tmp_path, "protocol.txt", text.encode())
    assert draft.tables[0].said.key("order") == "block"
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS[:12])


def test_features_with_their_axes(tmp_path: Path) -> None:
    block = (
        "\nPART NUMBER=BC-12     SER NUMBER={0}\nDIM D1= LOCATION OF CIRCLE C1  UNITS=MM\nAX   NOMINAL   +TOL    -TOL    MEAS     DEV\n"
        "X    10.0000   0.0500  0.0500  {1:8.4f}  0.0000\nDIM D2= DISTANCE  UNITS=MM\n"
        "AX   NOMINAL   +TOL    -TOL    MEAS     DEV\nX     5.0000   0.0500  0.0400  {2:8.4f}  0.0000\n"
    )
    text = "".join(block.format(i + 1, 7.2 + w, 2.2 + w) for i, w in enumerate(WIDTHS[:15]))
    draft = draft_of(tmp_path, "protocol.txt", text.encode())
    said = {item.name: (item.nominal, item.lower, item.upper) for item in draft.items}
    assert said == {"D1 X": (10.0, 9.95, 10.05), "D2 X": (5.0, 4.96, 5.05)}
    found = records_of(tmp_path, draft, unit="mm").table("run", draft.items[1].id)
    assert found is not None
    np.testing.assert_allclose(found["order"], np.arange(1, 16))


def test_a_table_copied_out_of_a_page(tmp_path: Path) -> None:
    rows = [f"{i + 1} {w:.4f} {2 * w:.4f}" for i, w in enumerate(WIDTHS)]
    text = "\n".join(["Report of line 4", "Part Width Height", "No. mm mm", *rows, "Page 1 of 1"])
    draft = draft_of(tmp_path, "copied.txt", text.encode())
    assert [(item.name, item.unit) for item in draft.items] == [("Width", "mm"), ("Height", "mm")]
    found = records_of(tmp_path, draft).table("run", "height")
    assert found is not None
    np.testing.assert_allclose(found["value"], 2 * WIDTHS, rtol=1e-12)


def test_a_missing_cell_is_found_by_its_place(tmp_path: Path) -> None:
    rows = [
        f"{i + 1:4d}   {'' if i % 7 == 3 else f'{w:.4f}':>8}   {w + 1:8.4f}   {'NG' if i % 9 == 4 else 'OK'}"
        for i, w in enumerate(WIDTHS)
    ]
    text = "\n".join(["  No      Width     Height   Status", *rows])
    draft = draft_of(tmp_path, "log.txt", text.encode())
    found = records_of(tmp_path, draft, missing=[""]).table("run", "width")
    assert found is not None
    there = np.arange(40) % 7 != 3
    np.testing.assert_array_equal(found["value"], WIDTHS[there])
    height = records_of(tmp_path, draft, missing=[""]).table("run", "height")
    assert height is not None
    np.testing.assert_allclose(height["value"], WIDTHS + 1, rtol=1e-12)


def test_lines_whose_cells_nothing_places(tmp_path: Path) -> None:
    rows = [f"{i + 1} {w:.4f} {2 * w:.4f}" for i, w in enumerate(WIDTHS)]
    rows[20] = "21 2.8001"
    draft = draft_of(tmp_path, "copied.txt", "\n".join(["Part Width Height", *rows]).encode())
    assert any("1 row set aside" in told for told in draft.tables[0].said.remarks)
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], np.delete(WIDTHS, 20))
    rows[25], rows[30] = "26 2.8001", "31 5.6"
    path = tmp_path / "copied.txt"
    path.write_text("\n".join(["Part Width Height", *rows]), encoding="utf-8")
    with pytest.raises(InputError, match=r"line 22.* 2 cells where the header has 3"):
        draft_study([path])


@pytest.mark.parametrize(
    "text", ["a;b\n" + "1;2,5\n" * 9, "Remark of the week\n" * 9, "x, y\n" + "1.5, 2.5\n" * 9, ""]
)
def test_other_texts_are_not_taken_for_it(tmp_path: Path, text: str) -> None:
    from linestudy.records import infer_data_table

    if text.startswith(("Remark", "")) and "," not in text and ";" not in text:
        assert count_text_columns(text.split("\n")) == 0
        return
    (tmp_path / "x.txt").write_text(text, encoding="utf-8")
    assert 'delimiter = " "' not in infer_data_table(tmp_path / "x.txt")
