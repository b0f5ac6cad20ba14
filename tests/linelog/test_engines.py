"""Where expressions are worked out: one translation for files of the same columns, threads beside each other, no links."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest

from linestudy.linelog.engines import Questions, engine, log_files


def sums(part: Any, whole: frozenset[str]) -> dict[str, Any]:
    asked.append((tuple(part.columns), whole))
    return {"sum": part.aggregate(total=part.w.sum(), rows=part.count())}


asked: list[tuple[tuple[str, ...], frozenset[str]]] = []


def test_files_of_the_same_columns_are_translated_once_and_threads_keep_theirs_apart() -> None:
    asked.clear()
    files = [pa.table({"w": [float(number), 1.0]}) for number in range(8)]
    # What else a file says of itself is no other question.
    files.append(files[0].replace_schema_metadata({"written": "today"}))
    with engine() as connection:
        questions = Questions(connection, sums)
        with ThreadPoolExecutor(4) as pool:
            found = list(pool.map(lambda one: questions.answers(frozenset(), one), files))
        assert [one["sum"].to_pylist()[0]["total"] for one in found] == [*range(1, 9), 1.0]
        assert len(asked) == 1
        # Other columns, another type, or another column that is whole are asked anew.
        questions.answers(frozenset(), pa.table({"w": [1], "v": [2]}))
        questions.answers(frozenset({"w"}), files[0])
        assert [whole for _, whole in asked] == [frozenset(), frozenset(), frozenset({"w"})]


def test_a_connection_is_closed_behind_the_question_even_where_it_fails() -> None:
    def fails() -> None:
        with engine() as connection:
            held.append(connection)
            raise ZeroDivisionError

    held: list[Any] = []
    with pytest.raises(ZeroDivisionError):
        fails()
    with pytest.raises(Exception, match=r"(?i)clos"):
        held[0].con.execute("select 1")


def test_one_thread_and_bounded_memory() -> None:
    with engine() as connection:
        settings = {
            name: connection.con.execute(f"select current_setting('{name}')").fetchone()[0]
            for name in ("threads", "memory_limit")
        }
    assert settings["threads"] == 1
    assert "GiB" not in settings["memory_limit"]


def test_files_of_a_log_in_the_order_of_their_names_and_no_links(tmp_path: Path) -> None:
    for name in ("file=b.csv", "file=a.csv", "other"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "part.parquet").touch()
    (tmp_path / "file=a.csv" / "note.txt").touch()
    (tmp_path / "loose.parquet").touch()
    (tmp_path / "file=b.csv" / "z.parquet").symlink_to(tmp_path / "loose.parquet")
    found = [str(path.relative_to(tmp_path)) for path in log_files(tmp_path)]
    assert found == [str(Path(f"file={name}.csv") / "part.parquet") for name in "ab"]
    assert log_files(tmp_path / "nowhere") == []
