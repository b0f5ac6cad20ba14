"""Random numbers hang on seed and purpose alone."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import kstest, pearsonr

from linestudy.numerics import generator


def test_the_same_seed_and_purpose_give_the_same_numbers() -> None:
    assert generator(3, "a", "b").random(5).tolist() == generator(3, "a", "b").random(5).tolist()
    assert generator(None, "a").random(5).tolist() == generator(None, "a").random(5).tolist()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ((1, "a"), (2, "a")),
        ((1, "a"), (1, "b")),
        ((1, "a", "b"), (1, "ab")),
        ((1, "a"), (None, "a")),
    ],
)
def test_another_seed_or_purpose_gives_others(one: tuple, other: tuple) -> None:
    a, b = generator(*one).random(4000), generator(*other).random(4000)
    assert not np.isin(a, b).any()
    assert abs(pearsonr(a, b).statistic) < 4 / np.sqrt(4000)


def test_they_are_even_between_purposes() -> None:
    # First numbers of many purposes: as even as numbers of one stream (SciPy's test of Kolmogorov and Smirnov).
    first = [generator(7, "purpose", str(i)).random() for i in range(2000)]
    assert kstest(first, "uniform").pvalue > 0.001
