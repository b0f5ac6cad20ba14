"""The nearest table of criteria holds, for conventions as for limits."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import open_study
from linestudy.study.scope_of_criteria import convention, layers_of

TEXT = """format = 1
[study]
title = "t"
part = "p"
[criteria]
grr_multiplier = 5.5
[criteria.special]
grr_multiplier = 5.15
[[characteristic]]
id = "a"
name = "A"
lower = 0.0
upper = 1.0
special = true
[[characteristic]]
id = "b"
name = "B"
lower = 0.0
upper = 1.0
criteria = { grr_multiplier = 4.0 }
[[characteristic]]
id = "c"
name = "C"
lower = 0.0
upper = 1.0
"""


@pytest.mark.parametrize(("key", "expected"), [("a", 5.15), ("b", 4.0), ("c", 5.5)])
def test_the_nearest_table_holds(tmp_path: Path, key: str, expected: float) -> None:
    (tmp_path / "study.toml").write_text(TEXT)
    study = open_study(tmp_path)
    assert convention(study, study.characteristic(key), "grr_multiplier", 6.0) == expected
    assert convention(study, study.characteristic(key), "cg_multiplier", 6.0) == 6.0


def test_without_criteria_there_are_no_layers() -> None:
    assert layers_of(None, None) == ()
