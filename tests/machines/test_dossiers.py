"""A dossier made on one machine is recomputed on another: other kernels, threads, and a newer Python.

Studies: the sample, the starter, two that put every search to work and two full of ties and of a
whole line. Other machines are stood in for (`kernels`); only child processes see them. An ordinary
run takes the environment that differs most, and a newer Python; ``LINESTUDY_FULL=1`` takes all of
them. With ``LINESTUDY_WRITE_PROOF=1`` what was found is kept in ``tests/proof/report/machines``.
"""

from __future__ import annotations

import gzip
import json
import os
import random
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hard_studies import write_line, write_ties
from kernels import FULL, REFERENCE, call, machine, machines, newer_python
from own_studies import write_shapes, write_small

from linestudy.study import start_study

pytestmark = [pytest.mark.machines, pytest.mark.timeout(3600)]

STUDIES: dict[str, Callable[[Path, Path], Path]] = {
    "sample": lambda folder, root: root / "sample_data" / "fork_receptacle",
    "starter": lambda folder, root: start_study(folder),
    "shapes": lambda folder, root: write_shapes(folder),
    "small": lambda folder, root: write_small(folder),
    "ties": lambda folder, root: write_ties(folder),
    "line": lambda folder, root: write_line(folder),
}
OTHERS = machines()
#: What an ordinary run takes: all of the differences that were ever found showed in the plain one.
WANTED = list(OTHERS) if FULL else list(OTHERS)[:1]
SHUFFLES = 20 if FULL else 2

KEPT = Path(__file__).parents[1] / "proof" / "report" / "machines" / "counts.json"

#: What `linestudy recompute` does, and besides how far the numbers lie from those recorded.
_RECOMPUTE = """
import json, sys
from pathlib import Path
import numpy
from linestudy.dossier import evaluate
from linestudy.dossier.audit.numbers import compare, leaf
from linestudy.dossier.audit.recomputation import audit
place = Path(sys.argv[1])
evaluation = evaluate(place / "data" / "study")
report = audit(place, evaluation)
recorded = json.loads((place / "data" / "results.json").read_text(encoding="utf-8"))
numbers = json.loads(json.dumps(evaluation.results()))
found = compare(recorded, numbers)
largest, where = 0.0, ""
for path, old in found.near.items():
    size = max(abs(old), abs(leaf(numbers, path)))
    # What is nought but for rounding has no relative difference.
    if size > 1e-9 and abs(old - leaf(numbers, path)) > largest * size:
        largest, where = abs(old - leaf(numbers, path)) / size, ".".join(map(str, path))
print(json.dumps({
    "python": sys.version.split()[0], "numpy": numpy.__version__, "agrees": report.agrees,
    "details": report.details()[:3000], "numbers": sum(found.compared.values()),
    "differ_within_tolerance": len(found.near), "differ_beyond": len(found.differences),
    "largest_relative": largest, "where": where,
}))
"""


#: What the sheet says where rows lie in another order than their numbers.
_BACK = "the order numbers go back"
_UNCONFIRMED = "no clock confirms"


@pytest.fixture(scope="module")
def rows() -> Iterator[list[dict[str, Any]]]:
    """What was found, kept at the end where that is wanted."""
    found: list[dict[str, Any]] = []
    yield found
    if os.environ.get("LINESTUDY_WRITE_PROOF") and found:
        KEPT.parent.mkdir(exist_ok=True)
        before = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else []
        kept = {(row["study"], row["machine"]): row for row in [*before, *found]}
        text = json.dumps([kept[key] for key in sorted(kept)], indent=1)
        KEPT.write_text(text + "\n", encoding="utf-8")


@pytest.fixture(scope="module", params=list(STUDIES))
def dossier(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, root: Path
) -> tuple[str, Path]:
    place = tmp_path_factory.mktemp(request.param)
    study = STUDIES[request.param](place / "study", root)
    out = place / "made.dossier"
    words = ["-m", "linestudy", "dossier", str(study), "--out", str(out)]
    code, said, errors = call(words, machine(REFERENCE, 2))
    assert code == 0, said[-2000:] + errors[-2000:]
    return request.param, out


def _agrees(
    dossier: tuple[str, Path],
    name: str,
    rows: list[dict[str, Any]],
    other: dict[str, str],
    python: Path | None = None,
) -> None:
    study, folder = dossier
    code, said, errors = call(["-c", _RECOMPUTE, str(folder)], other, python)
    assert code == 0, errors[-3000:]
    found = json.loads(said)
    details = found.pop("details")
    rows.append({"study": study, "machine": name, **found})
    assert found["agrees"], details
    assert found["numbers"] > 500
    assert found["differ_beyond"] == 0


@pytest.mark.parametrize("name", WANTED)
def test_a_dossier_agrees_on_another_machine(
    dossier: tuple[str, Path],
    name: str,
    rows: list[dict[str, Any]],
) -> None:
    _agrees(dossier, name, rows, OTHERS[name])


@pytest.fixture(scope="module")
def newer(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Path:
    python = newer_python()
    if python is None:
        pytest.skip("no newer Python is installed here")
    place = tmp_path_factory.mktemp("newer") / "venv"
    subprocess.run([python, "-m", "venv", str(place)], check=True)
    inside = place / ("Scripts" if os.name == "nt" else "bin") / "python"
    subprocess.run(
        [str(inside), "-m", "pip", "install", "-q", "-r", "requirements.txt"],
        cwd=root,
        check=True,
    )
    return inside


def test_a_dossier_agrees_under_a_newer_python(
    dossier: tuple[str, Path],
    newer: Path,
    rows: list[dict[str, Any]],
) -> None:
    if not FULL and dossier[0] not in ("sample", "starter", "small"):
        pytest.skip("all studies only with LINESTUDY_FULL=1")
    _agrees(dossier, "another Python", rows, machine(REFERENCE, 1), newer)


def _text(file: Path) -> str:
    held = file.read_bytes()
    return (gzip.decompress(held) if file.suffix == ".gz" else held).decode("utf-8")


@pytest.mark.parametrize("which", ["sample", "starter", "shapes", "small", "ties", "line"])
def test_rows_in_another_order_give_the_same_numbers(
    which: str, tmp_path: Path, root: Path
) -> None:
    """Rows that have an order number, and of gauge studies those whose trials are numbered.

    In a short run and in a destructive test the order is that of the rows. So it is of trials that only their rows count (here because a day stands beside
    them): which reading is beside which is what copies are seen by.
    """
    from linestudy.dossier import evaluate
    from linestudy.dossier.audit.numbers import compare

    if not FULL and which in ("sample", "line", "shapes"):
        pytest.skip("whole lines only with LINESTUDY_FULL=1")
    folder = Path(shutil.copytree(STUDIES[which](tmp_path / "made", root), tmp_path / "study"))
    ordered = ("short.csv", "machine.csv", "third.csv", "pull.csv")
    files = {
        file: _text(file).splitlines()
        for file in sorted([*folder.rglob("*.csv"), *folder.rglob("*.csv.gz")])
        if file.name not in ordered
    }

    def numbers() -> Any:
        found = evaluate(folder).results()
        # The files' sums are others, as they must be, and that rows stand in another order is told.
        del found["inputs"]
        for verdict in (one["verdict"] for one in found["characteristics"].values()):
            record = verdict["facts"]["record"]
            told[0] += record.pop("backwards", 0)
            verdict["conditions"] = [x for x in verdict["conditions"] if _BACK not in x]
            # So is a counter that goes back where no clock confirms it.
            for place in ("objections", "reasons"):
                verdict[place] = [x for x in verdict[place] if _UNCONFIRMED not in x]
            for ruling in verdict["rules"]:
                if ruling["rule"] == "counter and clock":
                    ruling.clear()
            del verdict["statement"]
            # First and last reading of a gauge study and of masters are those of the file, in whatever order that has them.
            for key in ("study_readings", "master_readings"):
                record.pop(key, None)
            if which == "small":
                # Pulls without a number: the first of them, the last, and the coils are as the file has them.
                for key in ("first_readings", "last_readings", "coils"):
                    record.pop(key)
        # It holds these readings in words; its other lines are made of facts that are compared.
        del found["verdict"]["own_records"]
        return json.loads(json.dumps(found))

    told = [0]
    first = numbers()
    assert not told[0]
    for seed in range(SHUFFLES):
        for file, (head, *rows) in files.items():
            random.Random(seed).shuffle(rows)
            text = "\n".join([head, *rows]) + "\n"
            file.write_bytes(
                gzip.compress(text.encode()) if file.suffix == ".gz" else text.encode()
            )
        found = compare(first, numbers())
        assert not found.differences, (seed, found.differences[:5])
        assert not found.words, (seed, found.words[:5])
    assert told[0] or which == "small"
    shutil.rmtree(folder)
