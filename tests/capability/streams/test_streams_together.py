"""What streams make together: quantiles of a known mixture, and intervals that stay sensible where streams overlap."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from linestudy.capability import process_capability
from linestudy.capability.streams.streams_together import StreamMixture
from linestudy.shape import fit
from linestudy.shape.families import MIXTURE


def mixture(means: list[float], sds: list[float], n: int, seed: int = 1) -> tuple:
    rng = np.random.default_rng(seed)
    values = [rng.normal(m, s, n) for m, s in zip(means, sds, strict=True)]
    fits = [fit(y, "normal", with_covariance=True) for y in values]
    return StreamMixture.of(fits, values), np.concatenate(values)


@pytest.mark.checks("quantiles of a mixture of known shares", source="SciPy: norm.cdf, brentq")
def test_quantiles_are_the_roots_of_the_mixed_distribution_function() -> None:
    item, _ = mixture([0, 1.2, 4], [1, 0.5, 2], 500)
    parts = [one.parameters for one in item.components]

    def cdf(x: float) -> float:
        return float(np.mean([norm.cdf(x, p["mean"], p["sd"]) for p in parts]))

    for q in (0.00135, 0.5, 0.99865):
        root = brentq(lambda x, q=q: cdf(x) - q, -20, 30, xtol=1e-12)
        assert float(item.ppf(q)) == pytest.approx(root, abs=1e-7)


def test_shares_are_those_counted() -> None:
    rng = np.random.default_rng(2)
    values = [rng.normal(size=300), rng.normal(size=100)]
    item = StreamMixture.of([fit(y, "normal") for y in values], values)
    assert item.shares == (0.75, 0.25)
    assert item.n == 400
    drawn = item.rvs(1000, np.random.default_rng(1))
    assert drawn.shape == (1000,)


def test_overlapping_streams_have_a_narrow_interval() -> None:
    """Four streams, one 1.2 SD off: sought in the pooled values the mixture's interval was 0.6 to 4.6."""
    item, y = mixture([0, 0, 0, 1.2], [1, 1, 1, 1], 5000)
    found = process_capability(y, -6, 6.5, fitted=item, seed=1)
    assert 1.783 in found.Ppk
    assert found.Ppk.high - found.Ppk.low < 0.12
    assert found.lower_bounds["Ppk"] < found.Ppk.estimate
    assert found.expected_ppm["total"].low > 0


def test_a_stream_whose_level_changed_half_way_has_an_index() -> None:
    """A mixture within the mixture: one lane repaired half way, described by two normals."""
    rng = np.random.default_rng(4)
    whole, repaired = rng.normal(0, 1, 2000), rng.normal(np.repeat([0.0, 4.0], 1000), 1)
    fits = [fit(whole, "normal"), fit(repaired, MIXTURE)]
    item = StreamMixture.of(
        [
            fit(y, one.family, with_covariance=True)
            for one, y in zip(fits, (whole, repaired), strict=True)
        ],
        [whole, repaired],
    )
    found = process_capability(np.concatenate([whole, repaired]), -6, 10, fitted=item, seed=1)
    # A quarter of all parts about 4: 0.135 % of all are 0.54 % of them.
    high = brentq(lambda x: 0.75 * norm.sf(x) + 0.25 * norm.sf(x, 4) - 0.00135, 0, 12)
    middle = brentq(lambda x: 0.75 * norm.sf(x) + 0.25 * norm.sf(x, 4) - 0.5, 0, 12)
    low = brentq(lambda x: 0.75 * norm.cdf(x) + 0.25 * norm.cdf(x, 4) - 0.00135, -12, 0)
    assert min((10 - middle) / (high - middle), (middle + 6) / (middle - low)) in found.Ppk


def test_the_same_seed_gives_the_same_interval() -> None:
    item, y = mixture([0, 0.5], [1, 1], 300)
    one, two = (process_capability(y, -4, 5, fitted=item, seed=3) for _ in range(2))
    assert one.Ppk == two.Ppk
