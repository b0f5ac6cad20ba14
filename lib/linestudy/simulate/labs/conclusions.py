"""Labs about conclusions from data: tests of normality, parts of a gauge study, guard bands, kappa, and how often "meets" is right."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from linestudy.numerics import generator
from linestudy.simulate.labs.experiment import Experiment

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


def normality_and_size(n: int = 30, skewness: float = 0.2, seed: int = 1) -> Experiment:
    """Show how often a test of normality rejects, by number of parts and departure from normal.

    Parameters
    ----------
    n : int
        Parts in a study.
    skewness : float
        Of the gamma distribution that parts come from; 0 is the normal one.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    D'Agostino and Pearson's test at 5 % (*Biometrika* 60 (1973), 613-622), on 200 studies. The index taken as normal is
    off by what the distribution does, whatever the number of parts.

    Examples
    --------
    >>> few, many = (normality_and_size(n, 0.2).numbers["rejected"] for n in (30, 30_000))
    >>> few < 0.2 and many > 0.95
    True
    """
    from scipy import stats

    sizes = (30, 100, 300, 1_000, 3_000, 10_000, 30_000)
    rejected = _rejected(n, skewness, seed)
    over = np.array([rejected if size == n else _rejected(size, skewness, seed) for size in sizes])
    law = stats.pearson3(skewness) if skewness else stats.norm()
    # One upper limit where the index taken as normal is 1.33.
    median, high = (float(q) for q in law.ppf([0.5, 0.99865]))
    true = (3 * 1.33 - median) / (high - median)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import curves

        return curves(
            "How often is 'normal' rejected?", np.array(sizes, dtype=float), {"share of studies rejected": over},
            float(n),
            ("parts in a study", "share"), (0.0, 1.05), "x", ax=ax,
        )  # fmt: skip

    return Experiment(
        f"Parts of skewness {skewness:.2f}: with {n:,} of them the test rejects in {rejected:.0%} of studies. An index of 1.33 "
        f"taken as normal is {true:.2f} by the distribution's own quantiles, with few parts and with many.",
        {"rejected": rejected, "true index": true},
        (
            ("studies in which normality is rejected", f"{rejected:.0%}"),
            ("index taken as normal", "1.33"),
            ("index by its own quantiles", f"{true:.2f}"),
        ),
        draw=draw,
    )


def _rejected(n: int, skewness: float, seed: int) -> float:
    from scipy import stats

    rng = generator(seed, "lab", "normality", str(n))
    # Many parts are drawn in fewer studies: the share is near one then.
    studies = 200 if n <= 3_000 else 40
    if skewness:
        shape = 4 / skewness**2
        values = (rng.gamma(shape, size=(studies, n)) - shape) / math.sqrt(shape)
    else:
        values = rng.standard_normal((studies, n))
    return float(np.mean(stats.normaltest(values, axis=1).pvalue < 0.05))


def parts_that_do_not_span(spread: float = 0.2, share: float = 0.1, seed: int = 1) -> Experiment:
    """Compare ndc with %GRR of tolerance for parts that span the process and parts all alike.

    Parameters
    ----------
    spread : float
        Standard deviation of the parts in the study, over that of the process.
    share : float
        %GRR of the tolerance, as a share.
    seed : int
        Not used: the numbers are exact.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    The process has Pp = 1.33. ndc is 1.41 times part spread over gauge spread (AIAG MSA, 4th ed., ch. II section D).

    Examples
    --------
    >>> found = parts_that_do_not_span(0.2, 0.1).numbers
    >>> found["ndc"] < 5 < found["ndc of the process"]
    True
    """
    pp = 1.33
    gauge = share * pp

    def ndc(parts: float) -> float:
        return 1.41 * parts / gauge

    by_parts = np.array([ndc(each) for each in np.linspace(0.05, 2.0, 40)])

    x = np.linspace(0.05, 2.0, 40)
    total = 100 * gauge / math.hypot(gauge, spread)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import curves

        return curves(
            "What do the parts of the study do to ndc?", x,
            {"ndc": by_parts, "five are asked for": np.full(x.size, 5.0)}, spread,
            ("SD of the parts, over that of the process", "ndc"), (0.0, 30.0), ax=ax,
        )  # fmt: skip

    return Experiment(
        f"A gauge of {share:.0%} GRR of tolerance, studied with parts of {spread:.2f} times the spread of the process: "
        f"ndc = {ndc(spread):.1f} and {total:.0f} % of total variation. By the process itself ndc = {ndc(1.0):.1f}.",
        {"ndc": ndc(spread), "ndc of the process": ndc(1.0), "total variation": total},
        (
            ("%GRR of tolerance, whatever the parts", f"{share:.0%}"),
            ("ndc by the parts of the study", f"{ndc(spread):.1f}"),
            ("%GRR of total variation by those parts", f"{total:.0f} %"),
            ("ndc by the process", f"{ndc(1.0):.1f}"),
        ),
        draw=draw,
    )


def guard_band(
    band: float = 0.0, share: float = 0.2, index: float = 1.0, seed: int = 1
) -> Experiment:
    """Show what tightened limits gain and cost: bad parts accepted against good parts rejected.

    Parameters
    ----------
    band : float
        By how much each limit is drawn in, in standard deviations of the gauge.
    share : float
        %GRR of the tolerance, as a share.
    index : float
        Pp of the true values, centred.
    seed : int
        Not used: the numbers are integrals.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    Part and error of the gauge are normal and independent: consumer's and producer's risk of JCGM 106:2012, 9.

    Examples
    --------
    >>> a, b = (guard_band(k).numbers for k in (0.0, 1.0))
    >>> b["consumer"] < a["consumer"] and b["producer"] > a["producer"]
    True
    """
    half = 3 * index
    gauge = share * 2 * half / 6
    bands = np.linspace(0.0, 3.0, 31)
    risks = np.array([_risks(half, gauge, each) for each in bands])
    consumer, producer = _risks(half, gauge, band)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import curves

        return curves(
            "What does a guard band buy, and what does it cost?", bands,
            {"bad parts accepted": risks[:, 0], "good parts rejected": risks[:, 1]},
            band, ("guard band, in SD of the gauge", "per million"), (0.01, 1e6), "y", "lower left", ax=ax,
        )  # fmt: skip

    return Experiment(
        f"With the limits drawn in by {band:.2f} SD of the gauge {_count(consumer)} bad parts per million are accepted and "
        f"{_count(producer)} good ones rejected.",
        {"consumer": consumer, "producer": producer},
        (
            ("bad parts accepted, per million", _count(consumer)),
            ("good parts rejected, per million", _count(producer)),
        ),
        draw=draw,
    )


def _count(per_million: float) -> str:
    """Write parts per million: a decimal where there are few."""
    return f"{per_million:,.0f}" if per_million >= 10 else f"{per_million:.1f}"


#: Gauss and Legendre's places and weights for an integral from 0 to 1.
_NODES, _WEIGHTS = (each / 2 for each in np.polynomial.legendre.leggauss(96))
_NODES = _NODES + 0.5


@lru_cache(maxsize=512)
def _risks(half: float, gauge: float, band: float) -> tuple[float, float]:
    """Compute consumer's and producer's risk per million, for parts with SD 1."""
    from scipy.special import ndtr

    accept = half - band * gauge

    def integral(low: float, high: float, *, inside: bool) -> float:
        x = low + (high - low) * _NODES
        accepted = ndtr((accept - x) / gauge) - ndtr((-accept - x) / gauge)
        wrong = accepted if inside else 1 - accepted
        density = np.exp(-x * x / 2) / math.sqrt(2 * math.pi)
        return float((high - low) * (_WEIGHTS * density * wrong).sum())

    bad = integral(half, half + 8 * gauge, inside=True)
    # Near the limit the integrand is steep: it gets its own piece.
    near = max(half - 6 * gauge, 0.0)
    good = integral(0.0, near, inside=False) + integral(near, half, inside=False)
    return 2e6 * bad, 2e6 * good


def operating_characteristic(
    n: int = 125, required: float = 1.67, decide_on: str = "estimate", seed: int = 1
) -> Experiment:
    """Compute the chance that a study says "meets", against the true index.

    Parameters
    ----------
    n : int
        Independent parts in the study.
    required : float
        What is asked.
    decide_on : {"estimate", "lower bound"}
        What is held against it; the bound is one-sided at 95 %.
    seed : int
        Not used: the chances are exact for a normal process with one limit.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    The estimate times 3 √n follows a noncentral t distribution (R. E. Odeh & D. B. Owen, *Tables for Normal Tolerance
    Limits*, 1980), whose parameter is the true index times 3 √n.

    Examples
    --------
    >>> found = operating_characteristic(125, 1.67, "lower bound").numbers
    >>> abs(found["at required"] - 0.05) < 1e-6
    True
    """
    from scipy.stats import nct

    scale = 3 * math.sqrt(n)
    least = required
    if decide_on == "lower bound":
        # The smallest estimate whose lower bound reaches what is asked.
        least = float(nct.ppf(0.95, n - 1, scale * required)) / scale

    def chance(true: float) -> float:
        return float(nct.sf(scale * least, n - 1, scale * true))

    x = np.linspace(1.0, 2.6, 33)
    heights = np.array([chance(each) for each in x])
    at = {true: chance(true) for true in (1.33, 1.5, 2.0)}

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import curves

        return curves(
            "How often is 'meets' right?", x, {'probability of "meets"': heights}, required,
            ("true Ppk", 'probability of "meets"'), (0.0, 1.02), legend="lower right", ax=ax,
        )  # fmt: skip

    return Experiment(
        f'With {n} parts, decided on the {decide_on}, a process of true Ppk {required:g} "meets" in {chance(required):.0%} of '
        f"studies, one of 1.50 in {at[1.5]:.0%}, one of 2.00 in {at[2.0]:.0%}.",
        {"at required": chance(required), "at 1.33": at[1.33], "at 1.5": at[1.5], "at 2": at[2.0], "least": least},
        (
            ("smallest estimate that meets", f"{least:.2f}"),
            (f'probability of "meets" at a true {required:g}', f"{chance(required):.1%}"),
            ('probability of "meets" at a true 1.33', f"{at[1.33]:.1%}"),
            ('probability of "meets" at a true 1.50', f"{at[1.5]:.1%}"),
            ('probability of "meets" at a true 2.00', f"{at[2.0]:.1%}"),
        ),
        draw=draw,
    )  # fmt: skip


def kappa_of_rare_defects(
    bad_share: float = 0.05, error: float = 0.02, seed: int = 1
) -> Experiment:
    """Show how kappa falls as bad parts grow rare, for two people with equal, small error rates.

    Parameters
    ----------
    bad_share : float
        Share of bad parts among those shown.
    error : float
        Share of judgements that are wrong, of good and of bad parts alike.
    seed : int
        Not used: the numbers are exact.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    J. Cohen, *Educational and Psychological Measurement* 20 (1960), 37-46; that kappa falls with prevalence: A. R.
    Feinstein & D. V. Cicchetti, *Journal of Clinical Epidemiology* 43 (1990), 543-549.

    Examples
    --------
    >>> rare, half = (kappa_of_rare_defects(b).numbers["kappa"] for b in (0.02, 0.5))
    >>> rare < 0.5 < 0.9 < half
    True
    """
    x = np.linspace(0.01, 0.5, 50)
    agree = (1 - error) ** 2 + error**2

    def kappa(bad: float) -> float:
        called = bad * (1 - error) + (1 - bad) * error
        chance = called**2 + (1 - called) ** 2
        return (agree - chance) / (1 - chance)

    found = kappa(bad_share)
    heights = {"kappa": np.array([kappa(b) for b in x]), "agreement": np.full(x.size, agree)}

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import curves

        return curves(
            "What does the share of bad parts do to kappa?", 100 * x, heights, 100 * bad_share,
            ("bad parts among those shown, %", "kappa and share of agreement"), (0.0, 1.02), ax=ax,
        )  # fmt: skip

    return Experiment(
        f"Both are right in {1 - error:.0%} of judgements and agree in {agree:.1%}. With {bad_share:.0%} bad parts kappa is "
        f"{found:.2f}; with half of them bad it would be {kappa(0.5):.2f}.",
        {"kappa": found, "agreement": agree, "at half": kappa(0.5)},
        (
            ("judgements in which both agree", f"{agree:.1%}"),
            ("kappa", f"{found:.2f}"),
            ("kappa if half the parts were bad", f"{kappa(0.5):.2f}"),
        ),
        draw=draw,
    )


def observed_against_expected(wild: float = 0.005, n: int = 10_000, seed: int = 1) -> Experiment:
    """Compare parts counted outside the limits with those a normal distribution expects there.

    Parameters
    ----------
    wild : float
        Share of parts with four times the standard deviation of the others.
    n : int
        Parts in a study.
    seed : int
        Not used: the numbers are exact.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    Two limits where the normal curve of the same standard deviation has an index of 1.33. Counts are Poisson; a contradiction
    is a count that the expected rate reaches once in a thousand studies.

    Examples
    --------
    >>> found = observed_against_expected(0.005, 10_000).numbers
    >>> found["counted"] > 10 * found["expected"]
    True
    """
    from scipy.stats import norm, poisson

    sd = math.sqrt(1 - wild + 16 * wild)
    limit = 3 * 1.33 * sd
    rate = 2 * float(norm.sf(3 * 1.33))
    true = 2 * float((1 - wild) * norm.sf(limit) + wild * norm.sf(limit / 4))
    least = int(poisson.isf(0.001, n * rate)) + 1
    noticed = float(poisson.sf(least - 1, n * true))
    sizes = np.geomspace(100, 100_000, 40)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import curves

        return curves(
            "Do as many lie outside as the curve expects?", sizes,
            {"outside, on average": sizes * true, "expected by the normal curve": sizes * rate},
            float(n), ("parts in a study", "parts outside"), (0.001, 1e4), "xy", ax=ax,
        )  # fmt: skip

    return Experiment(
        f"The index taken as normal is 1.33: of {n:,} parts {n * rate:.2f} are expected outside, and {n * true:.1f} lie there on average. "
        f"A study counts enough to contradict the curve in {noticed:.0%} of cases.",
        {
            "expected": n * rate,
            "counted": n * true,
            "least": float(least),
            "noticed": noticed,
            "chance of nine": float(poisson.sf(8, n * rate)),
        },
        (
            ("expected outside by the normal curve", f"{n * rate:.2f}"),
            ("outside on average", f"{n * true:.1f}"),
            ("count that contradicts the curve", f"{least} or more"),
            ("studies that see the contradiction", f"{noticed:.0%}"),
        ),
        draw=draw,
    )
