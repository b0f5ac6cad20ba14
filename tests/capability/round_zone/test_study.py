"""Position against a round zone: bonus, units, doors, a whole study."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.capability import position_capability
from linestudy.capability.round_zone.geometry import share_outside
from linestudy.results import CannotJudge

RNG = np.random.default_rng(20_26)


CENTRE = np.zeros((1, 2))


def test_bonus_widens_the_zone_part_by_part() -> None:
    x, y = RNG.normal(0, 0.02, (2, 400))
    size = RNG.uniform(1.00, 1.06, 400)
    study = position_capability(x, y, 0.1, feature_size=size, most_material=1.0, unit="mm")
    outside = 2 * np.hypot(x, y) > 0.1 + (size - 1.0)
    assert study.with_bonus.observed.outside == outside.sum()
    assert study.with_bonus.mean_bonus == pytest.approx((size - 1.0).mean())
    # Independent derivation: the Rayleigh tail, averaged over the sizes.
    scatter = np.cov(np.stack([x, y]))
    centred = share_outside(np.array([[x.mean(), y.mean()]]), scatter[None], 0.0501)[0]
    each = [
        share_outside(np.array([[x.mean(), y.mean()]]), scatter[None], (0.1 + s - 1.0) / 2)[0]
        for s in size
    ]
    assert study.with_bonus.expected_ppm.estimate == pytest.approx(1e6 * np.mean(each), rel=0.02)
    assert study.with_bonus.expected_ppm.estimate < 1e6 * centred
    pin = position_capability(x, y, 0.1, feature_size=2.0 - size, most_material=1.0, feature="pin")
    assert pin.with_bonus.observed == study.with_bonus.observed


@pytest.mark.proof
@given(
    unit=st.sampled_from([0.001, 25.4, 1000.0]),
    turn=st.floats(0, 2 * np.pi),
    mirrored=st.booleans(),
)
def test_unit_turn_and_order_do_not_matter(unit: float, turn: float, mirrored: bool) -> None:
    rng = np.random.default_rng(5)
    x, y = rng.multivariate_normal([0.01, 0.0], [[2e-4, 5e-5], [5e-5, 1e-4]], 80).T
    first = position_capability(x, y, 0.12, seed=1)
    if mirrored:
        y = -y
    turned = np.stack([np.cos(turn) * x - np.sin(turn) * y, np.sin(turn) * x + np.cos(turn) * y])
    again = position_capability(*(unit * turned[:, ::-1]), 0.12 * unit, seed=1)
    assert again.Ppk.estimate == pytest.approx(first.Ppk.estimate, rel=1e-4)
    assert again.expected_ppm.estimate == pytest.approx(first.expected_ppm.estimate, rel=1e-6)
    assert again.observed == first.observed


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"x": np.ones(5), "y": np.ones(5)}, "ten are needed"),
        ({"y": np.zeros(40)}, "two directions"),
    ],
)
def test_what_cannot_be_judged(change: dict, says: str) -> None:
    given_ = {"x": RNG.normal(size=40), "y": RNG.normal(size=40), "diameter": 5.0} | change
    with pytest.raises(CannotJudge, match=says):
        position_capability(**given_)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"diameter": 0.0}, "greater than 0"),
        ({"feature_size": np.ones(40)}, "maximum-material"),
        ({"y": np.zeros(39)}, "40 entries and y 39"),
        ({"feature": "slot"}, "Allowed are 'hole', 'pin'"),
        ({"x": np.zeros((20, 2))}, r"shape \(20, 2\)"),
    ],
)
def test_misuse_names_argument_and_what_is_allowed(change: dict, says: str) -> None:
    given_ = {"x": RNG.normal(size=40), "y": RNG.normal(size=40), "diameter": 5.0} | change
    with pytest.raises(ValueError, match=says):
        position_capability(**given_)


def test_two_cavities_are_named() -> None:
    x = np.concatenate([RNG.normal(-0.03, 0.004, 300), RNG.normal(0.03, 0.004, 300)])
    study = position_capability(x, RNG.normal(0, 0.004, 600), 0.1)
    assert any("not bivariate normal" in note for note in study.cautions)


@pytest.mark.proof
def test_a_study_with_a_position_and_a_short_run(tmp_path) -> None:
    """Two columns become one characteristic, all the way into results.json."""
    from linestudy import open_study
    from linestudy.dossier.evaluation import evaluate

    rng = np.random.default_rng(8)
    (tmp_path / "data").mkdir()
    for name, n in (("run", 600), ("machine", 100)):
        x, y = rng.normal([[10.01], [5.0]], 0.01, (2, n))
        bore = rng.normal(1.03, 0.005, n)
        rows = "\n".join(
            f"{i + 1},{a:.4f},{b:.4f},{c:.4f}"
            for i, (a, b, c) in enumerate(zip(x, y, bore, strict=True))
        )
        (tmp_path / "data" / f"{name}.csv").write_text(f"no,X,Y,Bore\n{rows}\n")
    (tmp_path / "study.toml").write_text(
        """format = 1
[study]
title = "Position"
part = "P"
[[characteristic]]
id = "place"
name = "Place of the hole"
unit = "mm"
upper = 0.1
position = { at = [10.0, 5.0], size = "bore", most_material = 1.0 }
[[characteristic]]
id = "bore"
name = "Bore"
unit = "mm"
lower = 1.0
upper = 1.06
[[gauge]]
id = "cmm"
name = "CMM"
[[data]]
role = "run"
gauge = "cmm"
file = "data/run.csv"
columns = { place = ["X", "Y"], bore = "Bore" }
order = "no"
subgroup = { size = 5, every = 20 }
[[data]]
role = "machine"
gauge = "cmm"
file = "data/machine.csv"
columns = { place = ["X", "Y"], bore = "Bore" }
order = "no"
"""
    )
    study = open_study(tmp_path)
    evaluation = evaluate(study)
    content = evaluation.results()["characteristics"]
    found = content["place"]["capability"]
    assert found["position"]["mean_x"] == pytest.approx(0.01, abs=0.002)
    assert found["position"]["with_bonus"]["mean_bonus"] == pytest.approx(0.03, abs=0.002)
    assert found["machine"]["n"] == 100
    assert content["bore"]["capability"]["machine"]["Pmk"]["estimate"] == pytest.approx(
        2.0, abs=0.4
    )
    assert not evaluation.not_evaluated()
    text = (tmp_path / "study.toml").read_text()
    (tmp_path / "study.toml").write_text(text.replace('place = ["X", "Y"]', 'place = "X"'))
    with pytest.raises(Exception, match="needs two column names"):
        open_study(tmp_path)


@pytest.mark.proof
def test_bivariate_normality_is_tested_at_its_level_and_seen_in_heavy_tails() -> None:
    # Henze & Zirkler (1990) by pingouin; common practice, no source for the level of one in a hundred.
    rng = np.random.default_rng(5)

    def flagged(draw: Callable[[tuple[int, int]], np.ndarray], runs: int, **more: Any) -> float:
        found = 0
        for _ in range(runs):
            x, y = 0.01 * draw((2, 250))
            study = position_capability(x, y, 0.2, **more)
            found += any("not bivariate normal" in note for note in study.cautions)
        return found / runs

    assert flagged(rng.standard_normal, 60) < 0.07
    assert flagged(lambda shape: rng.standard_t(3, shape), 20) > 0.7

    # Neighbours that repeat each other are no evidence: of them one in each correlation time is tested.
    def repeated(shape: tuple[int, int]) -> np.ndarray:
        return np.repeat(rng.standard_normal((shape[0], shape[1] // 10)), 10, axis=1)

    assert flagged(repeated, 40, n_eff_mean=25.0, n_eff_sd=25.0) < 0.12
