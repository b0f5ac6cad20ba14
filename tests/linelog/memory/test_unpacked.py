"""One file of a log in memory: numbers, texts with their codes in order, entries that are missing, damage."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from linestudy.linelog.memory.unpacked import LogColumns, in_words, read_columns
from linestudy.results import InputError

COILS = ["z", None, "b", "z", "a10", "a9"]


def table(**more: pa.Array) -> pa.Table:
    return pa.table({"order": pa.array([1, 2, 3, 4, 5, 6]), "coil": pa.array(COILS), **more})


def test_numbers_without_an_entry_are_nan_and_the_column_is_not_whole() -> None:
    found = LogColumns(table(w=pa.array([2.8, None, 2.7, 2.8, 2.9, 2.6])))
    assert np.isnan(found.values("w")[1])
    assert not found.whole("w")
    assert found.whole("order")
    assert found.order.dtype == float
    assert found.order.tolist() == [1, 2, 3, 4, 5, 6]
    assert found.names == ["order", "coil", "w"]


def test_texts_are_numbered_in_their_order_and_what_is_missing_comes_last() -> None:
    names, codes = LogColumns(table()).coded("coil")
    assert names == ["a10", "a9", "b", "z", None]
    assert [names[code] for code in codes] == COILS
    full, codes = LogColumns(pa.table({"coil": ["b", "a", "b"]})).coded("coil")
    assert full == ["a", "b"]
    assert codes.tolist() == [1, 0, 1]


def test_numbers_in_place_of_texts_sort_as_the_texts_do_and_turn_back() -> None:
    rows = table(part=pa.array(list("qwerty")))
    coded, texts = LogColumns(rows).with_codes()
    assert texts["coil"].to_pylist() == ["a10", "a9", "b", "z"]
    assert coded.column("coil").to_pylist() == [3, None, 2, 3, 0, 1]
    # Texts of which every part has its own are left as they are.
    assert "part" not in texts
    assert coded.column("part").to_pylist() == list("qwerty")
    assert in_words(coded, texts).to_pydict() == rows.to_pydict()


def test_an_answer_without_texts_is_left_alone() -> None:
    answer = pa.table({"rows": [3]})
    assert in_words(answer, {"coil": pa.array(["a"])}).equals(answer)


def test_three_hundred_kinds_have_three_hundred_numbers() -> None:
    kinds = [f"{number:04}" for number in range(300)]
    coded, texts = LogColumns(pa.table({"coil": kinds[::-1]})).with_codes()
    assert coded.column("coil").to_pylist() == list(range(300))[::-1]
    assert in_words(coded, texts).column("coil").to_pylist() == kinds[::-1]


def test_a_file_is_read_as_it_was_written_whatever_its_row_groups(tmp_path: Path) -> None:
    rows = table(w=pa.array([2.8, None, 2.7, 2.8, 2.9, 2.6]))
    pq.write_table(rows, tmp_path / "part.parquet", row_group_size=2)
    found = read_columns(tmp_path / "part.parquet")
    assert found.table.column("coil").num_chunks == 1
    assert found.table.column("coil").to_pylist() == COILS
    assert found.coded("coil")[0] == ["a10", "a9", "b", "z", None]
    assert found.values("w")[2] == 2.7


def test_damage_names_the_file_and_what_to_do(tmp_path: Path) -> None:
    path = tmp_path / "file=1.csv" / "part.parquet"
    path.parent.mkdir()
    pq.write_table(table(), path, write_page_checksum=True)
    content = bytearray(path.read_bytes())
    content[20] ^= 255  # inside a page, not in the footer
    for damaged in (bytes(content), b"no parquet"):
        path.write_bytes(damaged)
        with pytest.raises(InputError, match=r"file=1\.csv/part\.parquet.*is damaged.*delete it"):
            read_columns(path)


@pytest.mark.parametrize("spread", [1.0, 0.5])
def test_rows_of_subgroups_are_those_that_the_engine_takes(spread: float) -> None:
    order = np.arange(100.0, 400.0) * spread
    columns = LogColumns(pa.table({"order": order, "w": order}))
    kept = columns.taken(5, 50).order
    assert kept.tolist() == [n for n in order if (n - order[0]) % 50 < 5]
    nothing = LogColumns(pa.table({"order": np.empty(0)}))
    assert nothing.taken(5, 50) is nothing
