"""The main job as a user types it: what it prints, what it writes, and that the README shows the same."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from linestudy.cli import main


@pytest.fixture
def ran(job: tuple[subprocess.CompletedProcess[str], Path], root: Path):
    return *job, root


def test_it_tells_its_progress_its_decisions_and_where_it_wrote(ran) -> None:
    done, out, _ = ran
    assert done.returncode == 0
    assert done.stderr == ""
    for room in ("records", "gauges", "stability", "shape", "capability", "verdict"):
        # A console that knows ASCII only shows another sign before it.
        assert f" {room}\n" in done.stdout
    for name in ("dossier.pdf", "index.html", "workbook.xlsx", "results.json"):
        assert str(out / "data" / name) in done.stdout
        assert (out / "data" / name).stat().st_size > 10_000
    assert "not yet evaluated" not in done.stdout
    assert "dossier" in done.stdout.split("Written:")[1]
    assert not re.search(r"\d%", done.stdout)


def test_the_readme_shows_the_decisions_that_come_out(ran) -> None:
    done, _, root = ran
    readme = (root / "README.md").read_text(encoding="utf-8")
    rows = [
        line
        for line in done.stdout.splitlines()
        if line.rstrip().endswith(
            ("meets", "customer approval required", "does not meet", "cannot be judged")
        )
    ]
    assert len(rows) == 7
    for row in rows:
        assert row.rstrip() in readme, row


def test_help_and_version(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--help"], ["--version"], ["dossier", "--help"]):
        with pytest.raises(SystemExit) as stop:
            main(words)
        assert stop.value.code == 0
    assert "linestudy 0." in capsys.readouterr().out


def test_an_unknown_file_gets_a_proposal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "log.csv").write_text("Part;Width\n1;2,801\n2;2,799\n3;2,800\n")
    assert main(["check", str(tmp_path / "log.csv")]) == 0
    shown = capsys.readouterr().out
    assert "[[data]]" in shown
    assert 'delimiter = ";"' in shown
    assert 'decimal = ","' in shown


def test_check_prints_the_ledger(sample_study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(sample_study)]) == 0
    shown = capsys.readouterr().out
    assert "repeated row" in shown
    assert "32,175 rows read from 9 files" in shown


def test_a_dossier_lies_beside_its_study_by_default(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", str(tmp_path / "mine")]) == 0
    assert main(["dossier", str(tmp_path / "mine")]) == 0
    assert (tmp_path / "mine.dossier" / "data" / "dossier.pdf").is_file()
    # A second run replaces it.
    assert main(["dossier", str(tmp_path / "mine")]) == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["mine", "mine.dossier"]


def test_daily_files_become_a_log_and_a_second_run_reads_nothing_anew(
    tmp_path: Path, sample_study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import gzip

    lines = gzip.decompress((sample_study / "data/run.csv.gz").read_bytes()).decode().splitlines()
    days = tmp_path / "days"
    days.mkdir()
    (days / "day1.csv").write_text("\n".join(lines[:2001]) + "\n")
    (days / "day2.csv").write_text("\n".join([lines[0], *lines[2001:4001]]) + "\n")
    assert main(["log", str(days), "--study", str(sample_study)]) == 0
    assert "2 files were read now" in capsys.readouterr().out
    assert main(["log", str(days), "--study", str(sample_study)]) == 0
    assert "0 files were read now" in capsys.readouterr().out
    assert main(["log", str(tmp_path / "nothing"), "--study", str(sample_study)]) == 2


def test_every_command_has_an_example_and_a_sentence_for_each_argument() -> None:
    import argparse
    from collections import defaultdict

    from linestudy.options import parser

    def done(_: object) -> int:
        return 0

    made = parser(defaultdict(lambda: done), "0")
    (commands,) = (one for one in made._actions if isinstance(one, argparse._SubParsersAction))
    assert len(commands.choices) > 8
    for name, one in commands.choices.items():
        assert one.description, name
        assert str(one.epilog).startswith(f"Example: linestudy {name}"), name
        # The example is one that the command takes.
        words = str(one.epilog).removeprefix("Example: linestudy ").split()
        assert made.parse_args(words).run is done
        for action in one._actions:
            assert action.help, (name, action.dest)
