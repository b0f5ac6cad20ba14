"""Pages saved as what they are, as .xls and as .csv: every cell in its place, and no reading twice."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, draft_of, records_of, the_run

from linestudy.records.written.web_page import is_web_page, text_of_page
from linestudy.results import InputError

HEAD = "<tr><th>Stroke</th><th>Width<br>[mm]</th></tr>"


def _page(rows: str, before: str = "") -> bytes:
    return f"<!DOCTYPE html>\n<html><body>{before}<table>{rows}</table></body></html>".encode()


def _rows(begin: int = 0, end: int = 40) -> str:
    return "".join(f"<tr><td>{i + 1}</td><td>{WIDTHS[i]}</td></tr>\n" for i in range(begin, end))


@pytest.mark.parametrize("name", ["run.html", "run.xls", "run.csv", "run.txt"])
def test_a_page_is_read_whatever_it_is_called(tmp_path: Path, name: str) -> None:
    before = "<h1>Report</h1><table><tr><td>Machine</td><td>4</td></tr></table>"
    found = the_run(tmp_path, name, _page(HEAD + _rows(), before))
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_pages_below_each_other_and_tables_within_a_table(tmp_path: Path) -> None:
    pages = "".join(f"<table>{HEAD}{_rows(at, at + 10)}</table>" for at in range(0, 40, 10))
    content = f"<html><table><tr><td>{pages}</td><td>Menu</td></tr></table></html>".encode()
    np.testing.assert_array_equal(the_run(tmp_path, "run.htm", content)["value"], WIDTHS)


def test_numbers_that_are_told_beside_what_is_shown_count(tmp_path: Path) -> None:
    rows = "".join(
        f"<tr><td x:num>{i + 1}</td><td>{t:%d.%m.%Y %H:%M}</td>"
        + (f'<td x:num="{w}">{w:.2f}</td></tr>' if i % 3 else f"<td x:num>{w}</td></tr>".replace("2.", "2,"))
        for i, (w, t) in enumerate(zip(WIDTHS, TIMES, strict=True))
    )  # fmt: skip
    page = f"<html><meta charset=windows-1252><table><tr><th>Hub<th>Zeit<th>Höhe</tr>{rows}</table>"
    draft = draft_of(tmp_path, "run.xls", page.encode("cp1252"))
    assert [item.name for item in draft.items] == ["Höhe"]
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["time"].tolist() == TIMES


def test_cells_over_several_rows_and_columns() -> None:
    page = (
        b"<table><tr><td rowspan=2>Coil 7<td>1<td rowspan=3>2.801</tr><tr><td>2</tr>"
        b"<tr><td colspan=2>end</tr></table>"
    )
    assert text_of_page(page).splitlines() == ["Coil 7\t1\t2.801", "Coil 7\t2\t", "end\t\t"]


def test_scripts_and_styles_are_no_cells() -> None:
    page = b"<table><tr><td><style>td{x}</style>a &amp; b<script>no()</script></td></tr></table>"
    assert text_of_page(page) == "a & b\n"


def test_a_page_without_a_table_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"is a web page without a table; .*give that as \.xlsx"):
        draft_of(tmp_path, "run.html", b"<html><body><p>Width 2.8</p></body></html>")


@pytest.mark.parametrize("raw", [b"Stroke;Width\n1;2.8\n", b"<qif>", b"a <table>", b"<?xml version='1.0'?><QIFDocument/>"])  # fmt: skip
def test_what_is_no_page(raw: bytes) -> None:
    assert not is_web_page(raw)
