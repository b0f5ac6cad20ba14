"""A size that is read on every part as evidence of a strength that only destroyed parts show.

A welded joint is accepted by its picture: the width of the seam is read on all, the force on a few that
are pulled. Model: ``force = intercept + slope * width + batch + error``, the batch (if any are named) and
the error normal with one spread over all widths. What is asked: which width assures the required force,
for a stated share of the welds (content) with a stated confidence.

Bound: the lower tolerance bound of the force at a width, by the noncentral t (exact for one spread and no
batches; Krishnamoorthy & Mathew, *Statistical Tolerance Regions*, 2009, ch. 3). The least width whose bound
reaches the required force is held with that confidence too: it lies below the true one only where the bound
there fails. With batches the variance of a single weld of another batch counts, from mean squares
(Henderson's method III); its degrees of freedom are those whose chi-square bounds the variance as Graybill and Wang do (*JASA* 75
(1980), 869-873), for by Satterthwaite's the bound held in 90 to 92 of 100 studies of six batches.

Readings: where the pulled parts were read by the gauge that accepts the parts, and in the same way, the
gauge's error is in the scatter already and the width is one of readings. Where a finer gauge read them, the
width is a true one and the accepting gauge needs a guard of its own error; `gauge_sd` makes it.

When it misleads: pulled parts whose widths hardly differ show no slope (and then no width assures anything
beyond them); a force that levels off is no line, which a test of curvature shows; weak welds of full width
(cold, contaminated) are not seen by a camera at all, and no regression on width finds what was not pulled.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.gauges.destructive.pile_up import ended_elsewhere
from linestudy.gauges.destructive.strength_finding import StrengthAssurance
from linestudy.gauges.destructive.strength_line import (
    Line,
    assumptions_of,
    fit_line,
    low_quantile_slope,
)
from linestudy.results import Absent, CannotJudge, arguments, data_arguments
from linestudy.results.rounding import p_text

#: Below this number of destroyed parts no line is drawn.
FEWEST = 8


def strength_assurance(
    measured: ArrayLike,
    strength: ArrayLike,
    required: float,
    *,
    batch: ArrayLike | None = None,
    lower: float | None = None,
    upper: float | None = None,
    content: float = 0.99,
    confidence: float = 0.95,
    gauge_sd: float | None = None,
    measured_unit: str = "",
    unit: str = "",
) -> StrengthAssurance:
    r"""Find the size that assures a required strength, from parts measured and then destroyed.

    Parameters
    ----------
    measured : array_like of float, shape (n,)
        Size of each part as read before it was destroyed, in `measured_unit`.
    strength : array_like of float, shape (n,)
        Its strength, in `unit`.
    required : float
        Least strength, in `unit`.
    batch : array_like, shape (n,), optional
        Batch or coil of each part.
    lower, upper : float, optional
        Tolerance limits of the size, in `measured_unit`, at which the assured strength is given.
    content : float
        Share of the parts that must reach the required strength, between 0 and 1.
    confidence : float
        Of the bounds, one-sided, between 0 and 1.
    gauge_sd : float, optional
        Standard deviation of the gauge that accepts the parts, in `measured_unit`, where another, finer
        gauge read the sizes given here.
    measured_unit : str
        Unit of the sizes.
    unit : str
        Unit of the strengths.

    Returns
    -------
    StrengthAssurance
        Line, lower tolerance bounds, and the least size that assures the strength.

    Raises
    ------
    CannotJudge
        Fewer than eight parts, sizes or strengths that never differ, or parts that all lie on one line.
    ValueError
        Arguments of different length or outside their range.

    See Also
    --------
    nested_components : Variance components of a destructive test.

    Notes
    -----
    Model, with b a batch and independent normal terms:

    .. math:: F_i = \alpha + \beta w_i + b_{j(i)} + \varepsilon_i

    The bound at a width w is

    .. math:: \hat\alpha + \hat\beta w - \sqrt h\; t'_{\gamma,\nu}(z_P / \sqrt h)\, s

    where h is the variance of the line at w over that of a single part, and t' the quantile of the
    noncentral t. Misleads where widths hardly differ, where the force levels off, and where weak welds have
    full width.

    References
    ----------
    Krishnamoorthy & Mathew, *Statistical Tolerance Regions* (2009), ch. 3. Searle, Casella & McCulloch,
    *Variance Components* (1992), ch. 5.5. Koenker & Bassett, *Econometrica* 46 (1978), 33-50.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> width = rng.uniform(0.35, 0.55, 40)
    >>> force = 20 + 140 * width + rng.normal(0, 3, 40)
    >>> found = strength_assurance(width, force, 65.0, lower=0.33, measured_unit="mm", unit="N")
    >>> print(found.statement)  # doctest: +NORMALIZE_WHITESPACE
    A size of at least 0.3663 mm assures 65 N for 99 % of the parts (95 % confidence). At the lower
    limit of the size 60.0 N are assured, which is not enough.
    """
    widths = data_arguments.readings(measured, name="measured", least=FEWEST, what="part")
    forces = data_arguments.readings(strength, name="strength", least=FEWEST, what="part")
    arguments.same_length(measured=widths, strength=forces)
    required = arguments.number("required", required)
    arguments.share("content", content)
    arguments.share("confidence", confidence)
    lower, upper = arguments.limits(lower, upper, needed=False)
    if gauge_sd is not None:
        arguments.number("gauge_sd", gauge_sd, least=0)
    groups = _groups(batch, widths.size)
    # Sums, and so all numbers, then do not depend on the order of the rows.
    order = np.lexsort((groups, forces, widths))
    widths, forces, groups = widths[order], forces[order], groups[order]
    if np.ptp(widths) == 0 or np.ptp(forces) == 0:
        which = "size" if np.ptp(widths) == 0 else "strength"
        raise CannotJudge(f"The {which} of all {widths.size} parts is the same.")
    line = fit_line(widths, forces, groups)
    asked = content, confidence
    limit = _least_size(line, content, confidence, required, widths)
    guarded: float | Absent = Absent("the gauge that accepts the parts read these, too")
    if gauge_sd is not None:
        from scipy.special import ndtri

        guarded = (
            limit if isinstance(limit, Absent) else limit + float(ndtri(confidence)) * gauge_sd
        )
    limits = {name: x for name, x in (("lower", lower), ("upper", upper)) if x is not None}
    at = {name: float(line.bound(x, *asked)[0]) for name, x in limits.items()}
    shown = np.array([*widths, *limits.values()])
    grid = np.linspace(shown.min(), shown.max(), 60)
    curved, spread, normal = assumptions_of(widths, forces, groups, line)
    return StrengthAssurance(
        n=int(widths.size),
        batches=line.batches,
        slope=line.interval(1, confidence),
        intercept=line.interval(0, confidence),
        sd=line.sd,
        batch_share=line.batch_share,
        required=required,
        content=content,
        confidence=confidence,
        width_limit=limit,
        guarded_limit=guarded,
        at_limits=at,
        reaches=(float(widths.min()), float(widths.max())),
        low_quantile_slope=low_quantile_slope(widths, forces, confidence),
        curved_p=curved,
        spread_p=spread,
        normal_p=normal,
        pulls_needed=_pulls_needed(line, content, confidence, required, lower),
        size_unit=measured_unit,
        unit=unit,
        cautions=_cautions(line, widths, forces, lower, (curved, spread, normal), confidence),
        points=np.column_stack([widths, forces]),
        curve=np.column_stack([grid, line.at(grid), line.bound(grid, *asked)]),
    )


def _groups(batch: ArrayLike | None, n: int) -> NDArray[np.intp]:
    if batch is None:
        return np.zeros(n, dtype=np.intp)
    names = np.array([str(name) for name in np.asarray(batch, dtype=object).ravel()])
    if names.size != n:
        raise ValueError(
            f"batch has {names.size} entries and measured has {n}; give one for each part."
        )
    return np.unique(names, return_inverse=True)[1]


def _least_size(
    line: Line,
    content: float,
    confidence: float,
    required: float,
    widths: NDArray[np.float64],
) -> float | Absent:
    """Find where the bound reaches the required strength for good, within the sizes that were seen."""
    from scipy.optimize import brentq

    low, high = float(widths.min()), float(widths.max())
    grid = np.linspace(low, high, 50)
    reached = line.bound(grid, content, confidence) >= required
    if line.interval(1, confidence).high <= 0:
        return Absent("strength falls with size")
    if reached.all():
        return low
    if not reached[-1]:
        if line.ends[1] <= 0:
            return Absent("strength is not seen to grow with size")
        if reached.any():
            return Absent("what is assured does not grow up to the largest size that was tested")
        return Absent("not even the largest size that was tested assures it")
    last = int(np.flatnonzero(~reached)[-1])

    def excess(size: float) -> float:
        return float(line.bound(size, content, confidence)[0]) - required

    return float(brentq(excess, grid[last], grid[last + 1], xtol=1e-13 * high))


def _pulls_needed(
    line: Line, content: float, confidence: float, required: float, lower: float | None
) -> int | Absent:
    """Count the parts that would assure the strength at the lower limit, if all is as it seems."""
    if lower is None:
        return Absent("the size has no lower limit")
    if line.batches:
        return Absent("with batches their number counts, more than that of the parts")
    from scipy.special import ndtri

    best = float(line.at(np.array([lower]))[0]) - float(ndtri(content)) * line.sd
    if best <= required:
        return Absent("no number of parts would assure it at that limit")
    from bisect import bisect_left

    numbers = range(FEWEST, 20_001)
    at = bisect_left(
        numbers, required, key=lambda n: float(line.bound(lower, content, confidence, n)[0])
    )
    return numbers[at] if at < len(numbers) else Absent("more than 20,000 parts would be needed")


def _cautions(
    line: Line,
    widths: NDArray[np.float64],
    forces: NDArray[np.float64],
    lower: float | None,
    tests: tuple[float, float, float],
    confidence: float,
) -> tuple[str, ...]:
    notes = []
    notes += ended_elsewhere(forces)
    slope = line.interval(1, confidence)
    if slope.high <= 0:
        notes.append(
            "Strength falls with size: larger parts are weaker ones, and no least size assures anything beyond the largest "
            "that was tested."
        )
    elif slope.low <= 0:
        notes.append(
            "Strength is not shown to grow with size, so the size is no evidence of it: what is assured rests on the pulls alone."
        )
    if lower is not None and lower < widths.min():
        notes.append(
            "No part as small as the lower limit was tested; what is assured there is extrapolated along the line."
        )
    if 0 < line.batches < 6:
        notes.append(
            f"{line.batches} batches say little about the next one; the bounds hold that as far as mean squares can."
        )
    if not line.batches:
        notes.append("No batches are named; the bounds hold for parts like these.")
    curved, spread, normal = tests
    if curved < 0.01:
        notes.append(
            f"Strength does not follow size along a straight line ({p_text(curved)}); the bounds do not hold as "
            "stated. Take the sizes near the limit by themselves."
        )
    if spread < 0.01:
        notes.append(
            f"The spread about the line changes with size ({p_text(spread)}); the bounds are too high where "
            "parts scatter more."
        )
    if normal < 0.01:
        notes.append(
            f"Distances from the line are not normal ({p_text(normal)}); a weak part may be weaker than the bound lets expect."
        )
    notes.append(
        "A weak weld of full width is not seen by its width; what the pulled parts did not show is not assured."
    )
    return tuple(notes)
