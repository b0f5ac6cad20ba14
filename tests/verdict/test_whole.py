"""Verdicts of odd studies: what is missing is said, and nothing is judged by default."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from linestudy import evaluate
from linestudy.results import Unjudged

HEAD = 'format = 1\n[study]\ntitle = "Odd"\npart = "O"\n'
RUN = '[[data]]\nrole = "run"\nfile = "r.csv"\ncolumns = { a = "a" }\norder = "n"\nsubgroup = { size = 5 }\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    draw = random.Random(1)
    rows = [f"{n},{draw.gauss(5, 0.1):.3f}" for n in range(200)]
    (tmp_path / "r.csv").write_text("n,a\n" + "\n".join(rows) + "\n")
    return tmp_path


def verdict(folder: Path, characteristic: str, more: str = ""):
    text = (
        HEAD
        + '[[characteristic]]\nid = "a"\nname = "A"\nunit = "mm"\n'
        + characteristic
        + RUN
        + more
    )
    (folder / "study.toml").write_text(text)
    evaluation = evaluate(folder)
    return evaluation, evaluation.findings.get("a", "verdict")


def test_readings_without_limits(folder: Path) -> None:
    _, found = verdict(folder, "")
    assert found.decision == "cannot be judged"
    assert "Neither limit" in found.reasons[0]


def test_an_unknown_family_is_not_replaced_by_the_normal(folder: Path) -> None:
    evaluation, found = verdict(folder, 'lower = 4.0\nupper = 6.0\nfamily = "triangle"\n')
    assert isinstance(evaluation.findings.get("a", "capability"), Unjudged)
    assert any("triangle" in reason for reason in found.objections)


def test_both_results_appear_where_a_period_is_set_aside(folder: Path) -> None:
    period = '[[set_aside]]\nfirst = 10\nlast = 60\nreason = "strip jam"\n'
    evaluation, _ = verdict(folder, "lower = 4.0\nupper = 6.0\n", period)
    without = evaluation.findings.get("a", "capability")
    with_it = evaluation.findings.get("a", "capability", "with_set_aside")
    assert without.n == 149
    assert with_it.n == 200
    results = evaluation.results()["characteristics"]["a"]
    assert results["stability"]["with_set_aside"]["n"] > results["stability"]["n"]


SORTED = """[[data]]
role = "run"
file = "v.csv"
columns = { a = "a" }
order = "n"
verdict = "v"
accept = ["ok"]
reject = ["nok"]
"""


def with_verdicts(folder: Path, words: list[str]) -> None:
    rows = (folder / "r.csv").read_text().splitlines()[1:]
    lines = [f"{row},{words[i % len(words)]}" for i, row in enumerate(rows)]
    (folder / "v.csv").write_text("n,a,v\n" + "\n".join(lines) + "\n")


def sorted_study(folder: Path, more: str) -> object:
    head = (
        HEAD + '[[characteristic]]\nid = "a"\nname = "A"\nunit = "mm"\nlower = 4.0\nupper = 6.0\n'
    )
    (folder / "study.toml").write_text(head + SORTED + more)
    return evaluate(folder).findings.get("a", "capability")


@pytest.mark.proof
def test_sorted_parts_get_no_index(folder: Path) -> None:
    with_verdicts(folder, ["ok", "ok", "ok", "nok"])
    found = sorted_study(folder, 'set_aside_verdict = { nok = "went to the other bin" }\n')
    assert isinstance(found, Unjudged)
    assert "sorted" in found.reason
    assert not isinstance(sorted_study(folder, ""), Unjudged)


@pytest.mark.proof
def test_rejected_parts_that_the_log_lacks_are_noticed(folder: Path) -> None:
    with_verdicts(folder, ["ok"])
    (folder / "b.csv").write_text("q,good,bad\n1,200,7\n")
    bins = '[[data]]\nrole = "bins"\nfile = "b.csv"\nperiod = "q"\naccepted = "good"\nrejected = "bad"\n'
    found = sorted_study(folder, bins)
    assert isinstance(found, Unjudged)
    assert "7 rejected parts" in found.reason


def test_no_gauge_study_no_claim(folder: Path) -> None:
    _, found = verdict(folder, "lower = 4.0\nupper = 6.0\n")
    assert found.decision == "cannot be judged"
    assert any("no crossed study" in reason for reason in found.reasons)
    assert "cannot be judged" in found.statement


@pytest.mark.proof
def test_sorted_parts_are_claimed_by_the_process_before_sorting(folder: Path) -> None:
    # Truth known: normal, SD 1, cut at plus and minus 1.8, so Ppk is 0.6 before sorting.
    import numpy as np

    values = np.round(np.random.default_rng(5).normal(5, 1, 6000), 3)
    lines = [
        f"{i},{value},{'ok' if abs(value - 5) <= 1.8 else 'nok'}"
        for i, value in enumerate(values.tolist())
    ]
    (folder / "v.csv").write_text("n,a,v\n" + "\n".join(lines) + "\n")
    head = (
        HEAD + '[[characteristic]]\nid = "a"\nname = "A"\nunit = "mm"\nlower = 3.2\nupper = 6.8\n'
    )
    told = 'set_aside_verdict = { nok = "went to the other bin" }\n'
    (folder / "study.toml").write_text(head + SORTED + told)
    found = evaluate(folder).findings
    assert isinstance(found.get("a", "capability"), Unjudged)
    before = found.get("a", "capability", "before_sorting")
    assert before.Ppk.estimate == pytest.approx(0.6, rel=0.05)
    assert found.get("a", "verdict").claims[0].name == "Ppk before sorting"


@pytest.mark.proof
def test_a_cut_is_recognised_without_being_told(folder: Path) -> None:
    import numpy as np

    values = np.random.default_rng(6).normal(5, 1, 6000)
    values = np.round(values[np.abs(values - 5) <= 1.8], 3)
    (folder / "v.csv").write_text(
        "n,a,v\n" + "\n".join(f"{i},{v},ok" for i, v in enumerate(values.tolist())) + "\n"
    )
    head = (
        HEAD + '[[characteristic]]\nid = "a"\nname = "A"\nunit = "mm"\nlower = 3.2\nupper = 6.8\n'
    )
    (folder / "study.toml").write_text(head + SORTED)
    found = evaluate(folder).findings
    refused = found.get("a", "capability")
    assert isinstance(refused, Unjudged)
    assert "just inside" in refused.reason


STRICT = """
[criteria]
capability_accept = 9.0
capability_review = 8.0
grr_accept = 0.001
ndc_min = 50
kappa_min = 0.999
decide_on = "lower bound"
source = "Customer X"
"""


@pytest.mark.proof
def test_criteria_change_decisions_and_nothing_else(tmp_path: Path) -> None:
    from linestudy.study import start_study

    folder = start_study(tmp_path / "study")
    usual = evaluate(folder).results()
    file = folder / "study.toml"
    text = file.read_text()
    assert "[criteria]" not in text.replace("# [criteria]", "")
    file.write_text(text + STRICT)
    strict = evaluate(folder).results()
    assert usual["verdict"] != strict["verdict"]
    for key, old in usual["characteristics"].items():
        new = strict["characteristics"][key]
        assert old["verdict"]["decision"] != new["verdict"]["decision"] or (
            old["verdict"]["decision"] == "cannot be judged"
        )
        assert {k: v for k, v in old.items() if k != "verdict"} == {
            k: v for k, v in new.items() if k != "verdict"
        }
    assert usual["settings"]["sha256"] != strict["settings"]["sha256"]
    rest = set(usual) - {"characteristics", "verdict", "settings"}
    assert {k: usual[k] for k in rest} == {k: strict[k] for k in rest}
