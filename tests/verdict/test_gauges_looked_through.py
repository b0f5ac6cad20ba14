"""Studies of gauges that look well by one number and are not: one folder, a characteristic for each."""

from __future__ import annotations

import random
from pathlib import Path
from statistics import mean
from typing import Any

import pytest
from own_gauges import crossed, drift, masters, paired, write_gauges

from linestudy import evaluate

SETS_ANEW = "".join(f'[[event]]\nat = {at}\nname = "set anew"\n' for at in (1950, 2950))


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Any:
    def same(off: float) -> list[tuple[float, float]]:
        return [(size, round(size + off * (size - 5), 2)) for size in (4.0, 5.0, 6.0)] * 10

    draw = random.Random(7)
    worse = [
        (p, who, t, y + draw.gauss(0, 0.04) if who == "Z" else y) for p, who, t, y in crossed()
    ]
    again = [(p + 1 + 10 * n, who, t, y + n) for n in (0, 1) for p, who, t, y in crossed()]
    again = [(p, who, t, y + draw.gauss(0, 0.003)) for p, who, t, y in again]
    # Steps as wide as two standard deviations: masters on a step may well read alike each time.
    coarse = [(p, who, t, round(50 * y) / 50) for p, who, t, y in crossed()]
    read = [(size, y) for size, y in masters()]
    theirs = [(round(mean(y for r, y in read if r == size), 4), y) for size, y in read]
    studies = {
        "sound": {
            "crossed": crossed(),
            "reference": masters(),
            "drift": drift(),
            "paired": paired(),
        },
        "same": {"crossed": coarse, "reference": same(0.0)},
        "turned": {"crossed": coarse, "reference": same(0.2)},
        "nominal": {"crossed": crossed(), "reference": same(0.0)},
        "person": {"crossed": worse, "reference": masters()},
        "jumped": {
            "crossed": crossed(),
            "reference": masters(),
            "drift": drift(lambda i: 0.4 * (20 <= i < 30)),
        },
        "own": {
            "crossed": crossed(),
            "reference": masters(),
            "drift": [(n, y, y) for n, _, y in drift()],
        },
        "copied": {
            "crossed": again,
            "cmm": [(p, who, t, y + 0.02) for p, who, t, y in again],
            "reference": theirs,
        },
        "off": {"crossed": crossed(), "reference": masters(), "paired": paired(off=0.25)},
        "mixed": {"crossed": crossed(), "reference": masters(), "paired": paired(shift=7)},
    }
    folder: Path = write_gauges(tmp_path_factory.mktemp("gauges"), studies, SETS_ANEW)
    return evaluate(folder, progress=lambda stage: None).findings


@pytest.mark.parametrize("key", ["sound", "same"])
def test_sound_studies_meet(found: Any, key: str) -> None:
    assert found.get(key, "verdict").decision == "meets"


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("turned", "more than 5%: correct it"),
        ("person", "as Z repeats, %GRR is"),
        ("jumped", "off between two resets"),
        ("own", "drift is not known"),
        ("nominal", "30 readings of 3 masters never differ"),
        ("copied", "parts 11 to 20 have the sizes of parts 1 to 10"),
        ("copied", "err as those of the study of CMM"),
        ("copied", "masters' values taken from the readings"),
        ("off", "one of the two gauges is off"),
        ("mixed", "rows of different parts"),
    ],
)
def test_what_one_number_hides_is_told(found: Any, key: str, words: str) -> None:
    verdict = found.get(key, "verdict")
    assert verdict.decision == "customer approval required"
    # The slope turns up in the budget of uncertainty too.
    assert len(verdict.reasons) == 1 + (key == "turned")
    assert words in verdict.reasons[0]
