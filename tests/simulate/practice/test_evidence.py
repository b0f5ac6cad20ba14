"""What a practice study holds, and whether a reason rests on it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy.simulate.practice import write_practice
from linestudy.simulate.practice.decision_form import DECIDED
from linestudy.simulate.practice.evidence import numbers_of_study, rests_on


def test_the_numbers_are_those_of_the_files(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=2, salt=b"t", kinds=("bad_lane",))
    found = numbers_of_study(folder)
    assert set(found) == set(DECIDED)
    run = pd.read_csv(folder / "data" / "run.csv")
    x = run["burr"].to_numpy()
    x = x[~np.isnan(x)]
    for number in ((0.16 - x.mean()) / (3 * x.std(ddof=1)), x.std(ddof=1), x.size):
        assert np.isclose(found["burr"].numbers, number, rtol=1e-9).any(), number
    crossed = pd.read_csv(folder / "data" / "crossed_burr.csv")
    repeat = np.sqrt(crossed.groupby(["part", "appraiser"])["value"].var().mean())
    # Nobody reads apart here, so %GRR is about that of repeatability alone.
    assert np.isclose(found["burr"].numbers, 6 * repeat / 0.16, rtol=0.3).any()
    assert {2400.0, 0.0} <= set(found["record"].numbers)
    assert {40.0, 20.0, 240.0} <= set(found["appearance"].numbers)


def test_a_study_that_was_taken_apart_has_no_numbers(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=2, salt=b"t")
    (folder / "data" / "run.csv").write_text("a\n1\n")
    assert numbers_of_study(folder) == {}


@pytest.mark.parametrize(
    ("reason", "numbers", "rests"),
    [
        ("der Index liegt bei 2,48 und damit hoch", (2.481,), True),
        ("the gauge takes 6 % of the tolerance", (0.0613,), True),
        ("the gauge takes 6 of the tolerance", (0.0613,), False),
        ("coil C3 lies apart from the others", (3.0,), False),
        ("it rises by 0.021 mm", (-0.0212,), True),
        ("of 2,400 rows none stands twice", (2400.0,), True),
        ("of 2,40 rows none stands twice", (2400.0,), False),
        ("an index above 1.67 as asked", (1.66,), False),
        ("0 rejects are missing", (0.0,), True),
        ("0 rejects are missing", (12.0,), False),
        ("no number at all", (1.0,), False),
    ],
)
def test_numbers_as_people_write_them(reason: str, numbers: tuple[float, ...], rests: bool) -> None:
    assert rests_on(reason, numbers) is rests


def test_an_index_by_another_distribution_is_one_too(tmp_path: Path) -> None:
    """The kit takes the burr as gamma, and decides on the lower bound of the worst lane."""
    from scipy import stats

    folder = write_practice(tmp_path / "p", seed=2, salt=b"t", kinds=("bad_lane",))
    held = numbers_of_study(folder)["burr"]
    x = pd.read_csv(folder / "data" / "run.csv")["burr"].dropna()
    shape, begin, scale = stats.gamma.fit(x, floc=0)
    middle, high = stats.gamma.ppf([0.5, 0.99865], shape, begin, scale)
    index = (0.16 - middle) / (high - middle)
    for number in (index, 0.9 * index):
        assert rests_on(f"the index is {number:.2f} as gamma", held.numbers, held.index)
    assert not rests_on("the index is 1.10 as gamma", held.numbers, held.index)
    assert not rests_on("the index is about 3 I think", (), held.index)
