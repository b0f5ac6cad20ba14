"""Tool life: closed forms, known truth, and what is said where a regrind, a limit or wear is missing."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.signal import lfilter
from scipy.stats import norm

from linestudy.capability import tool_life
from linestudy.capability.wear.remainder import Remainder
from linestudy.capability.wear.study import _strokes
from linestudy.capability.wear.trend import sawtooth
from linestudy.results import Absent, CannotJudge, Interval
from linestudy.results.tables import typeset
from linestudy.stability import tool_wear

STROKES = np.arange(8400.0)
LIFE, WEAR, SD = 2800, -0.15, 0.1


def worn(seed: int = 1, rho: float = 0.0, wear: float = WEAR) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(size=STROKES.size)
    if rho:
        noise[1:] *= np.sqrt(1 - rho**2)
        noise = lfilter([1], [1, -rho], noise)
    return 50.2 + wear * (STROKES % LIFE) / 1000 + SD * noise


def truth() -> dict[str, float]:
    """Of a normal remainder about a straight line, by SciPy's normal distribution."""
    grid = 50.2 + WEAR * (np.arange(2000) + 0.5) / 2000 * LIFE / 1000
    low, middle, high = (
        brentq(lambda x, p=p: norm.cdf((x - grid) / SD).mean() - p, 45, 55)
        for p in (0.00135, 0.5, 0.99865)
    )
    reach = norm.isf(0.00135) * SD
    return {
        "slope_per_thousand": WEAR,
        "Ppk_start": 0.8 / reach,
        "Ppk_end": (50.2 + WEAR * 2.8 - 49) / reach,
        "Ppk_whole": min((51 - middle) / (high - middle), (middle - 49) / (middle - low)),
        "strokes_to_limit": (1.2 - reach) / 0.15 * 1000,
        "strokes_to_index": (1.2 - 1.33 * reach) / 0.15 * 1000,
    }


@pytest.mark.parametrize("rho", [0.0, 0.9])
def test_the_truth_lies_within(rho: float) -> None:
    found = tool_life(worn(3, rho), STROKES, 49, 51, resets=[2800, 5600])
    for name, value in truth().items():
        interval = getattr(found, name)
        assert isinstance(interval, Interval)
        assert value in interval, name
    assert found.life == 2800
    assert found.lives == 3


def test_where_to_start_and_how_long_it_lasts() -> None:
    """Closed form: start 1.33 × 3 SD below the upper limit; from there to as far above the lower one."""
    found = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600])
    reach = 1.33 * 3 * SD
    assert found.start == pytest.approx(51 - reach, abs=0.01)
    assert found.longest_life == pytest.approx((2 - 2 * reach) / 0.15 * 1000, rel=0.03)


def test_the_acceptance_control_limit_is_that_of_iso_7870_3() -> None:
    """L + z(99.865 %) SD − z(95 %) SD / √n: formula from memory."""
    found = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600], subgroup_size=4)
    assert found.control_limit == pytest.approx(49 + 3 * SD - 1.645 * SD / 2, abs=0.005)


def test_steps_at_regrinds_are_what_they_gave_back() -> None:
    found = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600])
    assert [item.at for item in found.regrinds] == [2800, 5600]
    assert all(0.42 in item.step for item in found.regrinds)
    assert "goes from" in found.statement or "falls from" in found.statement
    assert typeset(found.statement) in found.figure().alt_text


def test_the_worst_stream_counts() -> None:
    order = np.repeat(STROKES[:4000], 2)
    lane = np.tile(["L", "R"], 4000)
    noise = np.random.default_rng(2).normal(size=8000)
    y = 50 + 0.1 * (order % 2000) / 1000 + 0.1 * noise + 0.3 * (lane == "R")
    both = tool_life(y, order, 49, 51, resets=[2000], station=lane)
    alone = tool_life(y[lane == "L"], order[lane == "L"], 49, 51, resets=[2000])
    assert both.Ppk_end.estimate == pytest.approx(alone.Ppk_end.estimate - 1.0, abs=0.12)


def test_what_nobody_saw_is_said() -> None:
    half = STROKES[:2800]
    found = tool_life(worn()[:2800], half, 49, 51)
    assert any("No reset lies inside" in note for note in found.cautions)
    with pytest.raises(CannotJudge, match="not seen to wear"):
        tool_life(worn(wear=0.0), STROKES, 49, 51, resets=[2800])
    away = tool_life(worn(), STROKES, upper=51, resets=[2800, 5600])
    assert isinstance(away.strokes_to_limit, Absent)
    assert isinstance(away.start, Absent)


def test_a_gauge_that_drifts_as_fast_is_named() -> None:
    drift = Interval(-0.15, -0.16, -0.14, 0.95, "its record")
    found = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600], drift=drift)
    assert any("may be the gauge" in note for note in found.cautions)
    # The slope less the drift, and what is told where the gauge drifts by a part of it.
    part = Interval(-0.05, -0.06, -0.04, 0.95, "its record")
    found = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600], drift=part, unit="mm")
    assert any(
        "readings move with it" in note and "−0.1" in note.replace("-", "−")
        for note in found.cautions
    )


def test_a_heavy_remainder_reaches_farther() -> None:
    rng = np.random.default_rng(5)
    y = 50.2 + WEAR * (STROKES % LIFE) / 1000 + SD * rng.standard_t(4, STROKES.size) / np.sqrt(2)
    heavy = tool_life(y, STROKES, 49, 51, resets=[2800, 5600])
    plain = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600])
    assert heavy.Ppk_whole.estimate < 0.9 * plain.Ppk_whole.estimate
    width = heavy.Ppk_whole.high - heavy.Ppk_whole.low
    assert width > 2 * (plain.Ppk_whole.high - plain.Ppk_whole.low)


@pytest.mark.parametrize(
    ("step", "said"),
    [(-0.02, ""), (0.01, "made it worse"), (-0.005, "was taken back: the tool was not restored")],
)
def test_a_regrind_that_restores_nothing_is_told(step: float, said: str) -> None:
    """Wear of 0.02 in 2,000 strokes, and what the grinder did then."""
    s = np.arange(4000.0)
    y = 0.01 * s / 1000 + step * (s >= 2000) + 0.004 * np.random.default_rng(3).normal(size=4000)
    found = tool_life(y, s, -0.05, 0.08, resets=[2000], unit="mm")
    told = [note for note in found.cautions if note.startswith("At stroke 2,000")]
    assert bool(told) is bool(said)
    assert said in "".join(told)
    assert step in found.regrinds[0].step


def test_a_slope_that_chance_gives_plans_no_regrinds() -> None:
    """At p = 0.05 one of twenty characteristics that do not wear would have a tool life; of these 200 none has."""
    planned, seen = 0, 0
    for seed in range(200):
        y = 50 + 0.1 * np.random.default_rng(seed).normal(size=1000)
        seen += 0 not in tool_wear(y, np.arange(1000.0)).slope_per_thousand
        try:
            tool_life(y, np.arange(1000.0), 49, 51, seed=1)
            planned += 1
        except CannotJudge:
            continue
    assert seen >= 4
    assert planned <= 1


def test_a_limit_that_some_slopes_never_reach_has_no_upper_end() -> None:
    """Of one in twenty-five slopes that the run leaves open the limit is never reached: nothing lies between two of these."""
    y = worn(wear=0.05)
    trend = sawtooth(y, STROKES, ())
    known = Remainder.of(trend, y, None, 49.0, 51.0)
    drawn = [(50.0, 1e-5, 1.0)] * 960 + [(50.0, -1e-5, 1.0)] * 40
    left = _strokes(known, 50.0, 1e-5, drawn, 1.0, 0.95)
    assert isinstance(left, Interval)
    assert left.low == left.estimate
    assert np.isinf(left.high)


def test_all_slopes_are_told_over_the_strokes_of_the_study() -> None:
    found = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600], over=100_000, unit="mm")
    assert "per 100,000 strokes" in found.statement
    assert "wear per 100,000 strokes" in str(found.table())
    own = tool_life(worn(), STROKES, 49, 51, resets=[2800, 5600], unit="mm")
    assert "per 1,000 strokes" in own.statement
    assert found.slope_per_thousand == own.slope_per_thousand
    assert "over" not in found.record()
