"""Files as plants have them, each with its truth, read as they are proposed: what a header, a clock, a sheet may look like."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of, the_run

# -- a header whose cells run over several lines


@pytest.mark.parametrize("above", ["", "Report of the line\n\n", '"A title, on\ntwo lines";;\n'])
@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_header_may_run_over_several_lines(tmp_path: Path, above: str, mark: str) -> None:
    rows = [["Part\nNo", "Width\n[µm]", "Note"]]
    rows += [[i + 1, round(w * 1000, 1), "a\nb" if i == 3 else ""] for i, w in enumerate(WIDTHS)]
    content = above.replace(";", mark).encode("utf-16") + delimited(rows, mark).decode().encode(
        "utf-16-le"
    )
    found = the_run(tmp_path, "export.txt", content)
    np.testing.assert_allclose(found["value"], WIDTHS, rtol=1e-12)
    np.testing.assert_array_equal(found["order"], np.arange(1, 41))


def test_a_name_over_two_lines_may_be_asked_for_either_way(tmp_path: Path) -> None:
    content = delimited([["No", "Width\nmm"], *([i, w] for i, w in enumerate(WIDTHS))])
    for name in ("Width\nmm", "Width mm"):
        found = the_run(tmp_path, "r.csv", content, columns={"width_mm": name})
        np.testing.assert_array_equal(found["value"], WIDTHS)


def test_an_open_quote_in_a_preamble_takes_no_rows(tmp_path: Path) -> None:
    rows = "".join(f"{i};{w}\n" for i, w in enumerate(WIDTHS, start=1))
    found = the_run(tmp_path, "r.csv", f'5" strip, line 2;\nNo;Width\n{rows}'.encode())
    np.testing.assert_array_equal(found["value"], WIDTHS)


# -- units in a column of their own


def test_units_beside_their_numbers(tmp_path: Path) -> None:
    lines = [
        json.dumps(
            {
                "seq": i,
                "m": {"w": {"v": float(w) * 1000, "u": "µm"}, "t": {"v": 1.5 + i / 1e3, "u": "mm"}},
            }
        )
        for i, w in enumerate(WIDTHS)
    ]
    draft = draft_of(tmp_path, "cam.jsonl", "\n".join(lines).encode())
    said = draft.tables[0].said
    assert said.key("units") == {"m.w.v": "µm", "m.t.v": "mm"}
    assert not said.open
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    np.testing.assert_allclose(found["value"], WIDTHS, rtol=1e-12)
