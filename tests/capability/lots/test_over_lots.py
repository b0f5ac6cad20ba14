"""Intervals of indices and rates where readings come from a few lots."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import process_capability
from linestudy.results import Interval
from linestudy.shape import fit

LOT = np.repeat(np.arange(3), 20)


def readings(ratio: float, seed: int = 11) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return ratio * np.array([-1.0, 0.2, 0.8])[LOT] + rng.normal(size=60)


def test_three_lots_that_differ_bound_next_to_nothing() -> None:
    y = readings(1.0)
    alone, over = (process_capability(y, -7.0, 7.0, target=0.5, lots=lots) for lots in ((), [LOT]))
    for name in ("Ppk", "Pp", "Cpm"):
        plain, wide = getattr(alone, name), getattr(over, name)
        assert isinstance(wide, Interval)
        assert wide.estimate == plain.estimate
        assert wide.low < 0.6 * plain.low
        assert wide.high == pytest.approx(plain.high, rel=0.3)
    assert float(over.lower_bounds["Ppk"]) < 0.6 * over.Ppk.estimate
    for side in ("below", "above", "total"):
        assert over.expected_ppm[side].high > 10 * alone.expected_ppm[side].high
    assert any("3 lots" in note for note in over.cautions)


def test_many_alike_lots_cost_next_to_nothing() -> None:
    y = np.random.default_rng(12).normal(size=4000)
    alone, over = (
        process_capability(y, -5.0, 5.0, lots=lots) for lots in ((), [np.arange(4000) // 100])
    )
    assert over.Ppk.low == pytest.approx(alone.Ppk.low, rel=0.01)
    assert over.Ppk.high == pytest.approx(alone.Ppk.high, rel=0.01)


def test_another_family_adds_its_own_doubt() -> None:
    y = np.exp(0.25 * readings(1.0))
    fitted = fit(y, "lognormal", with_covariance=True)
    alone, over = (
        process_capability(y, None, 4.0, fitted=fitted, lots=lots) for lots in ((), [LOT])
    )
    assert over.Ppk.low < alone.Ppk.low
    assert over.expected_ppm["total"].high > alone.expected_ppm["total"].high
    assert over.expected_ppm["below"].high == 0.0


def test_a_few_clumps_hardly_show_the_shape() -> None:
    # Ten lots between which four fifths of the variance lie are worth about 15 values (design effect, Kish 1965).
    rng = np.random.default_rng(5)
    lot = np.repeat(np.arange(10), 20)
    z = (2 * rng.normal(size=10)[lot] + rng.normal(size=200)) / 5**0.5
    y = np.exp(0.25 * z)
    fitted = fit(y, "lognormal", with_covariance=True)
    over = process_capability(y, None, 4.0, fitted=fitted, lots=[lot])
    worth = process_capability(y, None, 4.0, fitted=fitted, n_eff_mean=12.0, n_eff_sd=15.0)
    assert over.Ppk.low < 1.15 * worth.Ppk.low
    assert over.Ppk.high > 0.85 * worth.Ppk.high
    normal = process_capability(y, None, 4.0, lots=[lot])
    assert over.Ppk.high / over.Ppk.low > normal.Ppk.high / normal.Ppk.low


def test_serial_correlation_is_not_counted_twice() -> None:
    y = readings(1.0)
    wide = process_capability(y, -7.0, 7.0, n_eff_mean=3.0, n_eff_sd=6.0)
    both = process_capability(y, -7.0, 7.0, n_eff_mean=3.0, n_eff_sd=6.0, lots=[LOT])
    lots = process_capability(y, -7.0, 7.0, lots=[LOT])
    assert both.Ppk.low == pytest.approx(min(wide.Ppk.low, lots.Ppk.low))


def test_lots_of_another_length_are_refused() -> None:
    with pytest.raises(ValueError, match="lots"):
        process_capability(readings(1.0), -7.0, 7.0, lots=[LOT[:30]])
