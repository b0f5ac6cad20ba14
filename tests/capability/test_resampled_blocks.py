"""Block bootstrap: theory of autoregressive series, warnings, units."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter

from linestudy.capability import block_bootstrap
from linestudy.results import CannotJudge


@pytest.mark.parametrize("phi", [0.0, 0.5, 0.8])
def test_blocks_find_the_effective_numbers_of_an_ar1(phi: float) -> None:
    # Theory: n (1 - phi) / (1 + phi) for the mean, n (1 - phi**2) / (1 + phi**2) for the variance
    # (Priestley, Spectral Analysis and Time Series, 1981, ch. 5.3).
    n, found = 20_000, []
    rng = np.random.default_rng(6)
    for seed in range(6):
        y = lfilter([1], [1, -phi], rng.normal(size=n + 200))[200:]
        check = block_bootstrap(y, -9, 9, n_eff_mean=n * (1 - phi) / (1 + phi), seed=seed)
        found.append((check.n_eff_mean, check.n_eff_sd))
    by_mean, by_spread = np.mean(found, axis=0)
    assert by_mean == pytest.approx(n * (1 - phi) / (1 + phi), rel=0.2)
    assert by_spread == pytest.approx(n * (1 - phi**2) / (1 + phi**2), rel=0.2)


def test_blocks_warn_where_independence_was_claimed() -> None:
    y = lfilter([1], [1, -0.9], np.random.default_rng(7).normal(size=10_000))
    check = block_bootstrap(y, -20, 20, block_length=200, seed=1)
    assert any("too narrow" in note for note in check.cautions)
    assert check.Ppk.low < check.Ppk.estimate < check.Ppk.high
    with pytest.raises(CannotJudge, match="blocks"):
        block_bootstrap(y, block_length=5000)


def test_blocks_do_not_mind_unit_and_shift() -> None:
    y = np.random.default_rng(8).normal(size=2000)
    first, again = (
        block_bootstrap(v, a, b, seed=1)
        for v, a, b in ((y, -5.0, 4.0), (25.4 * y + 1e4, 25.4 * -5 + 1e4, 25.4 * 4 + 1e4))
    )
    assert again.Ppk.low == pytest.approx(first.Ppk.low, rel=1e-8)
    assert again.n_eff_sd == pytest.approx(first.n_eff_sd, rel=1e-6)
