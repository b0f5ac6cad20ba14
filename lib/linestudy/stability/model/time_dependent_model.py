"""Time-dependent distribution model in the sense of ISO 22514-2: what the evidence supports."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, Finding, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

_MEANING = {
    "A1": "location and spread are constant and the values are normal",
    "A2": "location and spread are constant and the values are not normal",
    "B": "the spread changes and the location is constant",
    "C1": "the location moves at random and the values are normal overall",
    "C2": "the location moves at random and the values are not normal overall",
    "C3": "the location moves by a trend",
    "C4": "the location moves by steps between batches",
    "D": "location and spread both change",
}


@dataclass(frozen=True)
class TimeModelStudy(Finding):
    """Which time-dependent model the evidence supports.

    Attributes
    ----------
    model : str
        ``A1``, ``A2``, ``B``, ``C1``, ``C2``, ``C3``, ``C4`` or ``D``.
    may_report_within : bool
        Whether indices from the spread within subgroups (Cp, Cpk) may be reported.
    between_share : float
        Share of the variance of single values that lies between subgroups.
    trend_share : float
        Share of the movement between subgroups that a trend explains.
    step_share : float
        Share of the movement between subgroups that batches explain.
    location_p : float
        Of one mean throughout (analysis of variance of the subgroups).
    spread_p : float
        Of one standard deviation throughout (eight stretches).
    spread_ratio : float
        Largest over smallest standard deviation of eight stretches.
    normal_p : float
        Of normal values (skewness and kurtosis together).
    """

    model: str
    may_report_within: bool
    between_share: float
    trend_share: float
    step_share: float
    location_p: float
    spread_p: float
    spread_ratio: float
    normal_p: float
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Time-dependent model (ISO 22514-2)"

    @property
    def statement(self) -> str:
        allowed = (
            "Cp and Cpk may be reported beside Pp and Ppk."
            if self.may_report_within
            else "Only Pp and Ppk may be reported."
        )
        return f"Model {self.model}: {_MEANING[self.model]}. {allowed}"

    def _rows(self) -> Rows:
        rows: list[dict[str, Any]] = [
            {
                "evidence": "variance between subgroups (%)",
                "size": 100 * self.between_share,
                "p": self.location_p,
            },
            {
                "evidence": "of that movement, a trend explains (%)",
                "size": 100 * self.trend_share,
                "p": None,
            },
            {
                "evidence": "of that movement, batches explain (%)",
                "size": 100 * self.step_share,
                "p": None,
            },
            {
                "evidence": "largest over smallest SD of eight stretches",
                "size": self.spread_ratio,
                "p": self.spread_p,
            },
            {"evidence": "normal values", "size": None, "p": self.normal_p},
        ]
        return rows


TIME_MODEL = Declaration(
    "stability.time_model",
    TimeModelStudy,
    "Time-dependent model",
    part="characteristic",
    question="control",
    order=30,
)


#: A movement that adds less than this to the variance does not change what may be said.
_MATTERS = 0.10
_LEVEL = 0.01


def time_model(
    values: ArrayLike,
    subgroup: ArrayLike,
    order: ArrayLike | None = None,
    *,
    batch: ArrayLike | None = None,
    resets: tuple[float, ...] = (),
) -> TimeModelStudy:
    r"""Decide which time-dependent model of ISO 22514-2 a run supports.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,)
        Subgroup of each value; values whose subgroup is missing are left out.
    order : array_like of float, shape (n,), optional
        Order number of each value; 0, 1, … when absent.
    batch : array_like, shape (n,), optional
        Batch (coil) of each value.
    resets : tuple of float
        Order numbers at which a trend starts anew.

    Returns
    -------
    TimeModelStudy
        The model, and the evidence for it.

    Raises
    ------
    CannotJudge
        Fewer than eight subgroups of two or more, or values within them that never differ.
    ValueError, TypeError
        Lengths that differ, or values of more than one dimension.

    See Also
    --------
    control_chart : The chart of the same subgroups.
    variance_components : The variance by coil, stop and quarter hour.

    Notes
    -----
    The letters: A1 location and spread are constant, normal; A2 the same, not normal; B the spread changes;
    C1, C2 the location moves at random (overall normal, or not); C3 it moves by a trend; C4 by steps such as
    batches; D both change. With :math:`\sigma_b^2` the variance between subgroups, a movement counts when its
    test gives p < 0.01 and it adds more than a tenth to the variance,

    .. math:: \sigma_b^2 / (\sigma_b^2 + \sigma_w^2) > 0.1,

    because with tens of thousands of parts every test rejects (common practice, no source). Misleads on short
    runs: what has not moved yet has not been seen to move.

    References
    ----------
    ISO 22514-2:2017, 5.3 (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(3)
    >>> time_model(rng.normal(size=200), np.repeat(np.arange(40), 5)).model
    'A1'
    """
    import pandas as pd

    y = data_arguments.one_dimensional(values, least=16)
    arguments.same_length(values=y, subgroup=subgroup, order=order, batch=batch)
    of: Any = subgroup
    groups = np.asarray(pd.factorize(pd.array(of))[0])
    position = np.arange(float(y.size)) if order is None else np.asarray(order, dtype=float)
    inside = groups >= 0
    y, position = y[inside], position[inside]
    _, groups = np.unique(groups[inside], return_inverse=True)
    sizes = np.bincount(groups)
    if sizes.size < 8 or (sizes > 1).sum() < 8:
        raise CannotJudge(
            "Fewer than eight subgroups of two or more parts: movement cannot be judged."
        )
    y = y - y.mean()
    means = np.bincount(groups, y) / sizes
    rest = y - means[groups]
    if not np.any(rest):
        raise CannotJudge("Values within subgroups never differ; resolution hides their spread.")
    begins = np.unique(groups, return_index=True)[1]
    labels: Any = None
    if batch is not None:
        made: Any = batch
        labels = np.asarray(pd.factorize(pd.array(made))[0])[inside][begins]
    return decide(
        means,
        sizes,
        float(rest @ rest),
        position[begins],
        labels,
        resets,
        _spread(groups, rest, sizes),
        _normal(y),
    )


def decide(
    means: Any,
    sizes: Any,
    squares: float,
    starts: Any,
    labels: Any,
    resets: tuple[float, ...],
    spread: tuple[float, float],
    normal_p: float,
    cautions: tuple[str, ...] = (),
) -> TimeModelStudy:
    """Decide which model the evidence of subgroups supports.

    Parameters
    ----------
    means, sizes : numpy.ndarray of float, shape (subgroups,)
        Mean and number of parts of each subgroup.
    squares : float
        Sum of squares within all subgroups.
    starts : numpy.ndarray of float, shape (subgroups,)
        Order number of the first part of each.
    labels : numpy.ndarray of int, shape (subgroups,), or None
        Batch of each.
    resets : tuple of float
        Order numbers at which a trend starts anew.
    spread : tuple of float
        p of one spread throughout, and the largest over the smallest of eight stretches.
    normal_p : float
        Of normal values.
    cautions : tuple of str
        To which those of this function are added.

    Returns
    -------
    TimeModelStudy
        The model, and the evidence for it.
    """
    between, location_p = _between(means, sizes, squares)
    spread_p, ratio = spread
    trend = _trend_share(starts, means, resets)
    steps = 0.0 if labels is None else _step_share(labels, means)
    # Means also scatter by chance; the shares are of what moves beyond that.
    real = _real_share(means, sizes, squares)
    trend, steps = min(trend / real, 1.0), min(steps / real, 1.0)
    moves = location_p < _LEVEL and between > _MATTERS
    widens = spread_p < _LEVEL and ratio**2 > 1 + 10 * _MATTERS
    model = _letter(moves, widens, trend, steps, normal_p)
    if sizes.size < 25:
        cautions = (
            *cautions,
            f"{sizes.size} subgroups are few to see movement by; 25 are usual.",
        )
    return TimeModelStudy(
        model=model,
        may_report_within=model in ("A1", "A2"),
        between_share=between,
        trend_share=trend,
        step_share=steps,
        location_p=location_p,
        spread_p=spread_p,
        spread_ratio=ratio,
        normal_p=normal_p,
        cautions=cautions,
    )


def _between(means: Any, sizes: Any, squares: float) -> tuple[float, float]:
    """Share of the variance between subgroups (not negative), and the F-test that it is zero."""
    from scipy.special import fdtrc

    n, k = int(sizes.sum()), sizes.size
    within = squares / (n - k)
    above = float((sizes * (means - (sizes * means).sum() / n) ** 2).sum()) / (k - 1)
    usual = (n - (sizes.astype(float) ** 2).sum() / n) / (k - 1)
    component = max((above - within) / usual, 0.0)
    return component / (component + within), float(fdtrc(k - 1, n - k, above / within))


def _real_share(means: Any, sizes: Any, squares: float) -> float:
    """Share of the variance of subgroup means that is not left over from the spread within."""
    total = float(means.var(ddof=1))
    chance = squares / (int(sizes.sum()) - sizes.size) * float((1 / sizes).mean())
    return min(max(1 - chance / total, 0.05), 1.0) if total > 0 else 1.0


def _spread(groups: Any, rest: Any, sizes: Any) -> tuple[float, float]:
    """Levene's test over eight stretches of the run, and the ratio of their spreads."""
    from scipy.stats import levene

    stretch = groups * 8 // sizes.size
    # Residuals of small subgroups are shrunk by their own mean; undo that before comparing.
    scaled = rest / np.sqrt(np.maximum(1 - 1 / sizes[groups], 0.5))
    parts = [scaled[stretch == i] for i in range(8)]
    spreads = np.array([part.std() for part in parts])
    if spreads.min() <= 0:
        return 0.0, float("inf")
    return float(levene(*parts, center="median").pvalue), float(spreads.max() / spreads.min())


def _trend_share(starts: Any, means: Any, resets: tuple[float, ...]) -> float:
    """Share of the variance of subgroup means that one slope between resets explains (adjusted)."""
    marks = np.array([starts[0], *[r for r in sorted(resets) if starts[0] < r < starts[-1]]])
    since = starts - marks[np.searchsorted(marks, starts, side="right") - 1]
    x = since - since.mean()
    total = float(((means - means.mean()) ** 2).sum())
    if total == 0 or not np.any(x):
        return 0.0
    explained = float(x @ means) ** 2 / float(x @ x) / total
    n = means.size
    return float(max(1 - (1 - explained) * (n - 1) / (n - 2), 0.0))


def _step_share(labels: Any, means: Any) -> float:
    """Share of the variance of subgroup means that lies between batches (adjusted)."""
    total = float(((means - means.mean()) ** 2).sum())
    counts = np.bincount(labels)
    if total == 0 or counts.size < 2 or counts.size >= means.size - 1:
        return 0.0
    centres = np.bincount(labels, means) / counts
    left = float(((means - centres[labels]) ** 2).sum())
    return float(max(1 - left / (means.size - counts.size) / (total / (means.size - 1)), 0.0))


def _normal(y: Any) -> float:
    """Normality of the values on the chart, by skewness and kurtosis together."""
    from scipy.stats import normaltest

    return float(normaltest(y).pvalue) if y.size >= 20 else 1.0


def _letter(moves: bool, widens: bool, trend: float, steps: float, normal_p: float) -> str:
    if moves and widens:
        return "D"
    if widens:
        return "B"
    if not moves:
        return "A1" if normal_p >= _LEVEL else "A2"
    if max(trend, steps) >= 0.5:
        return "C3" if trend >= steps else "C4"
    return "C1" if normal_p >= _LEVEL else "C2"
