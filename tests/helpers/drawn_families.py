"""Values of every family of distributions, drawn from one of its members."""

from __future__ import annotations

import numpy as np
from scipy import stats

from linestudy.shape.families import FAMILIES, MIXTURE


def values_of_every_family(rng: np.random.Generator, n: int) -> dict[str, np.ndarray]:
    """Values by family, drawn in the order of the families."""
    return {
        "normal": rng.normal(5.0, 0.3, n),
        "logistic": rng.logistic(5.0, 0.3, n),
        "largest extreme value": rng.gumbel(5.0, 0.3, n),
        "half-normal": np.abs(rng.normal(0, 0.3, n)),
        "Rayleigh": rng.rayleigh(0.3, n),
        "folded normal": np.abs(rng.normal(0.4, 0.3, n)),
        "lognormal": rng.lognormal(-1.0, 0.4, n),
        "gamma": rng.gamma(3.0, 0.2, n),
        "Weibull": 0.4 * rng.weibull(1.8, n),
        "gamma with threshold": 5.0 + rng.gamma(4.0, 0.1, n),
        "lognormal with threshold": 5.0 + rng.lognormal(-1.0, 0.5, n),
        "Weibull with threshold": 5.0 + 0.4 * rng.weibull(2.4, n),
        "Johnson S_L": 5.0 - rng.lognormal(-1.0, 0.35, n),
        "Johnson S_U": stats.johnsonsu(0.6, 1.6, 5.0, 0.3).rvs(n, random_state=rng),
        "Johnson S_B": stats.johnsonsb(0.4, 1.2, 5.0, 2.0).rvs(n, random_state=rng),
        "Box-Cox normal": (1 + 0.3 * 0.5 * rng.normal(size=n)) ** 2,
        "Yeo-Johnson normal": 5.0 + 0.3 * rng.gamma(6, 1, n),
        MIXTURE: np.concatenate([rng.normal(5, 0.2, n // 2), rng.normal(6, 0.3, n - n // 2)]),
    }


def bound_of(family: str) -> float | None:
    """Bound that a family needs; zero where it has one."""
    return 0.0 if FAMILIES[family].from_bound else None
