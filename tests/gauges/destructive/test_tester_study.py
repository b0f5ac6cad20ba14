"""Destructive tests with several testers: components by statsmodels, bounds that hold, designs told apart."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import destructive_grr
from linestudy.results import Absent, CannotJudge, Interval


def pulls(
    rng: np.random.Generator,
    *,
    nested: bool = False,
    testers: int = 4,
    batches: int = 6,
    n: int = 3,
    tester: float = 1.0,
    specimen: float = 2.0,
    test: float = 1.0,
) -> pd.DataFrame:
    at = np.indices((testers, batches, n)).reshape(3, -1)
    own = at[0] * batches + at[1] if nested else at[1]
    value = 80 + tester * rng.normal(size=testers)[at[0]] + 3 * rng.normal(size=own.max() + 1)[own]
    value += specimen * rng.normal(size=value.size) + test * rng.normal(size=value.size)
    return pd.DataFrame({"batch": own, "appraiser": at[0], "value": value})


def test_crossed_components_are_those_of_the_table_of_variance() -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    data = pulls(np.random.default_rng(2))
    ms = anova_lm(ols("value ~ C(batch) * C(appraiser)", data).fit())["mean_sq"].to_numpy()
    batch, tester, both, rest = ms
    found = destructive_grr(data, tolerance=60.0)
    assert (found.design, found.testers, found.batches, found.n) == ("crossed", 4, 6, 72)
    assert found.within_sd.estimate == pytest.approx(rest**0.5, rel=1e-9)
    expected = max((tester - both) / 18, 0) + max((both - rest) / 3, 0)
    assert found.tester_sd.estimate == pytest.approx(expected**0.5, rel=1e-9)
    assert found.batch_sd.estimate == pytest.approx(((batch - both) / 12) ** 0.5, rel=1e-9)
    assert found.share_most == pytest.approx(6 * found.grr_most / 60)
    assert isinstance(found.grr_sd, Absent)


def test_nested_components_are_those_of_the_table_of_variance() -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    data = pulls(np.random.default_rng(3), nested=True, tester=4.0)
    data["inner"] = data["batch"] % 6
    table = anova_lm(ols("value ~ C(appraiser) + C(appraiser):C(inner)", data).fit())
    tester, batch, rest = table["mean_sq"].to_numpy()
    found = destructive_grr(data)
    assert (found.design, found.batches) == ("nested", 24)
    assert found.tester_sd.estimate == pytest.approx(((tester - batch) / 18) ** 0.5, rel=1e-9)
    assert found.batch_sd.estimate == pytest.approx(((batch - rest) / 3) ** 0.5, rel=1e-9)
    assert isinstance(found.share_most, Absent)
    assert any("share batches" in note for note in found.cautions)


@pytest.mark.proof
@pytest.mark.parametrize("nested", [False, True])
def test_the_bounds_hold_true_grr(nested: bool) -> None:
    # True GRR is root two of tester 1 and test 1. 150 studies: 95 % within three standard errors is above 89 %.
    rng = np.random.default_rng(7)
    below = above = inside = 0
    for _ in range(150):
        data = pulls(rng, nested=nested)
        found = destructive_grr(data, specimen_sd=2.0)
        below += found.grr_least <= 2**0.5
        above += found.grr_most >= 2**0.5
        assert isinstance(found.grr_sd, Interval)
        inside += 2**0.5 in found.grr_sd
    assert min(below, above) > 0.95 * 150
    assert inside > 0.89 * 150


def test_what_is_known_of_specimens_is_taken_off() -> None:
    data = pulls(np.random.default_rng(5), tester=0.0)
    bound = destructive_grr(data, tolerance=60.0)
    known = destructive_grr(data, tolerance=60.0, specimen_sd=2.0)
    assert isinstance(known.grr_sd, Interval)
    assert isinstance(known.share_of_tolerance, Interval)
    assert known.grr_sd.estimate < bound.grr_most
    assert "specimens' own spread taken off" in known.statement
    assert "cannot separate" in bound.statement
    known.figure()
    with pytest.raises(CannotJudge, match="more than specimen and test together"):
        destructive_grr(data, specimen_sd=20.0, unit="N")
    with pytest.raises(ValueError, match="specimen_sd"):
        destructive_grr(data, specimen_sd=-1.0)


def test_what_cannot_be_judged() -> None:
    data = pulls(np.random.default_rng(6))
    with pytest.raises(CannotJudge, match="One tester"):
        destructive_grr(data[data["appraiser"] == 0])
    with pytest.raises(CannotJudge):
        destructive_grr(data.drop_duplicates(["batch", "appraiser"]))
    with pytest.raises(CannotJudge):
        destructive_grr(data[data["batch"] == 0])


@pytest.mark.parametrize(
    ("levels", "design"), [('["Batch"]', "crossed"), ('["Tester", "Batch"]', "nested")]
)
def test_testers_of_a_folder(tmp_path: Path, levels: str, design: str) -> None:
    from linestudy import open_study, read
    from linestudy.gauges import evaluate

    data = pulls(np.random.default_rng(8))
    lines = [f"{r.appraiser},{r.batch},{r.value:.2f}" for r in data.itertuples()]
    (tmp_path / "pull.csv").write_text("\n".join(["Tester,Batch,Force", *lines]) + "\n")
    (tmp_path / "study.toml").write_text(
        'format = 1\n[study]\ntitle = "t"\npart = "p"\n[[characteristic]]\nid = "pull"\nname = "Pull"\nunit = "N"\n'
        'lower = 60.0\nupper = 120.0\n[[gauge]]\nid = "puller"\nname = "Puller"\n[[data]]\nrole = "nested"\n'
        'gauge = "puller"\nfile = "pull.csv"\ncolumns = { pull = "Force" }\nappraiser = "Tester"\n'
        f"levels = {levels}\n"
    )
    study = open_study(tmp_path)
    found = evaluate(study, read(study)).get("pull", "gauges", "puller", "destructive")
    assert found.design == design
    assert found.share_most == pytest.approx(6 * found.grr_most / 60)


def test_batches_that_scatter_unequally_are_told() -> None:
    rng = np.random.default_rng(4)
    batch, tester, _ = (at.ravel() for at in np.indices((6, 3, 4)))
    alarms = 0
    for _ in range(60):
        even = pd.DataFrame(
            {"batch": batch, "appraiser": tester, "value": 80 + rng.normal(0, 2, 72)}
        )
        alarms += any("scatter more" in note for note in destructive_grr(even).cautions)
    assert alarms <= 4
    uneven = even.assign(value=80 + rng.normal(0, 1, 72) * (1 + 2.0 * batch))
    assert any("not equally homogeneous" in note for note in destructive_grr(uneven).cautions)


@pytest.mark.checks("spread within batches with the freedom its tails leave", source="R, qchisq")
def test_the_spread_within_batches_against_r() -> None:
    folder = Path(__file__).parents[1] / "reference"
    known = json.loads((folder / "people.json").read_text(encoding="utf-8"))["within_batches"]
    data = pd.read_csv(folder / "crossed_even.csv")
    within = destructive_grr(data.rename(columns={"part": "batch", "who": "appraiser"})).within_sd
    found = (within.estimate, within.low, within.high)
    assert found == pytest.approx(tuple(known.values()), rel=1e-8)
