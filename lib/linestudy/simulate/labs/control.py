"""Labs about the process: limits of two kinds, over-adjustment, subgroups and streams, and what is chosen for being good."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray
from linestudy.simulate.labs.experiment import Experiment

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

_SUBGROUPS, _SIZE = 50, 5


def control_against_specification(
    index: float = 1.0, shift: float = 0.0, seed: int = 1
) -> Experiment:
    """Compare control limits with specification limits: a process may pass one and fail the other.

    Parameters
    ----------
    index : float
        Half the tolerance over three standard deviations of the process at rest.
    shift : float
        By how many standard deviations the second half of the run lies off.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = control_against_specification(0.5, 0.0).numbers
    >>> found["nonconforming ppm"] > 100_000 and found["out of control"] <= 2
    True
    """
    from scipy.stats import norm

    values = generator(seed, "lab", "two limits").standard_normal((_SUBGROUPS, _SIZE))
    values[_SUBGROUPS // 2 :] += shift
    means, limit = values.mean(axis=1), 3 / math.sqrt(_SIZE)
    out = np.abs(means) > limit
    half = 3 * index
    # Of the two halves of the run, exactly.
    outside = float(np.mean([norm.sf(half - mu) + norm.sf(half + mu) for mu in (0.0, shift)]))
    lines = {"UCL": limit, "LCL": -limit, "upper tolerance": half, "lower tolerance": -half}

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import run_with_limits

        return run_with_limits(
            "In control, in tolerance, both or neither?", means, out, lines, (-6.5, 6.5), ax=ax
        )

    return Experiment(
        f"{int(out.sum())} of {_SUBGROUPS} subgroup means are out of control; {1e6 * outside:,.0f} of a million parts are "
        "outside the tolerance. Control limits come from the process, tolerance limits from the drawing.",
        {"out of control": float(out.sum()), "nonconforming ppm": 1e6 * outside, "UCL": limit},
        (
            ("subgroup means out of control", f"{int(out.sum())} of {_SUBGROUPS}"),
            ("nonconforming parts", f"{1e6 * outside:,.0f} ppm"),
            ("UCL of the means", f"{limit:.2f} standard deviations"),
            ("upper tolerance limit", f"{half:.2f} standard deviations"),
        ),
        draw=draw,
    )


def over_adjustment(correction: float = 1.0, parts: int = 2_000, seed: int = 1) -> Experiment:
    """Correct the setting after every part by a share of its error: what it does to the spread.

    Parameters
    ----------
    correction : float
        Share of each part's error that the next setting takes back: 0 leaves the process alone.
    parts : int
        Parts made.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    Each part is ``y = m + e`` and the next setting ``m - k y``; the settings then vary with ``k / (2 - k)`` of the
    variance of `e`, so the spread grows by the root of ``2 / (2 - k)`` (W. E. Deming's funnel, rule 2, for k = 1:
    *Out of the Crisis*, 1986, ch. 11).

    Examples
    --------
    >>> round(over_adjustment(1.0).numbers["theory"], 3)
    1.414
    """
    noise = generator(seed, "lab", "over-adjustment").standard_normal(parts)
    made, setting = np.empty(parts), 0.0
    for part in range(parts):
        made[part] = setting + noise[part]
        setting -= correction * made[part]
    ratio = float(made.std() / noise.std())
    theory = math.sqrt(2 / (2 - correction)) if correction < 2 else math.inf
    shown = 60
    limit = 3.0

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import run_with_limits

        return run_with_limits(
            "What does correcting every part do?", made[:shown], np.abs(made[:shown]) > limit,
            {"three SD of the process left alone": limit, "": -limit}, (-6.5, 6.5), "part", ax=ax,
        )  # fmt: skip

    return Experiment(
        f"The setting takes back {correction:.0%} of each part's error. The spread is {ratio:.2f} times that of the process "
        f"left alone (theory {theory:.2f}): an index of 1.67 becomes {1.67 / ratio:.2f}.",
        {"ratio": ratio, "theory": theory, "index": 1.67 / ratio},
        (
            ("SD, over that of the process left alone", f"{ratio:.2f}"),
            ("the same by theory", f"{theory:.2f}"),
            ("what an index of 1.67 becomes", f"{1.67 / ratio:.2f}"),
        ),
        draw=draw,
    )


def subgroups_and_streams(
    distance: float = 4.0, subgroup: str = "both lanes", seed: int = 1
) -> Experiment:
    """Show how a subgroup that mixes two lanes on one chart hides what each of them does.

    Parameters
    ----------
    distance : float
        Between the means of the two lanes, in standard deviations of one lane.
    subgroup : {"both lanes", "one lane"}
        What makes up a subgroup of four.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    From subgroup 26 on lane B lies one standard deviation higher. The chart is of means with limits from the spread
    within subgroups (W. A. Shewhart's rational subgroups: what is to be found lies between subgroups).

    Examples
    --------
    >>> mixed, apart = (subgroups_and_streams(6.0, s).numbers["found"] for s in ("both lanes", "one lane"))
    >>> mixed < apart
    True
    """
    rng = generator(seed, "lab", "streams")
    lane_a = rng.standard_normal((_SUBGROUPS, 4)) - distance / 2
    lane_b = rng.standard_normal((_SUBGROUPS, 4)) + distance / 2
    lane_b[_SUBGROUPS // 2 :] += 1.0
    if subgroup == "both lanes":
        groups = np.concatenate([lane_a[:, :2], lane_b[:, :2]], axis=1)
    else:
        groups = lane_b - distance / 2
    begin = groups[: _SUBGROUPS // 2]
    sd = float(np.sqrt(begin.var(axis=1, ddof=1).mean()))
    centre, limit = float(begin.mean()), 3 * sd / 2
    means = groups.mean(axis=1)
    out = np.abs(means - centre) > limit
    found = int(out[_SUBGROUPS // 2 :].sum())
    close = float(np.mean(np.abs(means[: _SUBGROUPS // 2] - centre) < limit / 3))

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import run_with_limits

        return run_with_limits(
            "Does the chart see that lane B moved?", means - centre, out,
            {"UCL": limit, "LCL": -limit}, (-6.5, 6.5), ax=ax,
        )  # fmt: skip

    return Experiment(
        f"Lane B moves by one standard deviation at subgroup {_SUBGROUPS // 2 + 1}. With {subgroup} in a subgroup the "
        f"within-subgroup SD is {sd:.2f}, and {found} of {_SUBGROUPS // 2} points after the move are out of control.",
        {"sd within": sd, "found": float(found), "close": close},
        (
            ("within-subgroup SD (one lane alone has 1)", f"{sd:.2f}"),
            ("points out of control after the move", f"{found} of {_SUBGROUPS // 2}"),
            ("points before it in the middle third of the limits (68 % are usual)", f"{close:.0%}"),
        ),
        draw=draw,
    )


def chosen_for_being_good(lines: int = 20, n: int = 50, seed: int = 1) -> Experiment:
    """Study several alike lines, keep the best, and study it again.

    Parameters
    ----------
    lines : int
        Lines studied, all of true index 1.50.
    n : int
        Parts in each study.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = chosen_for_being_good().numbers
    >>> found["best"] > 1.5 and abs(found["again"] - 1.5) < 0.1
    True
    """
    truth, repeats = 1.5, 400
    rng = generator(seed, "lab", "regression")

    def studied(*shape: int) -> FloatArray:
        # Of a centred process with one limit: the mean and the SD both vary.
        mean = rng.standard_normal(shape) / math.sqrt(n)
        sd = np.sqrt(rng.chisquare(n - 1, shape) / (n - 1))
        return np.asarray((3 * truth - mean) / (3 * sd), dtype=float)

    best = studied(repeats, lines).max(axis=1)
    again = studied(repeats)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import two_groups

        return two_groups(
            "What does the best of several do next time?",
            {"the best of them": best, "the same line, studied again": again},
            {"truth": truth}, "Ppk", "studies", ax=ax,
        )  # fmt: skip

    return Experiment(
        f"Of {lines} lines, all with Ppk {truth:.2f}, the best shows {best.mean():.2f} on average. Studied again it shows "
        f"{again.mean():.2f}: nothing happened in between.",
        {"best": float(best.mean()), "again": float(again.mean())},
        (
            ("Ppk of the best, on average", f"{best.mean():.2f}"),
            ("Ppk of the same line, studied again", f"{again.mean():.2f}"),
            ("times the second is lower", f"{float(np.mean(again < best)):.0%}"),
        ),
        draw=draw,
    )


def two_stations_in_one_histogram(
    distance: float = 3.0, share: float = 0.2, seed: int = 1
) -> Experiment:
    """Compare a normal curve over parts of two stations with what these parts are.

    Parameters
    ----------
    distance : float
        By how many standard deviations of a station the second lies above the first.
    share : float
        Share of the parts that the second makes.
    seed : int
        Draws the histogram; the numbers are exact.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    One upper limit, five standard deviations above the first station. The mixture's quantile is the root of its
    distribution function (ISO 22514-2 for the index by quantiles).

    Examples
    --------
    >>> found = two_stations_in_one_histogram(4.0, 0.05).numbers
    >>> found["true ppm"] > 50 * found["normal ppm"]
    True
    """
    from scipy.optimize import brentq
    from scipy.stats import norm

    limit = 5.0

    def below(x: float) -> float:
        return float((1 - share) * norm.cdf(x) + share * norm.cdf(x - distance))

    def quantile(p: float) -> float:
        return float(brentq(lambda x: below(x) - p, -10.0, 10.0 + distance))

    mean = share * distance
    sd = math.sqrt(1 + share * (1 - share) * distance**2)
    normal = (limit - mean) / (3 * sd)
    median, high = quantile(0.5), quantile(0.99865)
    true = 1e6 * float((1 - share) * norm.sf(limit) + share * norm.sf(limit - distance))
    curve = 1e6 * float(norm.sf(3 * normal))
    worst = (limit - distance) / 3
    rng = generator(seed, "lab", "two stations")
    second = rng.random(4_000) < share
    parts = rng.standard_normal(4_000) + distance * second
    curve_of = norm.ppf((np.arange(4_000) + 0.5) / 4_000)

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import two_groups

        return two_groups(
            "One curve, or two stations?",
            {"all parts": parts, "a normal curve with their mean and SD": mean + sd * curve_of},
            {"upper limit": limit}, "standard deviations from the first station", reach=(-4.0, 9.0),
            legend="upper left", ax=ax,
        )  # fmt: skip

    return Experiment(
        f"One normal curve over both stations gives Ppk {normal:.2f} and {curve:,.0f} nonconforming parts per million; "
        f"{true:,.0f} there are. By itself the second station has Ppk {worst:.2f}.",
        {
            "normal index": normal,
            "quantile index": (limit - median) / (high - median),
            "worst station": worst,
            "normal ppm": curve,
            "true ppm": true,
        },
        (
            ("Ppk by one normal curve", f"{normal:.2f}"),
            ("Ppk by the quantiles of both together", f"{(limit - median) / (high - median):.2f}"),
            ("Ppk of the second station", f"{worst:.2f}"),
            ("nonconforming by the normal curve", f"{curve:,.0f} ppm"),
            ("nonconforming in truth", f"{true:,.0f} ppm"),
        ),
        draw=draw,
    )
