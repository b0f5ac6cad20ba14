"""Answers kept beside a log: believed while they are whole, summed again where a byte of them is not."""

from __future__ import annotations

import json
from pathlib import Path

import pyarrow as pa
import pytest

from linestudy.linelog.store import FileSums, keep, recall
from linestudy.results import InputError

SHORT = {"rows": 7, "origin": None, "lagged": {"1": [0.1, 1e-17]}, "counts": []}


def part() -> FileSums:
    return FileSums(
        SHORT,
        {
            "subgroups": pa.table({"order": [1, 6], "mean0": [0.1, None], "sd0": [0.2, 0.3]}),
            "histogram": pa.table({"class": [-3, 4], "count": [5, 2]}),
        },
    )


def test_what_is_kept_is_recalled_to_the_last_digit(tmp_path: Path) -> None:
    kept = keep(tmp_path / "store", "key", part())
    for found in (kept, recall(tmp_path / "store", "key")):
        assert found is not None
        assert found.short == SHORT
        assert found.names("subgroups") == ["order", "mean0", "sd0"]
        # In the order that is asked for, not that of the file.
        assert found.columns("subgroups", ["sd0", "order"]).to_pydict() == {
            "sd0": [0.2, 0.3],
            "order": [1, 6],
        }
        assert found.columns("histogram", ["class"]).to_pydict() == {"class": [-3, 4]}
    # No rough file is left, and keeping again changes nothing.
    names = sorted(path.name for path in (tmp_path / "store").iterdir())
    assert names == ["key.histogram.arrow", "key.json", "key.subgroups.arrow"]
    before = {path.name: path.read_bytes() for path in (tmp_path / "store").iterdir()}
    keep(tmp_path / "store", "key", part())
    assert {path.name: path.read_bytes() for path in (tmp_path / "store").iterdir()} == before


def test_tables_in_memory_answer_alike() -> None:
    assert part().names("histogram") == ["class", "count"]
    assert part().columns("subgroups", ["sd0", "order"]).column_names == ["sd0", "order"]


@pytest.mark.parametrize("name", ["key.json", "key.subgroups.arrow", "key.histogram.arrow"])
def test_no_byte_may_change(tmp_path: Path, name: str) -> None:
    keep(tmp_path, "key", part())
    content = (tmp_path / name).read_bytes()
    for at in range(0, len(content), max(len(content) // 25, 1)):
        (tmp_path / name).write_bytes(content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :])
        assert recall(tmp_path, "key") is None, at
    for damaged in (content[:-1], content + b" ", b""):
        (tmp_path / name).write_bytes(damaged)
        assert recall(tmp_path, "key") is None
    (tmp_path / name).write_bytes(content)
    assert recall(tmp_path, "key") is not None
    (tmp_path / name).unlink()
    assert recall(tmp_path, "key") is None


def test_short_answers_that_agree_with_their_sum_and_are_none_are_not_believed(
    tmp_path: Path,
) -> None:
    import hashlib

    for text in ("[]", '{"rows": 1}', '{"tables": 3}', '{"tables": {"a": 4}}'):
        digest = hashlib.sha256(text.encode()).hexdigest()
        (tmp_path / "key.json").write_text(
            f'{{"sha256": "{digest}", "summary": {text}}}', encoding="utf-8"
        )
        assert recall(tmp_path, "key") is None
    json.loads((tmp_path / "key.json").read_text(encoding="utf-8"))


def test_without_a_store_or_under_another_key_there_is_nothing(tmp_path: Path) -> None:
    keep(tmp_path, "key", part())
    assert recall(None, "key") is None
    assert recall(tmp_path, "other") is None
    assert recall(tmp_path / "nowhere", "key") is None


def test_a_table_that_is_gone_is_told_with_what_to_do(tmp_path: Path) -> None:
    found = keep(tmp_path / "store", "key", part())
    (tmp_path / "store" / "key.subgroups.arrow").unlink()
    with pytest.raises(
        InputError, match=r"store.*does not hold what was summed any more.*sum the log again"
    ):
        found.columns("subgroups", ["order"])
    assert found.columns("histogram", ["count"]).to_pydict() == {"count": [5, 2]}
