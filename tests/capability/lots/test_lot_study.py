"""What the lots seen say of those to come, told."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import lot_capability
from linestudy.results import CannotJudge, Interval
from linestudy.verdict import Tags, decide, resolve
from linestudy.verdict.facts import Circumstances
from linestudy.verdict.measurement_facts import GaugeFacts

COIL = np.repeat(np.arange(3), 20)


def strength(ratio: float) -> np.ndarray:
    rng = np.random.default_rng(21)
    return 80 + 3 * ratio * np.array([-1.0, 0.3, 0.7])[COIL] + 3 * rng.normal(size=60)


def test_three_coils_that_differ_say_too_little_and_how_many_would_do() -> None:
    study = lot_capability(strength(1.5), [COIL], 60.0, by="coil", unit="N")
    assert not study.enough
    assert study.lots_needed is not None
    assert study.lots_needed > 5
    assert f"about {study.lots_needed} coils" in study.statement
    assert isinstance(study.next_lot_Ppk, Interval)
    assert "s not" not in study.statement
    shown = study.shown().to_string()
    assert "mean of the next lot (prediction)" in shown


def test_alike_coils_are_enough() -> None:
    coil = np.repeat(np.arange(3), 400)
    y = 80 + 3 * np.random.default_rng(22).normal(size=1200)
    study = lot_capability(y, [coil], 60.0, by="coil")
    assert study.enough
    assert "too little" not in study.statement


def test_without_a_limit_the_lots_are_still_described() -> None:
    study = lot_capability(strength(1.0), [COIL])
    assert study.enough
    assert study.lots_needed is None
    with pytest.raises(ValueError, match="lots"):
        lot_capability(strength(1.0), [])
    with pytest.raises(CannotJudge, match="one lot"):
        lot_capability(strength(1.0), [np.zeros(60)])


@pytest.mark.parametrize(("ratio", "objects"), [(2.0, True), (0.0, False)])
def test_the_decision_asks_for_more_lots(ratio: float, objects: bool) -> None:
    coil = np.repeat(np.arange(3), 60)
    rng = np.random.default_rng(24)
    y = 80 + 3 * ratio * np.array([-1.0, 0.3, 0.7])[coil] + 3 * rng.normal(size=180)
    tags = Tags(subgroup=coil, lots=(coil,))
    around = Circumstances(in_time=False)
    decision = decide(y, tags, GaugeFacts(), resolve(), lower=50.0, circumstances=around)
    ruling = next(item for item in decision.rulings if item.rule == "sample")
    assert ("such lots would" in ruling.reason) == objects
    bound = decision.facts.index.bound / decision.facts.index.estimate
    assert (bound < 0.5) == objects


def test_one_batch_only_is_told() -> None:
    y = np.tile(strength(0.0), 3)
    tags = Tags(lots=(np.zeros(y.size),))
    decision = decide(
        y, tags, GaugeFacts(), resolve(), lower=50.0, circumstances=Circumstances(in_time=False)
    )
    ruling = next(item for item in decision.rulings if item.rule == "sample")
    assert "all of one lot" in ruling.reason
