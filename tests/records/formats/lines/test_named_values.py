"""Logs of pairs: the ways controllers write them, what is no such log, and lines that would take a reader long."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, draft_of, records_of

from linestudy.records.formats.lines.named_values import pairs_in


def _comma(number: float) -> str:
    return f"{number:.4f}".replace(".", ",")


LOGS = {
    "equals": lambda i, w, t: f"{t:%Y-%m-%dT%H:%M:%S} stroke={i} width={w} verdict=OK",
    "colons": lambda i, w, t: f"{t:%Y-%m-%d %H:%M:%S},250 INFO Inspect - ID: {i}; width: {w} mm; verdict: PASS",
    "decimal commas": lambda i, w, t: f"{t:%d.%m.%Y %H:%M:%S}; Nr={i}; width={_comma(w)} mm; Status=i.O.",
    "quotes": lambda i, w, t: f'ts="{t:%Y-%m-%dT%H:%M:%S}" level=info msg="part read" stroke={i} width={w}',
    "below": lambda i, w, t: f"time: {t:%Y-%m-%d %H:%M:%S}\nStroke: {i}\nwidth: {w} mm\n",
}  # fmt: skip


@pytest.mark.parametrize("kind", LOGS)
def test_a_log_of_pairs_gives_back_its_readings(tmp_path: Path, kind: str) -> None:
    lines = [LOGS[kind](i + 1, w, t) for i, (w, t) in enumerate(zip(WIDTHS, TIMES, strict=True))]
    draft = draft_of(tmp_path, "run.log", "\n".join(lines).encode())
    assert [item.name for item in draft.items] == ["width"]
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_allclose(found["value"], WIDTHS)
    np.testing.assert_array_equal(found["order"], np.arange(1, 41))
    assert [each.replace(microsecond=0) for each in found["time"]] == TIMES


def test_lines_of_other_things_between_are_no_rows(tmp_path: Path) -> None:
    lines = [f"trigger received\npart: {i}, width: {w} mm" for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "run.log", "\n".join(lines).encode())
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_what_stands_beside_pairs_is_kept() -> None:
    from linestudy.records.formats.lines.named_values import cells_of_pairs
    from linestudy.study.model import Data

    data = Data(role="run", file="x.log", columns={"w": "w"})
    cells, _ = cells_of_pairs("w=1.5; OK\nw=1.6; NG\n", data)
    assert cells.to_dict("list") == {"w": ["1.5", "1.6"], "text": ["OK", "NG"]}


@pytest.mark.parametrize(
    "lines",
    [
        ["Stroke;Width", *(f"{i};2.80{i}" for i in range(8))],
        ["Stroke;Width;Note", *(f"{i};2.80{i};see page=2" for i in range(8))],
        # A protocol with labels above each part: its numbers have no names beside them.
        [
            line
            for i in range(6)
            for line in (f"Part: {i}  Date: 3.9.", "a  2.800  2.801", "b  1.000  1.002")
        ],
    ],
)
def test_a_table_is_no_log_of_pairs(lines: list[str]) -> None:
    assert pairs_in(lines) == []


@pytest.mark.parametrize("piece", ["a", "a b ", "a: ", 'a="x', "word word: 1,", "1,2,", " ="])
def test_no_line_takes_long(piece: str) -> None:
    line = (piece * 4000)[:3999]
    begin = time.perf_counter()
    pairs_in([line] * 40)
    assert time.perf_counter() - begin < 5
