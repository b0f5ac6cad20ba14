"""Processes of stations and processes that move: what is drawn has the quantiles and the correlation it is said to have."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.simulate.operating.moving import moving, stations
from linestudy.simulate.operating.truth import SMALL, Truth

STATIONS = {truth.name: truth for truth in stations()}
MOVING = {truth.name: truth for truth in moving()}


def share_beyond(truth: Truth, runs: int, n: int = 5000) -> np.ndarray:
    """Share of parts below and above the stated outer quantiles, over many runs."""
    rng = np.random.default_rng(1)
    low, middle, high = truth.quantiles
    found = np.zeros(3)
    for _ in range(runs):
        y, _ = truth.draw(rng, np.arange(n))
        found += [(y < low).mean(), (y < middle).mean(), (y > high).mean()]
    return found / runs


@pytest.mark.parametrize("name", [n for n in STATIONS if n.endswith("not named")])
def test_stations_that_nobody_named_have_the_quantiles_of_all_together(name: str) -> None:
    below, middle, above = share_beyond(STATIONS[name], 40)
    # 200,000 parts: 270 beyond each, with a standard error of 6 %.
    assert (below, above) == (pytest.approx(0.00135, rel=0.25), pytest.approx(0.00135, rel=0.25))
    assert middle == pytest.approx(0.5, abs=0.005)


@pytest.mark.parametrize(
    "name", [n for n in STATIONS if n.endswith(("apart, named", "off, named"))]
)
def test_the_worst_named_station_has_the_index(name: str) -> None:
    truth = STATIONS[name]
    lower, upper = truth.limits(1.67)
    assert lower is not None
    y, tags = truth.draw(np.random.default_rng(2), np.arange(40_000))
    worst = min(
        min(upper - y[tags["stream"] == s].mean(), y[tags["stream"] == s].mean() - lower)
        / (3 * y[tags["stream"] == s].std())
        for s in np.unique(tags["stream"])
    )
    assert worst == pytest.approx(1.67, rel=0.03)
    assert len(np.unique(tags["stream"])) == int(name.split()[0])


@pytest.mark.parametrize(
    "name",
    [
        "sawtooth of 4 SD, regrinds named",
        "slow sine of 1.5 SD",
        "spread doubles half way",
        "spread varies from subgroup to subgroup",
    ],
)
def test_what_moves_has_its_quantiles_in_the_long_run(name: str) -> None:
    below, middle, above = share_beyond(MOVING[name], 60, 6000)
    assert (below, above) == (pytest.approx(0.00135, rel=0.25), pytest.approx(0.00135, rel=0.25))
    assert middle == pytest.approx(0.5, abs=0.02)


@pytest.mark.parametrize("rho", [0.3, 0.9])
@pytest.mark.parametrize("step", [1, 7])
def test_an_autoregression_correlates_by_its_power_at_any_distance(rho: float, step: int) -> None:
    strokes = np.arange(0, 20_000 * step, step)
    if step > 1:
        strokes = strokes[:6000]
    y, _ = MOVING[f"AR(1), {rho:g}"].draw(np.random.default_rng(3), strokes)
    assert y.std() == pytest.approx(1.0, abs=0.12)
    assert np.corrcoef(y[1:], y[:-1])[0, 1] == pytest.approx(rho**step, abs=0.05)


def test_a_named_regrind_is_the_first_part_after_it() -> None:
    truth = MOVING["sawtooth of 4 SD, regrinds named"]
    strokes = np.arange(6000)
    for seed in range(5):
        _, tags = truth.draw(np.random.default_rng(seed), strokes)
        rng = np.random.default_rng(seed)
        begin = rng.random() * 1500
        level = 4.0 * (((strokes + begin) % 1500) / 1500 - 0.5)
        falls = np.flatnonzero(np.diff(level) < 0) + 1
        assert list(tags["resets"]) == [float(s) + 1 for s in falls]  # order numbers count from one
    assert (
        MOVING["sawtooth of 4 SD, regrinds not named"].draw(np.random.default_rng(0), strokes)[1]
        == {}
    )


def test_coils_have_levels_of_their_own_and_one_as_wide_as_the_parts() -> None:
    truth = MOVING["coil levels of 1 SD, named"]
    rng = np.random.default_rng(4)
    levels, within = [], []
    for _ in range(30):
        y, tags = truth.draw(rng, np.arange(5000))
        coils = [y[tags["coil"] == c] for c in np.unique(tags["coil"])]
        assert len(coils) == 20
        levels += [c.mean() for c in coils]
        within += [c.var() for c in coils]
    assert np.std(levels) == pytest.approx(1.0, rel=0.1)
    assert np.mean(within) == pytest.approx(1.0, rel=0.02)


def test_only_what_is_in_control_is_called_so_and_small_movements_are_asked_no_rate() -> None:
    assert [n for n, t in MOVING.items() if t.in_control] == [
        "AR(1), 0.3",
        "sawtooth of 4 SD, regrinds named",
    ]
    assert all(t.in_control == (t.kind == "in control") for t in MOVING.values())
    assert {n for n, t in MOVING.items() if t.kind == SMALL} >= {
        "one step of 0.25 SD",
        "slow sine of 1 SD",
        "AR(1), 0.45",
    }
    assert len(MOVING) == len(moving())  # names are different
