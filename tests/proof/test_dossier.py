"""A dossier that is written over an older one, killed at fifty random moments of the whole writing."""

from __future__ import annotations

import dataclasses
import os
import random
import signal
import time
from pathlib import Path

import bagit
import pytest

from linestudy.dossier import evaluate, write
from linestudy.dossier.evaluation import Evaluation
from linestudy.study import open_study, start_study

pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks"),
]


def _begun(evaluation: Evaluation, target: Path) -> int:
    child = os.fork()
    if child == 0:  # pragma: no cover
        os.setsid()
        try:
            write(evaluation, target)
        finally:
            os._exit(0 if (target / "bagit.txt").is_file() else 1)
    return child


def test_killed_while_writing_the_old_or_the_new_dossier_is_whole(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    old = evaluate(folder)
    file = folder / "study.toml"
    file.write_text(file.read_text().replace("Initial study of my part", "A later study"))
    new = dataclasses.replace(old, study=open_study(folder))
    target = tmp_path / "out"
    begin = time.perf_counter()
    # In a child too: the typesetter's threads would not survive a fork of this process.
    assert os.waitpid(_begun(new, target), 0)[1] == 0
    whole = time.perf_counter() - begin
    chooser = random.Random(3)
    seen = set()
    for turn in range(50):
        # The last moments matter most: half of the kills fall into the last fifth.
        share = chooser.uniform(0, 1.1) if turn % 2 else chooser.uniform(0.8, 1.3)
        child = _begun(old if turn % 4 < 2 else new, target)
        time.sleep(share * whole)
        # The writer and the helpers it forked: a group of their own.
        try:
            os.killpg(child, signal.SIGKILL)
        except ProcessLookupError:
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        bag = bagit.Bag(str(target))
        bag.validate(processes=1)
        seen.add(bag.info["External-Description"])
    assert len(seen) == 2
