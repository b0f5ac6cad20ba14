"""Equal spread of stations against the formula by hand, and on runs of known truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2, f_oneway, norm, rankdata

from linestudy.results import CannotJudge
from linestudy.stability import equal_spread


@pytest.mark.checks(
    "Fligner-Killeen test", source="Conover, Johnson & Johnson, Technometrics 23 (1981), formula"
)
def test_the_test_is_fligner_and_killeens_formula() -> None:
    # Fligner & Killeen (1976) as in Conover, Johnson & Johnson (1981), written out.
    rng = np.random.default_rng(2)
    y = rng.normal(size=90) * np.tile([1.0, 1.5, 1.0], 30)
    station = np.tile(list("abc"), 30)
    study = equal_spread(y, station)
    groups = [y[station == name] for name in "abc"]
    away = np.concatenate([np.abs(g - np.median(g)) for g in groups])
    score = norm.ppf(0.5 + rankdata(away) / (2 * (away.size + 1)))
    means = score.reshape(3, 30).mean(axis=1)
    wanted = 30 * ((means - score.mean()) ** 2).sum() / score.var(ddof=1)
    assert study.statistic == pytest.approx(wanted, rel=1e-9)
    assert study.p == pytest.approx(chi2.sf(wanted, 2), rel=1e-9)
    # Levene's test about medians (Brown & Forsythe 1974) is an analysis of variance of the same distances.
    assert study.levene_p == pytest.approx(f_oneway(*away.reshape(3, 30)).pvalue, rel=1e-9)
    assert study.sd["b"] == pytest.approx(groups[1].std(ddof=1))


@pytest.mark.proof
def test_levels_and_heavy_tails_are_no_spread() -> None:
    rng = np.random.default_rng(3)
    station = np.tile(["a", "b"], 100)
    found = [
        equal_spread(rng.standard_t(3, 200) + 5 * (station == "b"), station).p < 0.05
        for _ in range(400)
    ]
    assert 0.01 < np.mean(found) < 0.10
    wide = equal_spread(
        rng.normal(size=400) * np.tile([1.0, 2.0], 200), np.tile(["a", "b"], 200), unit="mm"
    )
    assert "stations differ" in wide.statement
    assert wide.figure().alt_text == wide.alt_text
    assert wide.table()["SD (mm)"].tolist() == list(wide.sd.values())


def test_what_cannot_be_judged() -> None:
    with pytest.raises(CannotJudge, match="Of 1 stations"):
        equal_spread(np.arange(50.0), ["a"] * 50)
    with pytest.raises(ValueError, match="values has 50 entries and station 49"):
        equal_spread(np.arange(50.0), ["a"] * 49)
