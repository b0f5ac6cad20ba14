"""Rules: their patterns on hand-made points, their rates against simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from linestudy.stability.charts.rules import RULE_SETS, RULES, _zigzag, complete_at, select_rules


@pytest.mark.parametrize("key", list(RULES))
def test_rate_by_simulation(key: str) -> None:
    rule = RULES[key]
    z = np.random.default_rng(11).normal(size=(400, 2500))
    found = complete_at(rule, z)[:, rule.m - 1 :]
    by_run = found.mean(axis=1)
    error = by_run.std(ddof=1) / math.sqrt(by_run.size)
    assert abs(by_run.mean() - rule.rate) < 4 * error


def test_patterns_by_hand() -> None:
    def at(key: str, z: list[float]) -> list[int]:
        return np.flatnonzero(complete_at(RULES[key], z)).tolist()

    assert at("beyond", [0, 3.1, -3.1, 2.9]) == [1, 2]
    assert at("2 of 3", [2.1, 0, 2.1, 0, 0]) == [2]
    assert at("2 of 3", [2.1, -2.1, 0]) == []
    assert at("4 of 5", [1.1, 1.1, 0, 1.1, 1.1, 0]) == [4]
    assert at("run of 8", [0.1] * 9) == [7, 8]
    assert at("run of 9", [-0.1] * 9) == [8]
    assert at("trend of 6", [0, 1, 2, 3, 4, 5, 4]) == [5]
    assert at("trend of 7", [6, 5, 4, 3, 2, 1, 0, 1]) == [6]
    assert at("alternation of 14", [0.5, -0.5] * 7) == [13]
    assert at("15 within one", [0.2, -0.2, 0.0] * 5) == [14]
    assert at("8 outside one", [1.2, -1.2] * 4) == [7]


def test_zigzag_numbers() -> None:
    # André's numbers as listed everywhere: 1, 1, 1, 2, 5, 16, 61, 272, 1385.
    assert [_zigzag(n) for n in range(9)] == [1, 1, 1, 2, 5, 16, 61, 272, 1385]


def test_sets_hold_known_rules() -> None:
    for name, keys in RULE_SETS.items():
        assert tuple(rule.key for rule in select_rules(name)) == keys
    assert select_rules(["beyond", "beyond"]) == (RULES["beyond"],)
    with pytest.raises(ValueError, match="'red flags' is not known"):
        select_rules("red flags")
    with pytest.raises(ValueError, match="rules is empty"):
        select_rules([])


def test_short_runs_have_no_long_pattern() -> None:
    for rule in RULES.values():
        assert complete_at(rule, [0.1]).shape == (1,)
        assert complete_at(rule, [5.0]).tolist() == [rule.key == "beyond"]
