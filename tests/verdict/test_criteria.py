"""The criteria: what is set where, what is weaker, and how each is printed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.study.model import Characteristic, CriteriaKeys
from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict import resolve
from linestudy.verdict.criteria import DEFAULTS, Criterion


def test_criteria_by_class_and_for_one_characteristic() -> None:
    table = StudyCriteria(
        capability_accept=1.5,
        source="Customer X",
        special=CriteriaKeys(capability_accept=2.0, source="Customer X, special"),
        other=CriteriaKeys(capability_accept=1.33, source="Customer X, other"),
    )
    base = {"id": "a", "name": "A", "lower": 0.0, "upper": 1.0}
    special = resolve(table, Characteristic(**base, special=True))["capability_accept"]
    other = resolve(table, Characteristic(**base))["capability_accept"]
    own = resolve(
        table,
        Characteristic(**base, criteria=CriteriaKeys(capability_accept=1.0, source="Drawing")),
    )["capability_accept"]
    assert (special.number, special.source) == (2.0, "Customer X, special")
    assert (other.number, other.source) == (1.33, "Customer X, other")
    assert (own.number, own.source) == (1.0, "Drawing")


def test_a_layer_that_sets_nothing_leaves_what_lies_below() -> None:
    table = StudyCriteria(
        grr_accept=0.2,
        source="Customer X",
        special=CriteriaKeys(capability_accept=2.0, source="Special"),
    )
    of = Characteristic(id="a", name="A", lower=0.0, upper=1.0, special=True)
    found = resolve(table, of)
    assert (found["grr_accept"].number, found["grr_accept"].source) == (0.2, "Customer X")
    assert found["capability_review"] == resolve()["capability_review"]
    unnamed = resolve(StudyCriteria(ndc_min=3.0))["ndc_min"]
    assert unnamed.source == "set by the author of the study"


def test_the_key_for_both_decisions_yields_to_the_keys_for_one() -> None:
    both = resolve(StudyCriteria(decide_on="lower bound"))
    assert (both.capability_on_bound, both.measurement_on_bound) == (True, True)
    others = [key for key in DEFAULTS if not key.startswith("decide_")]
    assert [both[key] for key in others] == [resolve()[key] for key in others]
    one = resolve(StudyCriteria(decide_on="lower bound", decide_measurement_on="estimate"))
    assert (one.capability_on_bound, one.measurement_on_bound) == (True, False)


@pytest.mark.parametrize("key", sorted(DEFAULTS))
def test_weaker_is_what_asks_for_less(key: str) -> None:
    default = DEFAULTS[key]
    if isinstance(default.value, str):
        assert not Criterion(key, default.stricter, "X").weaker
        assert Criterion(key, "something else", "X").weaker
    else:
        more, less = (1.01, 0.99) if default.stricter == "higher" else (0.99, 1.01)
        assert not Criterion(key, more * default.value, "X").weaker
        assert Criterion(key, less * default.value, "X").weaker
    usual = Criterion(key, default.value, "X")
    assert not usual.weaker
    assert usual.shown == usual.usual


@given(st.floats(0.0005, 0.9995))
def test_a_share_is_printed_as_it_is_held_against(share: float) -> None:
    rounded = float(f"{share:.4f}")
    criterion = Criterion("grr_accept", rounded, "X")
    assert float(criterion.percent.removesuffix("%")) == pytest.approx(100 * rounded, abs=1e-9)
    assert criterion.shown == criterion.percent.replace("%", " %")


def test_criteria_in_words() -> None:
    shown = {key: item.shown for key, item in resolve().items.items()}
    assert shown["capability_accept"] == "1.67"
    assert shown["grr_accept"] == "10 %"
    assert shown["grr_multiplier"] == "6"
    assert Criterion("capability_accept", 2.0, "X").shown == "2.00"
    assert Criterion("miss_max", 0.005, "X").shown == "0.5 %"
    assert (Criterion("grr_of", "largest", "X").departs, Criterion("ndc_min", 3, "X").departs) == (
        "other",
        "weaker",
    )


def test_only_weaker_criteria_are_listed_as_weaker() -> None:
    found = resolve(StudyCriteria(capability_accept=2.0, capability_review=1.0, grr_accept=0.1))
    assert [item.key for item in found.weaker] == ["capability_review"]
