"""Outside checks of stability, shape and capability; see ``cases.py``."""

from __future__ import annotations

import numpy as np
from linestudy_published_cases import Case

EWMA = "Lucas & Saccucci, Technometrics 32 (1990)"


def spread(limits: tuple[float, float], sd: float, n: int, end: str) -> float:
    from linestudy.capability import cp

    return float(getattr(cp(sd, df=n - 1, lower=limits[0], upper=limits[1]), end))


def none_in_59() -> float:
    from linestudy.capability import zero_failure_bound

    return zero_failure_bound(59) / 1e4


def stability() -> list[Case]:
    from linestudy.stability.charts.ewma_cusum import cusum_run_length, ewma_run_length
    from linestudy.stability.charts.run_lengths import average_run_length

    champ = "Champ & Woodall, Technometrics 29 (1987), table 1"
    return [
        Case(
            "stability",
            "three-sigma mean chart, run length without a shift",
            "every textbook",
            "370.4",
            lambda: average_run_length("three sigma"),
        ),
        Case(
            "stability",
            "Western Electric's four rules, no shift",
            champ,
            "91.75",
            lambda: average_run_length("Western Electric 1956"),
        ),
        Case(
            "stability",
            "Western Electric's four rules, shift 1",
            champ,
            "9.22",
            lambda: average_run_length("Western Electric 1956", 1.0),
        ),
        Case(
            "stability",
            "Western Electric's four rules, shift 2",
            champ,
            "3.13",
            lambda: average_run_length("Western Electric 1956", 2.0),
        ),
        Case(
            "stability",
            "CUSUM k 0.5, h 4, no shift",
            "published tables",
            "168",
            lambda: cusum_run_length(0.5, 4.0, 0.0),
        ),
        Case(
            "stability",
            "CUSUM k 0.5, h 5, no shift",
            "published tables",
            "465",
            lambda: cusum_run_length(0.5, 5.0, 0.0),
        ),
        Case(
            "stability",
            "CUSUM k 0.5, h 4, shift 1",
            "published tables",
            "8.38",
            lambda: cusum_run_length(0.5, 4.0, 1.0),
        ),
        Case(
            "stability",
            "CUSUM k 0.5, h 5, shift 1",
            "published tables",
            "10.4",
            lambda: cusum_run_length(0.5, 5.0, 1.0),
        ),
        Case(
            "stability",
            "EWMA 0.1, L 2.814, no shift",
            EWMA,
            "500",
            lambda: ewma_run_length(0.1, 2.814, 0.0),
        ),
        Case(
            "stability",
            "EWMA 0.1, L 2.814, shift 1",
            EWMA,
            "10.3",
            lambda: ewma_run_length(0.1, 2.814, 1.0),
        ),
    ]


def shape() -> list[Case]:
    from linestudy.shape.goodness import null_statistics

    def quantile(share: float) -> float:
        # Stephens' factor takes a sample of n to the table, which is that of very many.
        n = 50
        factor = 1 + 0.75 / n + 2.25 / n**2
        return factor * float(np.quantile(null_statistics("normal", n, 20_000), share))

    agostino = "D'Agostino & Stephens, Goodness-of-Fit Techniques (1986), table 4.7"
    why = "ours is simulated with 20,000 samples: three standard errors are {}"
    return [
        Case(
            "shape",
            "Anderson-Darling, normal with both estimated, 5 % point",
            agostino,
            "0.752",
            lambda: quantile(0.95),
            slack=19,
            note=why.format("0.019"),
        ),
        Case(
            "shape",
            "the same, 1 % point",
            agostino,
            "1.035",
            lambda: quantile(0.99),
            slack=38,
            note=why.format("0.038"),
        ),
    ]


def capability() -> list[Case]:
    return [
        Case(
            "capability",
            "Cp of the example with limits 8 and 20",
            "NIST/SEMATECH e-Handbook 6.1.6",
            "1.0",
            lambda: spread((8, 20), 2.0, 50, "estimate"),
        ),
        Case(
            "capability",
            "Cp of 20 values, s 1.75, limits 38 and 62",
            "Montgomery, Introduction to Statistical Quality Control",
            "2.29",
            lambda: spread((38, 62), 1.75, 20, "estimate"),
        ),
        Case(
            "capability",
            "its lower 95 % limit",
            "Montgomery, the same",
            "1.57",
            lambda: spread((38, 62), 1.75, 20, "low"),
            slack=0.6,
            note="the book multiplies the rounded 2.29",
        ),
        Case(
            "capability",
            "its upper 95 % limit",
            "Montgomery, the same",
            "3.01",
            lambda: spread((38, 62), 1.75, 20, "high"),
        ),
        Case(
            "capability",
            "none in 59: upper 95 % limit, per cent",
            "Wilks, Annals 12 (1941): 95 % of the population with 95 % confidence",
            "5.0",
            none_in_59,
        ),
    ]


def cases() -> list[Case]:
    """All cases about the process."""
    return [*stability(), *shape(), *capability()]
