"""Labs on capability: intervals, neighbours, sorted parts, shapes, rules and sample sizes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from linestudy.numerics import generator
from linestudy.results import Interval, arguments, show
from linestudy.simulate.labs.experiment import Experiment

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from linestudy.numerics.arrays import FloatArray
    from linestudy.results.picture import Picture


#: What the process before sorting may have been: a slider waits for it, and every family more takes its time.
_SYMMETRIC = ("normal", "logistic", "Student's t")


def what_an_interval_is(n: int = 30, confidence: float = 0.95, seed: int = 1) -> Experiment:
    """Count how many intervals of Ppk from 400 studies of one process contain its true value.

    Parameters
    ----------
    n : int
        Parts per study.
    confidence : float
        Of each interval, between 0 and 1.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> what_an_interval_is(30).numbers["held"] > 365
    True
    """
    arguments.whole("n", n, least=2)
    truth, studies = 1.33, 400
    values = generator(seed, "lab", "interval").standard_normal((studies, n))
    best = (3 * truth - values.mean(axis=1)) / (3 * values.std(axis=1, ddof=1))
    found = _intervals(best, n, confidence)
    held = sum(truth in item for item in found)
    widths = float(np.mean([item.high - item.low for item in found]))

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.labs import many_intervals

        return many_intervals(found[:100], truth, ax=ax)

    return Experiment(
        f"The same process, with Ppk {truth}, was studied {studies} times with {n} parts each. Estimates ran from "
        f"{best.min():.2f} to {best.max():.2f}; {held} of {studies} intervals hold the truth.",
        {
            "held": float(held),
            "width": widths,
            "lowest": float(best.min()),
            "highest": float(best.max()),
        },
        (
            ("intervals that hold the truth", f"{held} of {studies}"),
            ("average width of an interval", f"{widths:.2f}"),
            ("lowest and highest estimate", f"{best.min():.2f} and {best.max():.2f}"),
        ),
        draw=draw,
    )


def _intervals(best: FloatArray, n: int, confidence: float) -> list[Interval]:
    """Interpolate exact intervals of all estimates between those of a grid, whose ends are almost straight.

    With one limit the ends depend on the estimate and n alone. Forty of them instead of four hundred take a tenth of the time.
    """
    from linestudy.capability.indices import cpk

    grid = np.linspace(best.min(), best.max(), 40)
    ends = [
        cpk(-3 * each, 1.0, n=n, df=n - 1, lower=None, upper=0.0, confidence=confidence)
        for each in grid.tolist()
    ]
    known = [end for end in ends if isinstance(end, Interval)]
    lows = np.interp(best, grid, [end.low for end in known])
    highs = np.interp(best, grid, [end.high for end in known])
    return [
        Interval(estimate, low, high, confidence, known[0].method)
        for estimate, low, high in zip(best.tolist(), lows.tolist(), highs.tolist(), strict=True)
    ]


def why_neighbours_overstate_cpk(size: int = 5, serial: float = 0.95, seed: int = 1) -> Experiment:
    """Compare Cpk from neighbouring parts that are alike with what the customer receives.

    Parameters
    ----------
    size : int
        Neighbours per subgroup.
    serial : float
        Correlation of a part with the next.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = why_neighbours_overstate_cpk(5, 0.95).numbers
    >>> found["Cpk"] > 1.5 * found["Ppk"]
    True
    """
    from linestudy.simulate.process import Process, run
    from linestudy.stability import control_chart

    table = run(Process(0.0, 1.0, serial=serial), 20_000, seed=seed, purpose="lab neighbours")
    index = np.arange(len(table))
    inside = index % 250 < size
    study = control_chart(
        table["value"].to_numpy()[inside], index[inside] // 250, table["order"][inside]
    )
    overall = float(table["value"].std())
    half = 4.0
    cpk, ppk = half / (3 * study.sd_within), half / (3 * overall)
    signals = len(study.signals)

    return Experiment(
        f"Parts correlate {serial:.2f} with the next. From {size} neighbours Cpk looks like {cpk:.2f}; over the whole "
        f"run it is {ppk:.2f}. The chart with limits from neighbours signals at {signals} of "
        f"{study.n_subgroups} points, although nothing happened that was not part of the process.",
        {
            "Cpk": cpk,
            "Ppk": ppk,
            "ratio": cpk / ppk,
            "signals": float(signals),
            "expected": float(study.expected_false_signals),
        },
        (
            ("Cpk from neighbours", f"{cpk:.2f}"),
            ("Ppk over the run", f"{ppk:.2f}"),
            (
                "signals, and how many chance would give",
                f"{signals}, {study.expected_false_signals:.1f}",
            ),
        ),
        draw=study,
    )


def good_because_sorted(limit: float = 2.0, n: int = 5000, seed: int = 1) -> Experiment:
    """Compare the index of parts that were sorted at their limits with that of the process.

    Parameters
    ----------
    limit : float
        Limits, in standard deviations of the process on either side.
    n : int
        Parts made.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = good_because_sorted(1.5).numbers
    >>> found["sorted"] > 1.2 * found["truth"]
    True
    """
    from linestudy.capability.sorting.truncation import truncated_capability

    made = generator(seed, "lab", "sorted").standard_normal(n)
    kept = np.round(made[np.abs(made) <= limit], 4)
    study = truncated_capability(
        kept, -limit, limit, rejected_count=n - kept.size, families=_SYMMETRIC
    )
    return Experiment(
        f"The process has Ppk {limit / 3:.2f}. Of {n:,} parts {n - kept.size:,} were taken out; what is left looks like "
        f"Ppk {study.naive_Ppk:.2f}. Estimated from what is left and their count it is {show(study.Ppk)}.",
        {
            "truth": limit / 3,
            "sorted": study.naive_Ppk,
            "estimated": study.Ppk.estimate,
            "taken out": float(n - kept.size),
        },
        (
            ("Ppk of the process", f"{limit / 3:.3f}"),
            ("Ppk of the sorted parts", f"{study.naive_Ppk:.3f}"),
            ("estimate of the process", show(study.Ppk)),
        ),
        draw=study,
        cautions=(
            "Here the process may only be normal, or symmetric with longer tails. A study takes skewed and mixed ones too, and its "
            "interval is wider.",
        ),
    )


def non_normal_is_not_wrong(offset: float = 0.5, n: int = 500, seed: int = 1) -> Experiment:
    """Compare the index of a magnitude, never below zero, by normal rules and by its own quantiles.

    Parameters
    ----------
    offset : float
        Mean of the signed error, in its standard deviations.
    n : int
        Parts.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = non_normal_is_not_wrong(0.5).numbers
    >>> abs(found["quantiles"] / found["truth"] - 1) < abs(found["normal"] / found["truth"] - 1)
    True
    """
    from scipy.stats import foldnorm

    from linestudy.capability import quantile_intervals
    from linestudy.shape.fitting import fit

    process = foldnorm(offset)
    median, high = (float(q) for q in process.ppf([0.5, 0.99865]))
    upper = median + 1.5 * (high - median)
    values = np.abs(offset + generator(seed, "lab", "folded").standard_normal(n))
    fitted = fit(values, "folded normal", 0.0, with_covariance=True)
    own = quantile_intervals(
        fitted, None, upper, n_eff_mean=n, n_eff_sd=n, values=values, with_rates=False
    )["Ppk"]
    mean, sd = float(values.mean()), float(values.std(ddof=1))
    wrong = (upper - mean) / (3 * sd)
    best = own.estimate if isinstance(own, Interval) else math.nan

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import histogram_with_curves

        # One axis for all offsets of the slider: what moves is the process, not the paper.
        x = np.linspace(-1.5, 8.0, 500)
        normal = np.exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * math.sqrt(2 * math.pi))
        shapes = {"folded normal": np.asarray(fitted.pdf(x)), "taken as normal": normal}
        title = "Which curve do the values follow?"
        return histogram_with_curves(title, values, x, shapes, {"upper limit": upper}, 1.0, ax=ax)

    return Experiment(
        f"The magnitude of a small error, true Ppk 1.50. Taken as normal the index is {wrong:.2f}, by the quantiles of the "
        f"folded normal distribution {show(own)}. No test of normality is needed to know that a magnitude is not normal.",
        {"truth": 1.5, "normal": float(wrong), "quantiles": best},
        (
            ("true Ppk", "1.50"),
            ("taken as normal", f"{wrong:.2f}"),
            ("by the quantiles of its own distribution", show(own)),
        ),
        draw=draw,
    )


def rules_and_false_alarms(
    points: int = 10_000, rules: str = "Western Electric 1956", seed: int = 1
) -> Experiment:
    """Count how often a chart signals on a process in statistical control.

    Parameters
    ----------
    points : int
        Points on the chart.
    rules : str
        Name of a rule or a set of rules.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = rules_and_false_alarms(2000, "three sigma").numbers
    >>> 0 <= found["signals"] < 20
    True
    """
    from linestudy.stability import control_chart
    from linestudy.stability.charts.run_lengths import average_run_length

    still = generator(seed, "lab", "alarms").standard_normal((points, 4))
    groups = np.repeat(np.arange(points), 4)
    study = control_chart(still.ravel(), groups, rules=rules)
    length = average_run_length(rules)
    # Some rules mark several points of one run, so marked points are more than alarms.
    expected, signals = float(study.expected_false_signals), len(study.signals)
    return Experiment(
        f"Nothing happens to this process. With these rules ({rules}) an alarm comes by chance every {length:.0f} "
        f"points on average; on {points:,} points of means and spreads about {expected:.0f} are marked, and this run marked {signals}.",
        {
            "run length": length,
            "alarms": points / length,
            "expected": expected,
            "signals": float(signals),
        },
        (
            ("points until a false alarm, on average", f"{length:.1f}"),
            ("points marked by chance, expected", f"{expected:.1f}"),
            ("points marked", f"{signals}"),
        ),
        draw=study,
    )


def sample_size_before_the_run(
    true_index: float = 2.0, required: float = 1.67, seed: int = 1
) -> Experiment:
    """Plot the chance of demonstrating an index against the number of parts.

    Parameters
    ----------
    true_index, required : float
        What the index truly is.
    seed : int
        Not used: the chances are exact.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = sample_size_before_the_run(2.0, 1.67).numbers
    >>> found["at 100"] < 0.8 < found["at n"] + 0.01
    True
    """
    from linestudy.plan import chance_to_show, sample_size

    plan = sample_size(true_index=true_index, required=required, family="normal")
    numbers = sorted({*np.geomspace(10, 1000, 25).astype(int).tolist(), plan.n})
    chances = [chance_to_show(n, true_index, required) for n in numbers]

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.labs import chance_against_parts

        return chance_against_parts(numbers, chances, plan.n, ax=ax)

    at_100 = chance_to_show(100, true_index, required)
    return Experiment(
        f"A process with Ppk {true_index} is to be shown above {required:g} by its lower 95 % bound. With 100 parts that "
        f"succeeds in {at_100:.0%} of studies; four in five take {plan.n} parts, if its distribution is known to be normal.",
        {
            "n": float(plan.n),
            "at 100": at_100,
            "at n": chance_to_show(plan.n, true_index, required),
        },
        (
            ("chance with 100 parts", f"{at_100:.1%}"),
            ("parts for a chance of four in five", f"{plan.n}"),
        ),
        draw=draw,
    )
