"""A dossier that is written over an older one, killed at fifty random moments of the whole writing."""

from __future__ import annotations

import contextlib
import dataclasses
import os
import pickle
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import bagit
import pytest

from linestudy.dossier import evaluate
from linestudy.dossier.bag.exchange import put_back
from linestudy.study import open_study, start_study

pytestmark = [pytest.mark.proof, pytest.mark.timeout(1800)]

WRITE = """
import pickle, sys
from linestudy.dossier import write
with open(sys.argv[1], "rb") as file:
    evaluation = pickle.load(file)
print("begun", flush=True)
write(evaluation, sys.argv[2])
"""


def _begun(evaluation: Path, target: Path) -> subprocess.Popen[str]:
    """A process of a group of its own that has begun to write."""
    process = subprocess.Popen(
        [sys.executable, "-c", WRITE, str(evaluation), str(target)],
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "begun\n"
    return process


def _killed(process: subprocess.Popen[str]) -> None:
    # The writer and its workers, where the system knows groups of processes.
    if hasattr(os, "killpg"):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    process.kill()
    process.communicate()


def test_killed_while_writing_the_old_or_the_new_dossier_is_whole(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    old = evaluate(folder)
    file = folder / "study.toml"
    file.write_text(file.read_text().replace("Initial study of my part", "A later study"))
    new = dataclasses.replace(old, study=open_study(folder))
    target = tmp_path / "out"
    files = []
    for number, evaluation in enumerate((old, new)):
        files.append(tmp_path / f"{number}.pickle")
        files[-1].write_bytes(pickle.dumps(evaluation))
    process = _begun(files[1], target)
    begin = time.perf_counter()
    process.communicate()
    assert process.returncode == 0
    whole = time.perf_counter() - begin
    chooser = random.Random(3)
    seen = set()
    for turn in range(50):
        # The last moments matter most: half of the kills fall into the last fifth.
        share = chooser.uniform(0, 1.1) if turn % 2 else chooser.uniform(0.8, 1.3)
        process = _begun(files[0 if turn % 4 < 2 else 1], target)
        time.sleep(share * whole)
        _killed(process)
        put_back(target)
        bag = bagit.Bag(str(target))
        bag.validate(processes=1)
        seen.add(bag.info["External-Description"])
    assert len(seen) == 2
