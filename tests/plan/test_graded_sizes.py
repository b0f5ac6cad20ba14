"""Sizes of studies of grades: the model's kappa by simulation, the chance by whole studies, what is refused."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import graded_agreement
from linestudy.plan import graded_study_size
from linestudy.results import CannotJudge


@pytest.mark.proof
def test_the_chance_is_that_of_whole_studies() -> None:
    """Sizes and errors drawn anew, graded by cutting, and put through the study itself."""
    found = graded_study_size(true_kappa=0.9, least_kappa=0.75, appraisers=1)
    rng = np.random.default_rng(5)
    cuts = np.array([-0.430727, 0.430727])  # thirds of a normal distribution
    far = rng.standard_normal(200_000)

    def kappa(sd: float) -> float:
        a = np.searchsorted(cuts, far)
        b = np.searchsorted(cuts, far + sd * np.random.default_rng(1).standard_normal(far.size))
        both = np.histogram2d(a, b, bins=(3, 3))[0] / far.size
        cost = (np.subtract.outer(np.arange(3), np.arange(3)) / 2) ** 2
        return float(1 - (both * cost).sum() / (both.sum(1) @ cost @ both.sum(0)))

    low, high = 0.01, 1.0
    for _ in range(20):
        sd = (low + high) / 2
        low, high = (sd, high) if kappa(sd) > 0.9 else (low, sd)
    passed = []
    for _ in range(80):
        # As many parts of each grade as the plan asks for.
        size = np.concatenate(
            [
                rng.choice(far[np.searchsorted(cuts, far) == grade], found.n // 3)
                for grade in range(3)
            ]
        )
        graded = np.searchsorted(cuts, size + sd * rng.standard_normal(size.size))
        table = pd.DataFrame(
            {
                "part": np.arange(size.size),
                "grade": graded,
                "reference_grade": np.searchsorted(cuts, size),
            }
        )
        study = graded_agreement(table)
        passed.append(study.kappa_with_reference["the judgement"].low >= 0.75)
    planned = next(item.chance for item in found.chances if item.n == found.n)
    # 80 studies: three standard errors are thirteen points.
    assert np.mean(passed) == pytest.approx(planned, abs=0.13)
    assert planned >= 0.8


@pytest.mark.proof
def test_more_is_asked_of_more_people_and_of_a_bound() -> None:
    def parts(**more: object) -> int:
        return graded_study_size(true_kappa=0.93, least_kappa=0.75, **more).n  # type: ignore[arg-type]

    assert parts(appraisers=1, decide_on="estimate") <= parts(appraisers=1) <= parts(appraisers=4)


def test_what_is_refused() -> None:
    with pytest.raises(CannotJudge, match="does not lie above"):
        graded_study_size(true_kappa=0.7, least_kappa=0.75)
    with pytest.raises(CannotJudge, match="More than 40 parts"):
        graded_study_size(true_kappa=0.8, least_kappa=0.75, largest=40)
    with pytest.raises(ValueError, match="sum 1"):
        graded_study_size(shares=(0.5, 0.2, 0.2))


@pytest.mark.proof
def test_it_says_what_it_found() -> None:
    found = graded_study_size(
        true_kappa=0.95, least_kappa=0.75, shares=(0.5, 0.3, 0.2), appraisers=2
    )
    assert f"{found.n} parts in 3 grades" in found.statement
    assert found.figure() is not None
