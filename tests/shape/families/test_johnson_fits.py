"""Johnson by quantiles and by moments: members of the systems are recovered."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.results import CannotJudge
from linestudy.shape import fit, johnson_by_moments, johnson_by_quantiles
from linestudy.shape.families.johnson_fits import _lognormal_kurtosis

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


@pytest.mark.checks(
    "border between Johnson's systems", source="SciPy: skewness and kurtosis of lognorm"
)
@pytest.mark.parametrize("sd", [0.1, 0.4, 0.8])
def test_the_border_is_the_lognormals_line(sd: float) -> None:
    skewness, excess = stats.lognorm(sd).stats("sk")
    assert _lognormal_kurtosis(float(skewness)) == pytest.approx(float(excess) + 3, rel=1e-9)
    assert _lognormal_kurtosis(-float(skewness)) == pytest.approx(float(excess) + 3, rel=1e-9)


@pytest.mark.parametrize("by", [johnson_by_moments, johnson_by_quantiles])
@pytest.mark.parametrize("family", sorted(MEMBERS))
def test_another_unit_changes_the_quantiles_alone(by, family: str) -> None:
    y = MEMBERS[family].rvs(400, random_state=np.random.default_rng(7))
    one, other = by(y), by(25.4 * y - 3.0)
    assert other.family == one.family
    q = [0.00135, 0.5, 0.99865]
    assert other.ppf(q) == pytest.approx(25.4 * one.ppf(q) - 3.0, rel=1e-5)
    # The mirror image has the mirrored quantiles.
    assert by(-y).ppf(q) == pytest.approx(-one.ppf(q)[::-1], rel=1e-4)


def test_the_likelihood_is_that_of_the_values_and_the_deviate_is_checked() -> None:
    y = MEMBERS["Johnson S_U"].rvs(300, random_state=np.random.default_rng(8))
    found = johnson_by_quantiles(y)
    theirs = stats.johnsonsu(*found.parameters.values())
    assert found.family == "Johnson S_U"
    assert found.loglik == pytest.approx(float(theirs.logpdf(y).sum()))
    assert found.n == 300
    with pytest.raises(ValueError, match="z"):
        johnson_by_quantiles(y, z=0.0)
