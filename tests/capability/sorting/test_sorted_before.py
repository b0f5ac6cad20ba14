"""Sorting told by the folder: counts from the log and the bins, and characteristics that go with a sorted one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from linestudy import open_study, read
from linestudy.capability.sorting.sorted_before import (
    process_before_sorting,
    sorted_because,
    sorted_on_another,
    why_sorted,
)
from linestudy.results import CannotJudge, Findings

HEAD = """format = 1
[study]
title = "Sorted"
part = "S"
[[characteristic]]
id = "a"
name = "Height"
unit = "mm"
lower = -1.8
upper = 1.8
[[characteristic]]
id = "b"
name = "Angle"
unit = "mm"
upper = 9.0
[[data]]
role = "run"
file = "v.csv"
columns = { a = "a", b = "b" }
order = "n"
"""
BINS = (
    '[[data]]\nrole = "bins"\nfile = "b.csv"\nperiod = "q"\naccepted = "good"\nrejected = "bad"\n'
)


def folder(tmp_path: Path, more: str = "", together: float = 0.0):
    rng = np.random.default_rng(5)
    a = rng.normal(size=6000)
    b = together * a + np.sqrt(1 - together**2) * rng.normal(size=6000)
    kept = np.abs(a) <= 1.8
    rows = [f"{n},{a[n]:.4f},{b[n]:.4f},ok" for n in np.flatnonzero(kept)]
    (tmp_path / "v.csv").write_text("n,a,b,v\n" + "\n".join(rows) + "\n")
    (tmp_path / "b.csv").write_text(f"q,good,bad\n1,{kept.sum()},{(~kept).sum()}\n")
    (tmp_path / "study.toml").write_text(HEAD + more)
    study = open_study(tmp_path)
    return study, read(study)


def test_the_count_of_the_bins_tells_that_parts_were_sorted(tmp_path: Path) -> None:
    verdict = 'verdict = "v"\naccept = ["ok"]\nreject = ["nok"]\n'
    study, records = folder(tmp_path, verdict + BINS)
    told = sorted_because(records, "a")
    assert told is not None
    assert "of which the log has none" in told
    assert why_sorted(records, study.characteristic("a")) == told


def test_readings_alone_tell_it_for_the_one_that_is_cut(tmp_path: Path) -> None:
    study, records = folder(tmp_path)
    seen = why_sorted(records, study.characteristic("a"))
    assert seen is not None
    assert "just inside the lower and the upper limit" in seen
    assert why_sorted(records, study.characteristic("b")) is None


def test_what_goes_with_a_sorted_characteristic_cannot_be_judged(tmp_path: Path) -> None:
    study, records = folder(tmp_path, together=0.7)
    item = study.characteristic("b")
    table = records.table("run", "b")
    assert table is not None
    with pytest.raises(CannotJudge, match=r"sorted on Height.*rank correlation"):
        process_before_sorting(study, records, item, table, Findings())


@pytest.mark.parametrize(
    ("limits", "together", "told"),
    [
        # Sorted at the other's limits, and inside them where no limit is at the end.
        ("", 0.8, True),
        ("wide", 0.8, True),
        ("wide", 0.1, False),
    ],
)
def test_sorting_on_a_characteristic_that_goes_with_another(
    tmp_path: Path, limits: str, together: float, told: bool
) -> None:
    _, records = folder(tmp_path, together=together)
    if limits:
        text = (tmp_path / "study.toml").read_text().replace("1.8", "3.0")
        (tmp_path / "study.toml").write_text(text)
        records = read(open_study(tmp_path))
    found = sorted_on_another(records, records.study.characteristic("b"))
    assert found.startswith("Height, whose readings end") == told
    # The other itself goes with one that ends as processes do.
    assert sorted_on_another(records, records.study.characteristic("a")) == ""


def test_parts_sorted_on_another_characteristic_ask_for_approval() -> None:
    from linestudy.verdict import CharacteristicFacts, resolve
    from linestudy.verdict.facts import Circumstances, ProcessFacts
    from linestudy.verdict.rules.process import sorting

    facts = CharacteristicFacts(process=ProcessFacts(n=900), circumstances=Circumstances())
    with_it = CharacteristicFacts(
        process=ProcessFacts(n=900), circumstances=Circumstances(sorted_with="Height")
    )
    assert sorting(facts, resolve()).effect == "supports"
    assert sorting(with_it, resolve()).effect == "customer approval required"
