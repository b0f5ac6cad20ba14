"""What the time-dependent model says of runs whose movement is known: a confusion matrix."""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from situations import GROUP, STROKE, Situation, is_right, situations, told

from linestudy.numerics import generator
from linestudy.stability import time_model

pytestmark = pytest.mark.proof

#: Runs of each situation; the report is written with the larger number.
RUNS = 300 if os.environ.get("LINESTUDY_WRITE_PROOF") else 40
REPORT = Path(__file__).parent / "report" / "time_model.json"
FOUND: dict[str, dict[str, int]] = {}


def answers(situation: Situation, runs: int) -> Counter[str]:
    rng = generator(None, "proof", "time model", situation.name)
    found: Counter[str] = Counter()
    for _ in range(runs):
        values, more = situation.draw(rng)
        found[told(time_model(values, GROUP, STROKE, **more))] += 1
    return found


@pytest.mark.parametrize("situation", situations(), ids=lambda s: s.name)
def test_what_is_said_is_right(situation: Situation) -> None:
    found = answers(situation, RUNS)
    FOUND[situation.name] = dict(found.most_common())
    right = sum(count for answer, count in found.items() if is_right(situation, answer)) / RUNS
    error = (0.9 * 0.1 / RUNS) ** 0.5
    assert right >= 0.9 - 3 * error, found
    # Written with what the ordinary sample is held to.
    if REPORT.is_file() and not os.environ.get("LINESTUDY_WRITE_PROOF"):
        before = json.loads(REPORT.read_text(encoding="utf-8"))["situations"][situation.name]
        assert right >= before["right"] - 4 * error, (found, before)


def test_the_report_is_written() -> None:
    if not os.environ.get("LINESTUDY_WRITE_PROOF") or len(FOUND) < len(situations()):
        pytest.skip("written where LINESTUDY_WRITE_PROOF is set and all situations ran")
    rows = {}
    for one in situations():
        right = sum(n for answer, n in FOUND[one.name].items() if is_right(one, answer)) / RUNS
        rows[one.name] = {"right": round(right, 4), "said": FOUND[one.name]}
    shares = [row["right"] for row in rows.values()]
    text = json.dumps(
        {"runs": RUNS, "mean": round(float(np.mean(shares)), 4), "situations": rows}, indent=1
    )
    REPORT.write_text(text + "\n", encoding="utf-8")
    assert len(rows) == len(situations())
