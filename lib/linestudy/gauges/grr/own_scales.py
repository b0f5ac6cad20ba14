"""Whether somebody reads on a scale of their own: other steps, another factor from part to part, another zero.

*Steps.* Readings that all are multiples of twice or more of the step of the others were rounded, or read off another
scale; by chance n readings are so in one of ``ratio ** (n - 1)`` cases.

*Factor.* Model: an appraiser's mean of a part is ``level + factor * size + error``, the errors independent with one variance; the
test that all factors are one is Mandel's for a bundle of straight lines (*Journal of the American Statistical Association* 56
(1961), 878-888), exact where they are. The factor that is reported is the slope of one's means on those of the others. Two
gauges seldom err alike, nor do appraisers of whom one repeats worse, and the one that errs more looks like a larger factor. There a
factor is therefore named only where both lines, that of these means on the others' and that of the others' on these, exclude one on the same side: whatever the
ratio of the errors is, the slope lies between the two (W. A. Fuller, *Measurement Error Models*, Wiley 1987, section 1.1).

*Zero.* Somebody whose mean lies farther from that of the others than three times what the parts differ by writes deviations, or
reads another feature; no test, common practice with no source.

When it misleads: one part far from all others decides the factor; where errors are as large as what the parts differ by, a
factor is missed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.design import Layout
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.results import CannotJudge
from linestudy.results.rounding import as_given, p_text

#: Level of tests that are looked at in every study, parts that a factor is asked for from, and chance of a coarser step.
_SELDOM, _PARTS, _NEVER = 0.005, 5, 1e-6
#: Beyond this factor a unit is the likelier reason.
_UNIT = 5.0


@dataclass(frozen=True, slots=True)
class OwnFactor:
    """Who differs most from part to part from what the others read.

    Attributes
    ----------
    name : str
        Who.
    factor : float
        Slope of their means of parts on those of the others.
    statistic : float
        Mandel's F, that all have one factor.
    p : float
        Of it.
    whatever_errs : bool
        Whether the factor differs from one whatever the ratio of the errors is.
    """

    name: str
    factor: float
    statistic: float
    p: float
    whatever_errs: bool


def own_factor(names: tuple[str, ...], means: NDArray[np.float64]) -> OwnFactor | None:
    """Test by Mandel's bundle of straight lines that parts differ by the same for everybody.

    Parameters
    ----------
    names : tuple of str, length people
        Who read.
    means : numpy.ndarray of float, shape (parts, people)
        NaN where somebody did not read a part; such parts are passed over.

    Returns
    -------
    OwnFactor or None
        None with fewer than two people or five parts, or where nothing is left to test against.

    Examples
    --------
    >>> import numpy as np
    >>> size = np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    >>> error = np.array([0.01, -0.02, 0.01, 0.02, -0.01, -0.01])
    >>> found = own_factor(("A", "B", "C"), np.column_stack([size, size - error, 1.2 * size + error]))
    >>> found.name, round(found.factor, 1)
    ('C', 1.2)
    """
    table = means[~np.isnan(means).any(axis=1)]
    n, people = table.shape
    if people < 2 or n < _PARTS:
        return None
    from scipy.special import fdtrc

    centred = table - table.mean(axis=0)
    size = centred.mean(axis=1)
    sxx = float(size @ size)
    if sxx <= 1e-20 * float((table**2).sum()):
        return None
    slopes = size @ centred / sxx
    rest = centred - np.outer(size, slopes)
    left = float((rest**2).sum())
    free = (people - 1) * (n - 2)
    between = float(((slopes - 1) ** 2).sum()) * sxx
    if left <= 1e-20 * float((table**2).sum()):
        return None
    f = between / (people - 1) / (left / free)
    at = int(np.abs(slopes - np.median(slopes)).argmax()) if people > 2 else 1
    others = np.delete(centred, at, axis=1).mean(axis=1)
    across = float(others @ others)
    factor = float(others @ centred[:, at]) / across if across > 0 else float("inf")
    p = float(fdtrc(people - 1, free, f))
    return OwnFactor(names[at], factor, f, p, _whatever_errs(centred[:, at], others))


def _whatever_errs(own: NDArray[np.float64], others: NDArray[np.float64]) -> bool:
    """Say whether both least-squares lines, each way, exclude a slope of one on the same side."""
    from scipy.special import stdtrit

    across, along, both = float(others @ others), float(own @ own), float(own @ others)
    df = own.size - 2
    left = max(across * along - both**2, 0.0)
    reach = (left / df) ** 0.5 * float(stdtrit(df, 1 - _SELDOM / 2))
    if both <= 0:
        # Without relation there is no slope either way; the opposite relation is no scale of one.
        return bool(both < -reach)
    # Both slopes have the same squared relative error; the second is turned over, so that both are own by others.
    error = reach / both
    flat, steep = both / across, along / both
    return bool(flat * (1 - error) > 1 or (error < 1 and steep / (1 - error) < 1))


def factor_said(names: tuple[str, ...], means: NDArray[np.float64], *, alike: bool) -> str:
    """Say who reads parts farther apart, or closer together, than the others.

    Parameters
    ----------
    names : tuple of str, length people
    means : numpy.ndarray of float, shape (parts, people)
    alike : bool
        Whether all are taken to err alike; with False a factor has to differ from one whatever errs more.

    Returns
    -------
    str
        Without a full stop; empty where nothing is seen.
    """
    found = own_factor(names, means)
    if found is None or found.p >= _SELDOM or not (alike or found.whatever_errs):
        return ""
    others = "the others" if len(names) > 2 else names[0]
    unit = "unit" if not 1 / _UNIT < found.factor < _UNIT else "scale"
    return (
        f"{found.name} reads parts {as_given(found.factor, digits=3)} times as far apart as {others} "
        f"({p_text(found.p)}): look at the {unit} of these readings"
    )


def own_scales(layout: Layout, *, alike: bool = True) -> tuple[str, ...]:
    """Say which appraisers of a crossed study read on a scale of their own.

    Parameters
    ----------
    layout : Layout
    alike : bool
        Whether all appraisers are taken to err alike.

    Returns
    -------
    tuple of str
        A sentence each; empty where all read alike.
    """
    names = layout.levels.get("appraiser", ())
    if len(names) < 2:
        return ()
    means = layout.means()
    said = [
        _own_step(layout, names),
        factor_said(names, means, alike=alike),
        _own_zero(names, means),
    ]
    return tuple(f"{text}." for text in said if text)


def _own_step(layout: Layout, names: tuple[str, ...]) -> str:
    who = layout.codes[:, layout.factors.index("appraiser")]
    steps = []
    for at in range(len(names)):
        try:
            steps.append(apparent_step(layout.values[who == at]))
        except CannotJudge:
            steps.append(0.0)
    finest = min(steps)
    coarsest = int(np.argmax(steps))
    if finest <= 0:
        return ""
    ratio, n = steps[coarsest] / finest, int((who == coarsest).sum())
    if ratio < 1.5 or ratio ** -(n - 1.0) * len(names) > _NEVER:
        return ""
    other = names[int(np.argmin(steps))]
    return (
        f"The readings of {names[coarsest]} stand in steps of {as_given(steps[coarsest], digits=3)}, those of {other} in steps of "
        f"{as_given(finest, digits=3)}: somebody rounded, or read another scale"
    )


def _own_zero(names: tuple[str, ...], means: NDArray[np.float64]) -> str:
    table = means[~np.isnan(means).any(axis=1)]
    if len(table) < _PARTS:
        return ""
    levels = table.mean(axis=0)
    reach = float(np.ptp(table - levels, axis=0).max())
    at = int(np.abs(levels - np.median(levels)).argmax()) if len(names) > 2 else 1
    apart = float(levels[at] - np.delete(levels, at).mean())
    if abs(apart) <= 3 * reach or reach == 0:
        return ""
    others = "the others" if len(names) > 2 else names[0]
    return (
        f"{names[at]} reads {as_given(abs(apart), digits=3)} {'above' if apart > 0 else 'below'} {others}, more than three times what the parts differ "
        "by: look whether deviations were written, or another feature was read"
    )
