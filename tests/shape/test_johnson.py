"""Johnson by quantiles and by moments: members of the systems are recovered."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.results import CannotJudge
from linestudy.shape import fit, johnson_by_moments, johnson_by_quantiles

MEMBERS = {
    "Johnson S_U": stats.johnsonsu(0.6, 1.6, 5.0, 0.3),
    "Johnson S_B": stats.johnsonsb(0.4, 1.2, 5.0, 2.0),
}


@pytest.mark.checks(
    "Johnson curves by quantiles", source="Slifker & Shapiro, Technometrics 22 (1980), formulas"
)
@pytest.mark.parametrize("family", sorted(MEMBERS))
def test_by_quantiles_is_exact_on_exact_quantiles(family: str) -> None:
    # With the quantiles of a member as values, the closed forms of Slifker & Shapiro give it back.
    n = 20_001
    y = MEMBERS[family].ppf((np.arange(1, n + 1) - 0.5) / n)
    found = johnson_by_quantiles(y)
    assert found.family == family
    gamma, delta, xi, scale = MEMBERS[family].args
    assert list(found.parameters.values()) == pytest.approx([gamma, delta, xi, scale], rel=1e-3)


@pytest.mark.parametrize("sign", [1, -1])
def test_by_quantiles_finds_the_lognormal_either_way_round(sign: int) -> None:
    n = 20_001
    y = 5 + sign * stats.lognorm(0.4, 0, 0.3).ppf((np.arange(1, n + 1) - 0.5) / n)
    found = johnson_by_quantiles(np.sort(y))
    assert found.family == "Johnson S_L"
    assert list(found.parameters.values()) == pytest.approx([5.0, sign * 0.3, 2.5], rel=2e-3)


@pytest.mark.parametrize("family", sorted(MEMBERS))
def test_by_moments_has_the_moments_of_the_values(family: str) -> None:
    y = MEMBERS[family].rvs(3000, random_state=np.random.default_rng(2))
    found = johnson_by_moments(y)
    if found.family == family:
        q = [0.01, 0.5, 0.99]
        assert found.ppf(q) == pytest.approx(MEMBERS[family].ppf(q), abs=0.25 * np.std(y))
    p = list(found.parameters.values())
    name = "johnsonsu" if found.family == "Johnson S_U" else "johnsonsb"
    theirs = getattr(stats, name)(*p).stats(moments="mvsk")
    assert float(theirs[0]) == pytest.approx(y.mean(), abs=1e-4)
    assert float(theirs[1]) == pytest.approx(y.var(), rel=1e-3)
    assert float(theirs[2]) == pytest.approx(stats.skew(y), abs=2e-3)
    assert float(theirs[3]) == pytest.approx(stats.kurtosis(y), abs=2e-2)


@pytest.mark.parametrize("family", sorted(MEMBERS))
def test_three_ways_of_one_family_agree(family: str) -> None:
    y = MEMBERS[family].rvs(6000, random_state=np.random.default_rng(3))
    q = np.array([0.05, 0.5, 0.95])
    likelihood = fit(y, family).ppf(q)
    for other in (johnson_by_quantiles(y), johnson_by_moments(y)):
        assert other.ppf(q) == pytest.approx(likelihood, abs=0.06 * np.std(y))


@pytest.mark.parametrize("by", [johnson_by_moments, johnson_by_quantiles])
def test_what_cannot_be_done_is_said(by) -> None:
    with pytest.raises(CannotJudge):
        by([1.0] * 30)
    with pytest.raises(CannotJudge, match="at least 20"):
        by([1.0, 2.0, 3.0])
