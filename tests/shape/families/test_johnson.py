"""Johnson's systems: SciPy's curves, their mirror images, and the normal distribution they straighten to."""

from __future__ import annotations

import numpy as np
import pytest
from family_checks import SHARES, assert_score_is_a_slope
from scipy import stats

from linestudy.shape.families import FAMILIES

THEIRS = {"Johnson S_U": stats.johnsonsu, "Johnson S_B": stats.johnsonsb}


@pytest.mark.checks("Johnson's curves", source="SciPy: johnsonsu, johnsonsb, lognorm")
@pytest.mark.parametrize("name", THEIRS)
@pytest.mark.parametrize(("gamma", "delta"), [(0.0, 1.0), (0.6, 1.6), (-2.0, 2.5)])
def test_it_is_scipys(name: str, gamma: float, delta: float) -> None:
    kind = FAMILIES[name]
    at = kind.coordinates([gamma, delta, 5.0, 0.3])
    assert kind.parameters(at) == pytest.approx([gamma, delta, 5.0, 0.3])
    theirs = THEIRS[name](gamma, delta, 5.0, 0.3)
    assert at[0] == pytest.approx(theirs.median())
    x = theirs.ppf(SHARES)
    assert kind.ppf(SHARES, at) == pytest.approx(x, rel=1e-10)
    assert kind.logpdf(x[1:-1], at) == pytest.approx(theirs.logpdf(x[1:-1]), rel=1e-6)
    assert kind.cdf(x, at) == pytest.approx(SHARES, rel=1e-5)
    assert kind.sf(x, at) == pytest.approx(1 - SHARES, rel=1e-5)
    assert_score_is_a_slope(kind, x[2:-2], at)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_bent_normal_is_a_lognormal_to_either_side(side: float) -> None:
    kind = FAMILIES["Johnson S_L"]
    at = kind.coordinates([5.0, side * 0.3, 2.5])
    assert kind.parameters(at) == pytest.approx([5.0, side * 0.3, 2.5])
    theirs = stats.lognorm(0.4, scale=0.3)
    x = 5.0 + side * theirs.ppf(SHARES)
    assert kind.logpdf(x, at) == pytest.approx(theirs.logpdf(side * (x - 5.0)), rel=1e-8)
    assert kind.cdf(x, at) == pytest.approx(SHARES if side > 0 else 1 - SHARES, rel=1e-6)
    # Beyond its end is nothing, on whichever side that lies.
    beyond = np.array([5.0 - side * 0.001])
    assert kind.logpdf(beyond, at)[0] == -np.inf
    assert kind.cdf(beyond, at)[0] == (0.0 if side > 0 else 1.0)
    assert_score_is_a_slope(kind, x[2:-2], at)


def test_a_bent_normal_without_a_bend_is_straight() -> None:
    kind = FAMILIES["Johnson S_L"]
    x = np.array([-2.0, 0.3, 1.5])
    for bend in (0.0, 1e-12, -1e-12):
        at = [0.5, np.log(2.0), bend]
        assert kind.logpdf(x, at) == pytest.approx(stats.norm(0.5, 2.0).logpdf(x), rel=1e-9)
        assert kind.score(x, at)[2] == pytest.approx(
            (kind.logpdf(x, [0.5, np.log(2.0), 1e-5]) - kind.logpdf(x, [0.5, np.log(2.0), -1e-5]))
            / 2e-5,
            abs=1e-8,
        )


@pytest.mark.parametrize("name", THEIRS)
def test_without_a_bend_it_is_the_normal(name: str) -> None:
    x = np.array([-2.0, 0.3, 1.5])
    found = FAMILIES[name].logpdf(x, [0.5, np.log(2.0), -9.0, 0.0])
    assert found == pytest.approx(stats.norm(0.5, 2.0).logpdf(x), abs=1e-4)


@pytest.mark.parametrize("name", ["Johnson S_L", *THEIRS])
def test_values_with_their_sign_changed_are_the_mirror_image(name: str) -> None:
    kind = FAMILIES[name]
    at = np.array([0.4, 0.1, -0.5, 0.7][: len(kind.names)])
    turned = at * np.array([-1, 1, -1, -1][: at.size])
    if at.size == 4:
        turned[2] = at[2]  # the bend has no sign here, the tilt has
    x = np.array([-0.9, 0.2, 0.6, 0.9])
    assert kind.logpdf(-x, turned) == pytest.approx(kind.logpdf(x, at))
    assert kind.cdf(-x, turned) == pytest.approx(kind.sf(x, at))


def test_between_two_bounds_lies_everything_and_beyond_them_nothing() -> None:
    kind = FAMILIES["Johnson S_B"]
    at = kind.coordinates([0.4, 1.2, 5.0, 2.0])
    with np.errstate(all="ignore"):
        assert kind.ppf(np.array([0.0, 1.0]), at) == pytest.approx([5.0, 7.0])
        assert np.isneginf(kind.logpdf(np.array([4.9, 7.1]), at)).all()
        assert kind.cdf(np.array([4.9, 7.1]), at) == pytest.approx([0.0, 1.0])
    assert kind.inside(5.1, 6.9, at)
    assert not kind.inside(4.9, 6.9, at)
    assert not kind.inside(5.1, 7.1, at)


@pytest.mark.parametrize("name", ["Johnson S_L", *THEIRS])
def test_every_start_holds_all_values(name: str) -> None:
    kind = FAMILIES[name]
    rng = np.random.default_rng(6)
    for drawn in (rng.normal(size=40), rng.gamma(0.7, size=200), -rng.exponential(size=90)):
        x = np.sort((drawn - drawn.mean()) / drawn.std())
        starts = list(kind.starts(x, np.ones(x.size)))
        assert starts
        for c in starts:
            assert np.isfinite(kind.logpdf(x, c)).all()


def test_a_straight_one_is_said_to_be_the_normal() -> None:
    kind = FAMILIES["Johnson S_L"]
    assert kind.degenerate([0.0, 0.0, 0.1]) is None
    assert "the normal" in (kind.degenerate([0.0, 0.0, 1e-4]) or "")
