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
from linestudy.verdict import CharacteristicFacts, IndexFacts, resolve, rule_on
from linestudy.verdict.facts import Doubt, ProcessFacts, RecordFacts
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


def test_parts_outside_the_limits_that_no_bin_holds_were_accepted() -> None:
    record = RecordFacts(bins=(6000, 0, 5925, 75), bins_p=1e-9, bins_by_verdicts=False)
    ruled = rule_on(CharacteristicFacts(record=record), resolve()).rulings
    said = next(item for item in ruled if item.rule == "bins against log")
    assert said.effect == APPROVAL
    assert "parts outside the limits were accepted" in said.reason
    assert "missing from the log" not in said.reason


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


def effect(rule: str, index: IndexFacts | None = None, **record: object) -> str:
    about = CharacteristicFacts(record=RecordFacts(**record))  # type: ignore[arg-type]
    if index is not None:
        about = replace(about, index=index)
    return next(r.effect for r in rule_on(about, resolve()).rulings if r.rule == rule)


RUN = {"rows": 1000, "first": 1.0, "last": 1000.0, "longest_gap": (1, 2)}


@pytest.mark.parametrize(
    ("record", "expected"),
    [
        # One order number in a hundred of 1 to 1000 may be missing, ends counted.
        ({"numbers_missing": 10}, "supports"),
        ({"numbers_missing": 11}, APPROVAL),
        # A counter need not begin at one.
        ({"numbers_missing": 11, "first": 5001.0, "last": 6000.0}, APPROVAL),
        ({"numbers_missing": 51, "left_out_rows": 41}, "supports"),
        ({"numbers_missing": 51, "left_out_rows": 40}, APPROVAL),
        ({"numbers_missing": 0, "left_out_rows": 900}, "supports"),
        # A clock that goes back at one step in twenty.
        ({"clock_back": 0.05}, "supports"),
        ({"clock_back": 0.051}, APPROVAL),
        # A counter in no order, from a fifth of the rows to four fifths of them.
        ({"backwards": 199}, "supports"),
        ({"backwards": 200}, APPROVAL),
        ({"backwards": 800}, APPROVAL),
        ({"backwards": 801}, "supports"),
        ({"backwards": 500, "sorted_rows": True}, "supports"),
        ({"first": None}, "no evidence"),
        ({"last": None}, "no evidence"),
    ],
)
def test_either_side_of_what_a_counter_may_lack(record: dict[str, object], expected: str) -> None:
    assert effect("counter and clock", **{**RUN, **record}) == expected


@pytest.mark.parametrize(
    ("p", "expected"),
    [
        # The level of 0.001 is that of all tests of the rule: of two, each is held against half of it.
        ((9e-4,), APPROVAL),
        ((1.1e-3,), "supports"),
        ((4e-4, 0.5), APPROVAL),
        ((6e-4, 0.5), "supports"),
        ((), "no evidence"),
    ],
)
@pytest.mark.parametrize("kind", ["doubts", "gauge_doubts"])
def test_a_doubt_is_held_against_its_share_of_the_level(
    kind: str, p: tuple[float, ...], expected: str
) -> None:
    rule = "readings as measured" if kind == "doubts" else "gauge study as measured"
    doubts = tuple(Doubt(f"test {k}", each, "evidence") for k, each in enumerate(p))
    assert effect(rule, **{kind: doubts}) == expected


def test_the_p_value_told_is_that_of_all_tests_together() -> None:
    doubts = (Doubt("copies", 2e-4, "of A"), Doubt("ends", 0.5, "none"))
    about = CharacteristicFacts(record=RecordFacts(doubts=doubts))
    said = next(r for r in rule_on(about, resolve()).rulings if r.rule == "readings as measured")
    assert "copies: of A (p = 0.0004)" in said.reason
    assert "ends" not in said.reason
    # Of several that are told it is the smallest.
    about = replace(about, record=RecordFacts(doubts=(*doubts[:1], Doubt("ends", 4e-4, "pile up"))))
    said = next(r for r in rule_on(about, resolve()).rulings if r.rule == "readings as measured")
    assert "copies: of A; ends: pile up (p = 0.0004)" in said.reason


@pytest.mark.parametrize(
    ("bound", "high", "expected"),
    [
        # It is held against what the run claims, or against what is asked where the run claims more. Of an interval of 95 % from
        # 1.2 to 1.5 the end at the level of a contradiction is 1.2 (1.5 / 1.2)^(3.090 / 1.960) = 1.706.
        (1.8, 1.5, "supports"),
        (1.8, 1.47, APPROVAL),
        (1.5, 1.39, "supports"),
        (1.5, 1.37, APPROVAL),
    ],
)
def test_a_short_run_is_held_against_the_lesser_claim(
    bound: float, high: float, expected: str
) -> None:
    of_run = IndexFacts("Ppk", 2.0, bound, 2.1)
    short = (1.2, 1.0, high, 50.0)
    assert effect("short run against run", of_run, short_run=short) == expected
    assert effect("short run against run", None, short_run=short) == "no evidence"


@pytest.mark.parametrize(
    ("rule", "record", "expected"),
    [
        ("bins against log", {"bins_p": 0.001, "bins": (1, 2, 3, 4)}, "supports"),
        ("bins against log", {"bins_p": 0.0009, "bins": (1, 2, 3, 4)}, APPROVAL),
        ("bins against log", {}, "no evidence"),
        ("earlier revision", {}, "no evidence"),
        ("earlier revision", {"earlier": "rev A"}, "supports"),
        ("earlier revision", {"earlier": "rev A", "changed": ("unit",)}, "supports"),
        ("earlier revision", {"earlier": "A", "changed": ("x",), "relaxed": ("x",)}, APPROVAL),
        ("what the files say", {"files_say": ("a limit of 5",)}, APPROVAL),
        ("what the files say", {}, "no evidence"),
        ("verdicts against readings", {"sorter": ("other limits",)}, APPROVAL),
        ("verdicts against readings", {}, "no evidence"),
        ("names of parts and people", {"names": ("3 and 03",)}, APPROVAL),
        ("names of parts and people", {}, "no evidence"),
    ],
)
def test_each_other_rule_on_the_record(rule: str, record: dict[str, object], expected: str) -> None:
    assert effect(rule, **record) == expected


@pytest.mark.parametrize(
    ("record", "rule", "expected"),
    [
        # Fifty parts in a row: one number that no row holds is one in fifty.
        ({}, "counter and clock", "supports"),
        (
            {"numbers_missing": 1, "gaps": 1, "longest_gap": (20, 22)},
            "counter and clock",
            APPROVAL,
        ),
        ({"pause": (1800.0, 26.0)}, "counter and clock", APPROVAL),
        ({"clock_back": 0.4}, "counter and clock", APPROVAL),
        ({"bins_p": 1e-5, "bins": (800, 200, 50, 0)}, "bins against log", APPROVAL),
        ({"bins_p": 0.4, "bins": (980, 20, 50, 0)}, "bins against log", "supports"),
    ],
)
def test_a_short_run_has_its_counter_clock_and_bins_judged(
    record: dict[str, object], rule: str, expected: str
) -> None:
    known = {"rows": 50, "first": 1.0, "last": 50.0, "longest_gap": (1, 2), **record}
    known["bins_by_verdicts"] = False
    about = CharacteristicFacts(kind="machine", record=RecordFacts(**known))  # type: ignore[arg-type]
    found = next(r for r in rule_on(about, resolve()).rulings if r.rule == rule)
    assert found.effect == expected
    if "pause" in record:
        assert "The clock stands still for 30 minutes" in found.reason
        assert "not of one short run" in found.reason
    if rule == "bins against log":
        assert "the short run 50 and 0 by the limits" in found.reason


def test_a_pause_of_a_run_in_production_is_told_and_contradicts_nothing() -> None:
    known = {**RUN, "pause": (1800.0, 26.0)}
    assert effect("counter and clock", **known) == "supports"


@pytest.mark.parametrize(("mean", "expected"), [(5.0, APPROVAL), (4.3, "supports")])
def test_a_short_run_is_held_against_the_runs_own_mean_and_sd(mean: float, expected: str) -> None:
    """Of a skewed process the index by mean and SD is another one than that by its quantiles, in a short run and in the run."""
    about = CharacteristicFacts(
        lower=4.0,
        upper=6.0,
        index=IndexFacts("Ppk", 2.0, 1.8, 2.1),
        process=ProcessFacts(n=500, mean=mean, sd=0.1),
        record=RecordFacts(short_run=(1.1, 0.9, 1.3, 50.0)),
    )
    found = next(r for r in rule_on(about, resolve()).rulings if r.rule == "short run against run")
    assert found.effect == expected
