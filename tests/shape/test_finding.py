"""The finding of the distribution: record, statement, pictures."""

from __future__ import annotations

import json

import numpy as np
import pytest

from linestudy.results import Absent, CannotJudge
from linestudy.shape import select_distribution

RNG = np.random.default_rng(12)


def test_the_finding_records_states_and_draws() -> None:
    study = select_distribution(np.abs(RNG.normal(0, 1, 400)), bound=0.0, unit="mm", refits=19)
    record = study.record()
    assert json.dumps(record, allow_nan=False)
    assert set(record["quantiles"]) == {"0.00135", "0.5", "0.99865"}
    assert set(record["families"][0]) >= {"family", "parameters", "aic", "anderson_darling", "p"}
    own = next(item for item in study.families if item.family == study.chosen.family)
    assert isinstance(own.p, float | Absent)
    assert study.statement.endswith("mm.")
    assert study.figure().alt_text


def test_every_candidate_has_its_ppm_and_departure_is_a_size() -> None:
    y = 0.58 + np.random.default_rng(7).gamma(7, 0.0034, 20_000)
    study = select_distribution(y, lower=0.56, upper=0.66, refits=0, unit="mm")
    from scipy.stats import gamma

    truth = 1e6 * gamma(7, 0.58, 0.0034).sf(0.66)
    ppm = {item.family: item.expected_ppm for item in study.families}
    assert ppm["gamma with threshold"] == pytest.approx(truth, rel=0.5)
    assert "expected (ppm)" in study.shown()
    assert any("in any share of parts" in note and "ppm" in note for note in study.cautions)
    assert study.candidates_figure().alt_text
    assert isinstance(select_distribution(y[:200], refits=0).families[0].expected_ppm, Absent)


def test_candidates_side_by_side_need_limits() -> None:
    with pytest.raises(CannotJudge, match="no limit"):
        select_distribution(RNG.normal(5, 1, 100), refits=0).candidates_figure()
