"""Accepted answers of the exercises with a number, worked out a second time with SciPy or by drawing, and mistakes refused.

The exercises on mixtures, destroyed parts, counts and ranges are worked out in tests/simulate/exercises.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import integrate, stats

from linestudy.simulate import check

pytestmark = pytest.mark.proof


def cpk_over_ppk(serial: float, size: int = 5) -> float:
    """Of an autoregression: the variance within a subgroup lacks the mean correlation of its pairs."""
    pairs = [serial ** (j - i) for i in range(size) for j in range(i + 1, size)]
    return float(1 / np.sqrt(1 - np.mean(pairs)))


def sorted_index(limit: float) -> float:
    return limit / (3 * float(stats.truncnorm(-limit, limit).std()))


def good_parts_rejected(share: float, index: float) -> float:
    """Per million: the part is inside and its reading is not, integrated over the part."""
    half, gauge = 3 * index, share * index

    def outside(x: float) -> float:
        read = stats.norm(x, gauge)
        return float(stats.norm.pdf(x) * (read.sf(half) + read.cdf(-half)))

    points = [-half + gauge, half - gauge]
    return 1e6 * float(integrate.quad(outside, -half, half, points=points, limit=500)[0])


def least_share() -> float:
    return next(p for p in range(5, 60, 5) if good_parts_rejected(p / 100, 1.33) > 100)


def low_end_of_ndc(trials: int) -> float:
    """Draw crossed studies and analyse them by the mean squares of AIAG MSA (interaction kept)."""
    rng = np.random.default_rng(5)
    k, p, a = 20_000, 10, 3
    x = (
        5.0 * rng.standard_normal((k, p, 1, 1))
        + 0.6 * rng.standard_normal((k, 1, a, 1))
        + rng.standard_normal((k, p, a, trials))
    )
    cells, parts, people, mean = x.mean(3), x.mean((2, 3)), x.mean((1, 3)), x.mean((1, 2, 3))
    part = a * trials * ((parts - mean[:, None]) ** 2).sum(1) / (p - 1)
    person = p * trials * ((people - mean[:, None]) ** 2).sum(1) / (a - 1)
    crossed = cells - parts[:, :, None] - people[:, None, :] + mean[:, None, None]
    both = trials * (crossed**2).sum((1, 2)) / ((p - 1) * (a - 1))
    error = ((x - cells[..., None]) ** 2).sum((1, 2, 3)) / (p * a * (trials - 1))
    # An interaction that is not significant at 25 % is pooled with the error.
    pooled = stats.f.sf(both / error, (p - 1) * (a - 1), p * a * (trials - 1)) > 0.25
    df = ((p - 1) * (a - 1), p * a * (trials - 1))
    rest = np.where(pooled, (df[0] * both + df[1] * error) / sum(df), error)
    against = np.where(pooled, rest, both)
    v_both = np.where(pooled, 0.0, np.maximum((both - error) / trials, 0))
    v_person = np.maximum((person - against) / (p * trials), 0)
    v_part = np.maximum((part - against) / (a * trials), 0)
    ndc = 1.41 * np.sqrt(v_part / (v_person + v_both + rest))
    return float(np.quantile(ndc, 0.05))


def folded_off() -> float:
    """Per cent by which mean and SD misjudge a folded normal of a true Ppk 1.50."""
    law = stats.foldnorm(0.5)
    median, high = law.ppf([0.5, 0.99865])
    limit = median + 1.5 * (high - median)
    return float(100 * ((limit - law.mean()) / (3 * law.std()) / 1.5 - 1))


def shown(n: int, true: float) -> float:
    """Probability that the lower 95 % bound of an index with one limit lies above 1.67."""
    scale = 3 * np.sqrt(n)
    least = stats.nct.ppf(0.95, n - 1, 1.67 * scale)
    return float(stats.nct.sf(least, n - 1, true * scale))


#: Lab, exercise, the answer by other means, and answers that a mistake leads to.
WORKED_OUT: list[tuple[str, int, Callable[[], float], tuple[float, ...]]] = [
    ("interval", 1, lambda: float(stats.binom(200, 0.05).mean()), (5, 190)),
    # Half the width of the interval of an SD: its relative half width goes with one over the root of 2 (n - 1).
    ("interval", 2, lambda: (1 / 0.5) ** 2, (2, 0.25, 8)),
    ("neighbours", 1, lambda: cpk_over_ppk(0.95), (1 / cpk_over_ppk(0.95), 1.0, 10.4)),
    ("neighbours", 2, lambda: cpk_over_ppk(0.0), (cpk_over_ppk(0.95), 0.0)),
    ("sorted", 1, lambda: 1.5 / 3, (sorted_index(1.5), 1.5)),
    ("sorted", 2, lambda: sorted_index(1.5), (0.5, 0.4)),
    ("gauge", 1, lambda: 100 / (1 + (1 / (0.3 * 1.33)) ** 2), (30, 15.92, 0.1373, 37.06, 9)),
    ("gauge", 2, lambda: float(least_share()), (20, 30)),
    ("ndc", 1, lambda: low_end_of_ndc(3), (6.05, 9.0, 5, 3)),
    ("ndc", 2, lambda: float(low_end_of_ndc(6) - low_end_of_ndc(3) >= 1), (4, 5, 6)),
    ("bounded", 1, folded_off, (-folded_off(), 0.3228)),
    ("bounded", 2, lambda: 1.0, (2, 0)),
    ("alarms", 1, lambda: 2e4 * float(stats.norm.sf(3)), (370.4, 109, 71.7)),
    # Champ & Woodall, Technometrics 29 (1987), table 1: rules 1 to 4 together.
    ("alarms", 2, lambda: 91.75, (370.4, 4 * 370.4)),
    ("size", 1, lambda: float(next(n for n in range(80, 150) if shown(n, 2.0) >= 0.8)), (100, 125)),
    ("size", 2, lambda: 100 * shown(100, 1.67), (50, 95)),
    ("vision", 1, lambda: float(stats.norm.ppf(0.975)) * np.hypot(1.0, 0.3), (1.96, 2.548)),
    ("vision", 2, lambda: 100 / (1 + 0.3**2), (76.9, 50)),
]  # fmt: skip


@pytest.mark.parametrize(("lab", "number", "worked_out", "mistakes"), WORKED_OUT)
def test_the_answer_by_other_means_is_accepted_and_mistakes_are_not(
    lab: str, number: int, worked_out: Callable[[], float], mistakes: tuple[float, ...]
) -> None:
    answer = worked_out()
    assert check(lab, number, answer).right, answer
    for wrong in (*mistakes, 1.4 * answer + 0.5):
        assert not check(lab, number, wrong).right, wrong
