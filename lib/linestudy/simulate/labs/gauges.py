"""Labs about gauges: what they do to verdicts, what a study of them can tell, two of them on one part."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from linestudy.gauges.budget.risk_study import per_million
from linestudy.numerics import generator
from linestudy.results import Interval, arguments, show
from linestudy.simulate.labs.experiment import Experiment

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from linestudy.numerics.arrays import FloatArray
    from linestudy.results.picture import Picture


def gauge_that_eats_the_tolerance(
    share: float = 0.3, index: float = 1.33, seed: int = 1
) -> Experiment:
    """Compute the wrong decisions of a gauge whose spread takes up a share of the tolerance.

    Parameters
    ----------
    share : float
        Six standard deviations of the gauge over the tolerance.
    index : float
        Ppk of the true values.
    seed : int
        Not used: the shares are integrals.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> a, b = (gauge_that_eats_the_tolerance(x).numbers["false reject"] for x in (0.1, 0.3))
    >>> a < b
    True
    """
    from scipy.stats import norm

    from linestudy.gauges.budget.risk_study import conformity_risk

    gauge = share * 2 * 3 * index / 6
    seen = math.hypot(1.0, gauge)
    half = 3 * index
    size = Interval(gauge, gauge, gauge, 0.95, "known truth")
    study = conformity_risk(norm(0, seen).pdf, 0.0, seen, size, -half, half)
    read = half / (3 * seen)
    return Experiment(
        f"Parts with Ppk {index} read through a gauge that takes {share:.0%} of the tolerance look like Ppk {read:.2f}. Of a "
        f"million parts {_one(study.false_accept)} bad ones are accepted and {_one(study.false_reject)} good ones rejected.",
        {
            "read": read,
            "false accept": 1e6 * study.false_accept.estimate,
            "false reject": 1e6 * study.false_reject.estimate,
            "variance share": gauge**2 / seen**2,
        },
        (
            ("Ppk of the parts", f"{index:.2f}"),
            ("Ppk as read", f"{read:.2f}"),
            ("bad parts accepted, per million", _one(study.false_accept)),
            ("good parts rejected, per million", _one(study.false_reject)),
            ("gauge's share of the variance read", f"{gauge**2 / seen**2:.1%}"),
        ),
        draw=study,
    )


def _one(share: Interval) -> str:
    return per_million(share).split(" (")[0]


def what_three_trials_tell(
    parts: int = 10, people: int = 3, trials: int = 3, seed: int = 1
) -> Experiment:
    """Show the number of distinct categories over five hundred studies of one gauge.

    Parameters
    ----------
    parts, people, trials : int
        Parts in each study.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Examples
    --------
    >>> found = what_three_trials_tell().numbers
    >>> found["low"] < found["truth"] < found["high"]
    True
    """
    rng = generator(seed, "lab", "ndc")
    studies, part, person = 500, 5.0, 0.6
    cells = (
        part * rng.standard_normal((studies, parts, 1, 1))
        + person * rng.standard_normal((studies, 1, people, 1))
        + rng.standard_normal((studies, parts, people, trials))
    )
    truth = 1.41 * part / math.hypot(1.0, person)
    best = categories(cells)
    low, high = (float(q) for q in np.quantile(best, [0.05, 0.95]))
    below = float(np.mean(best < 5))

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.labs import spread_of_estimates

        return spread_of_estimates(
            best, truth, "number of distinct categories", 5.0, "asked for", ax=ax
        )

    return Experiment(
        f"One gauge, whose true number of categories is {truth:.1f}, was studied {studies} times with {parts} parts, "
        f"{people} people and {trials} trials. Nine in ten results lie between {low:.1f} and {high:.1f}; "
        f"{below:.0%} fall below five.",
        {"truth": truth, "low": low, "high": high, "below five": below},
        (
            ("true number of categories", f"{truth:.2f}"),
            ("nine in ten studies find", f"{low:.1f} to {high:.1f}"),
            ("studies that find fewer than five", f"{below:.0%}"),
        ),
        draw=draw,
    )


def categories(cells: FloatArray) -> FloatArray:
    """Compute the number of distinct categories of many balanced studies, and nothing else of them.

    Parameters
    ----------
    cells : numpy.ndarray of float, shape (studies, parts, people, trials)

    Returns
    -------
    numpy.ndarray of float, shape (k,)
        As :func:`linestudy.gauges.grr_anova_stack` estimates them, without intervals and tests, which take most of its time.
    """
    from linestudy.gauges.grr.analysis import NDC_FACTOR, POOL_ABOVE
    from linestudy.gauges.grr.mean_squares import balanced, pool

    several = cells.shape[2] > 1
    factors = ("part", "appraiser") if several else ("part",)
    found = []
    for full in balanced(cells if several else cells[:, :, 0], factors):
        _, _, used = pool(full, POOL_ABOVE)
        variances = np.maximum(used.variances, 0.0)
        part = float(variances[used.sources.index("part")])
        found.append(NDC_FACTOR * math.sqrt(part / (float(variances.sum()) - part)))
    return np.array(found)


def vision_against_cmm(
    bias: float = 0.5, camera: float = 1.0, machine: float = 0.3, n: int = 50, seed: int = 1
) -> Experiment:
    """Compare two gauges on the same parts: what their disagreement shows, and what it does not.

    Parameters
    ----------
    bias : float
        Camera reads more by this, in the unit of its own error.
    camera, machine : float
        Standard deviations of the two gauges' errors.
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
    >>> vision_against_cmm(0.5).numbers["difference"] > 0
    True
    """
    from linestudy.gauges.comparison.two_gauges import method_comparison

    arguments.number("machine", machine, above=0)
    rng = generator(seed, "lab", "two gauges")
    true = 10 * rng.standard_normal(n)
    first = true + bias + camera * rng.standard_normal(n)
    second = true + machine * rng.standard_normal(n)
    ratio = (camera / machine) ** 2
    study = method_comparison(
        first, second, error_ratio=ratio, names=("the camera", "the CMM"), with_icc=False
    )
    expected = 1.96 * math.hypot(camera, machine)
    return Experiment(
        f"{study.statement} True bias {bias}; of the spread of differences {camera**2 / (camera**2 + machine**2):.0%} of the "
        "variance is the camera's, which the differences alone do not show.",
        {
            "difference": study.mean_difference.estimate,
            "half width": (study.upper_limit.estimate - study.lower_limit.estimate) / 2,
            "expected half width": expected,
            "warranted": float(study.correction_warranted),
        },
        (
            ("mean difference", show(study.mean_difference)),
            (
                "limits of agreement",
                f"{study.lower_limit.estimate:.2f} to {study.upper_limit.estimate:.2f}",
            ),
            ("their half width by the truth", f"{expected:.2f}"),
            ("correction warranted", "yes" if study.correction_warranted else "no"),
        ),
        draw=study,
    )


def destroyed_parts(
    specimens: float = 1.0, tester: float = 0.5, coils: int = 10, seed: int = 1
) -> Experiment:
    """Show what a nested study of a destructive test reports as repeatability.

    Parameters
    ----------
    specimens : float
        Standard deviation of specimens of one coil.
    tester : float
        Standard deviation of the tester.
    coils : int
        Coils in each study, five specimens of each.
    seed : int
        Every draw derives from it.

    Returns
    -------
    Experiment
        Numbers under ``numbers``, a picture, and one sentence that says what to see.

    Notes
    -----
    No specimen is tested twice, so the mean square within coils holds the variance of tester and specimens together
    (AIAG MSA, 4th ed., ch. IV, non-replicable studies).

    Examples
    --------
    >>> found = destroyed_parts(0.4, 0.3).numbers
    >>> found["seen"]
    0.5
    """
    arguments.number("tester", tester, above=0)
    rng = generator(seed, "lab", "destroyed")
    studies, each = 1_000, 5
    readings = (
        2.0 * rng.standard_normal((studies, coils, 1))
        + specimens * rng.standard_normal((studies, coils, each))
        + tester * rng.standard_normal((studies, coils, each))
    )
    found = np.sqrt(readings.var(axis=2, ddof=1).mean(axis=1))
    low, high = (float(q) for q in np.quantile(found, [0.05, 0.95]))
    seen = math.hypot(specimens, tester)
    share = tester**2 / seen**2

    def draw(ax: Axes | None) -> Picture:
        from linestudy.figures.lab_pictures import two_groups

        return two_groups(
            "Is it the tester, or the specimens?", {"repeatability found, study by study": found},
            {"tester": tester, "both": seen}, "standard deviation", "studies",
            reach=(0.0, 3.0), ax=ax,
        )  # fmt: skip

    return Experiment(
        f"The tester has an SD of {tester:.2f}. Studies of {coils} coils find {low:.2f} to {high:.2f} (nine in ten): specimens and "
        f"tester together, {seen:.2f}. The tester has {share:.0%} of that variance, and no reading shows it.",
        {
            "seen": seen,
            "found": float(found.mean()),
            "low": low,
            "high": high,
            "tester share": share,
        },
        (
            ("SD of the tester", f"{tester:.2f}"),
            ("SD that the study calls repeatability", f"{seen:.2f}"),
            ("nine in ten studies find", f"{low:.2f} to {high:.2f}"),
            ("the tester's share of that variance", f"{share:.0%}"),
        ),
        draw=draw,
    )
