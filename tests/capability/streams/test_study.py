"""Streams beside each other: the worst one, its interval, and what matching and centring would gain."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import process_capability, stream_capability
from linestudy.results import CannotJudge


def streams(means: dict[str, float], n: int = 400, seed: int = 1, upper: float = 5.0) -> dict:
    rng = np.random.default_rng(seed)
    return {name: process_capability(rng.normal(m, 1, n), -5.0, upper) for name, m in means.items()}


def test_the_worst_stream_decides_and_is_named() -> None:
    found = stream_capability(streams({"L": 0.0, "R": 1.5}))
    assert found.worst == "R"
    assert found.Ppk.estimate == found.streams["R"].Ppk.estimate
    assert "R is the worst" in found.statement
    assert found.figure().alt_text


def test_centring_gains_what_the_distance_cost() -> None:
    """Closed form: at level 0 and 1.5, limits ±5, SD 1, an index of 1.17; matched at 0.75 it is 1.42, centred 1.67."""
    found = stream_capability(streams({"L": 0.0, "R": 1.5}, n=40_000))
    assert found.Ppk.estimate == pytest.approx(3.5 / 3, rel=0.02)
    assert found.Ppk_matched == pytest.approx(4.25 / 3, rel=0.02)
    assert found.Ppk_centred == pytest.approx(5 / 3, rel=0.02)


def test_the_interval_of_the_worst_allows_for_the_choice() -> None:
    found = stream_capability(streams(dict.fromkeys("abcdefgh", 0.0), n=60))
    assert found.Ppk.low == min(item.Ppk.low for item in found.streams.values())
    assert found.Ppk.high >= min(item.Ppk.high for item in found.streams.values())
    # Eight alike: the lowest estimate lies well below the truth on average, and that is said.
    assert found.selection > 0.05
    assert "because it is the lowest" in found.cautions[0]


def test_one_stream_alone_is_no_comparison() -> None:
    with pytest.raises(CannotJudge, match="two are needed"):
        stream_capability(streams({"L": 0.0}))
