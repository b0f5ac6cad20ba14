"""Facts of the record behind a characteristic, and the rules that read them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from line_study import honest

from linestudy import open_study, read
from linestudy.capability import bin_counts
from linestudy.capability.whole_part.bins_study import BINS
from linestudy.results import Findings
from linestudy.verdict import CharacteristicFacts, resolve, rule_on
from linestudy.verdict.facts import Doubt, RecordFacts
from linestudy.verdict.gather.circumstances import circumstances_of
from linestudy.verdict.gather.record import record_facts

APPROVAL = "customer approval required"


def facts(folder: Path, **changes: object) -> RecordFacts:
    study = honest()
    for name, value in changes.items():
        setattr(study, name, value)
    opened = open_study(study.write(folder / "s"))
    item = opened.characteristics[0]
    return record_facts(opened, read(opened), Findings(), item, "run", "cam")


def test_without_verdicts_bins_are_held_against_the_limits(tmp_path: Path) -> None:
    path = honest().write(tmp_path / "s")
    text = (path / "study.toml").read_text()
    for line in ('verdict = "verdict"\n', 'accept = ["ok"]\n', 'reject = ["nok"]\n'):
        text = text.replace(line, "")
    (path / "study.toml").write_text(text)
    opened = open_study(path)
    records = read(opened)

    def bins_of(rejected: int) -> RecordFacts:
        table = pd.DataFrame(
            {"period": ["a"], "accepted": [2000 - rejected], "rejected": [rejected]}
        )
        findings = Findings()
        findings.add(None, BINS.at(), bin_counts(table))
        return record_facts(opened, records, findings, opened.characteristics[0], "run", "cam")

    honestly, sorted_out = bins_of(1), bins_of(60)
    assert honestly.bins[2:] == sorted_out.bins[2:] == (2000, 0)
    assert not sorted_out.bins_by_verdicts
    assert honestly.bins_p == pytest.approx(1.0)
    assert sorted_out.bins_p == pytest.approx(0.0, abs=1e-6)
    # Where nothing counts rejected parts, readings that end soon are told; normal ones are not.
    item = opened.characteristics[0]
    short = records.table("run", "width")
    assert short is not None
    levels = short["value"] + np.where(short["station"] == "L", 1.0, 0.0)
    soon = np.random.default_rng(1).permutation(np.linspace(4.8, 5.2, len(short)))
    for values, told in ((short["value"], False), (levels, False), (soon, True)):
        short["value"] = values
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(type(records), "table", lambda self, *place: short)
            found = record_facts(opened, records, Findings(), item, "run", "cam")
        assert any("end sooner than those of a normal" in text for text in found.settings) == told
    ruled = rule_on(CharacteristicFacts(record=sorted_out), resolve()).rulings
    said = next(item for item in ruled if item.rule == "bins against log")
    assert said.effect == APPROVAL
    assert "rejected parts are missing from the log" in said.reason


def test_a_named_period_is_left_out_for_a_named_reason(tmp_path: Path) -> None:
    study = honest()
    study.end = '[[set_aside]]\nreason = "set-up"\nfirst = 1\nlast = 60\n'
    opened = open_study(study.write(tmp_path / "s"))
    found = circumstances_of(read(opened), Findings(), "width", "run")
    assert (found.excluded, found.set_aside) == (0.0, pytest.approx(60 / 2000))


def test_a_counter_that_nothing_confirms_is_no_order_of_production(tmp_path: Path) -> None:
    run = honest().run
    drawn = run.assign(stroke=np.random.default_rng(3).permutation(len(run)) + 1)
    assert facts(tmp_path / "drawn", run=drawn).clock_back == pytest.approx(0.5, abs=0.05)
    # As written, from the last row to the first, or one station after the other: the same order.
    for name, rows in (
        ("honest", run),
        ("last", run[::-1]),
        ("by", run.sort_values(["station", "stroke"])),
    ):
        assert facts(tmp_path / name, run=rows).clock_back == 0.0

    def decided(**more: object) -> str:
        record = RecordFacts(rows=1000, first=1, last=1000, **more)  # type: ignore[arg-type]
        rulings = rule_on(CharacteristicFacts(record=record), resolve()).rulings
        return next(item.effect for item in rulings if item.rule == "counter and clock")

    assert decided(backwards=500) == decided(clock_back=0.5) == "customer approval required"
    assert decided(backwards=500, clock_back=0.0) == "supports"
    assert decided(backwards=999) == decided(backwards=3) == "supports"


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (RecordFacts(doubts=(Doubt("copied readings", 1e-6, "they stand twice"),)), "stand twice"),
        (RecordFacts(gauge_doubts=(Doubt("copied", 1e-6, "of A and B"),)), "of A and B"),
        (RecordFacts(bins_p=1e-9, bins=(900, 100, 990, 10)), "difference must be explained"),
        (RecordFacts(suspect=3), "where parts may lie"),
        (
            RecordFacts(first=1, last=1000, numbers_missing=50, gaps=1, longest_gap=(10, 61)),
            "50 order numbers (5.0 %)",
        ),
        (RecordFacts(periods=50, periods_outside=4), "4 of 50 readings"),
        (RecordFacts(earlier="revision A", changed=("x",), relaxed=("x",)), "Less is asked"),
    ],
)
def test_each_contradiction_requires_the_customers_approval(
    record: RecordFacts, words: str
) -> None:
    about = CharacteristicFacts()
    about = replace(about, record=record, process=replace(about.process, n=500))
    said = [item for item in rule_on(about, resolve()).rulings if words in item.reason]
    assert [item.effect for item in said] == [APPROVAL]


def test_the_level_is_that_of_the_rule_however_many_tests_it_has() -> None:
    doubts = tuple(Doubt(f"test {k}", 4e-4, "evidence") for k in range(4))
    found = rule_on(CharacteristicFacts(record=RecordFacts(doubts=doubts)), resolve())
    assert [r.effect for r in found.rulings if r.rule == "readings as measured"] == ["supports"]


def test_rows_left_out_for_a_reason_are_no_gap_of_the_counter() -> None:
    record = RecordFacts(
        first=1, last=1000, numbers_missing=50, gaps=1, longest_gap=(10, 61), left_out_rows=45
    )
    found = rule_on(CharacteristicFacts(record=record), resolve())
    assert [r.effect for r in found.rulings if r.rule == "counter and clock"] == ["supports"]
