"""Judgement curve: how the chance of acceptance falls with the measured value behind a judgement.

Model: whoever judges compares a part, seen with a normal error, with a threshold of their own:
``P(accept) = Phi((threshold - x) / spread)`` at an upper limit, and the mirror image at a lower one
(probit; Finney, *Probit Analysis*, 3rd ed., 1971). Judgements are independent; with two limits each
part belongs to the nearer one. The grey zone is where between 5 and 95 % are accepted; the bias at the
limit is threshold less limit. Maximum likelihood by statsmodels, brought to the root of its score; intervals
by profile likelihood, whose inner maximum is the root of a score that only falls.

When it misleads: repeated looks at the same part are not quite independent (the same scratch is
remembered), so intervals are a little short; parts far from the limit tell nothing; where no part was
judged both ways only the gap between sure acceptance and sure rejection is known.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.arguments import check_between, check_range
from linestudy.results import CannotJudge, Finding, Interval, plain, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd

#: The grey zone: accepted with more than this and less than one minus this.
GREY = 0.05


@dataclass(frozen=True)
class JudgementCurve(Finding):
    """Threshold and sharpness of judgements, per limit.

    Attributes
    ----------
    sides : dict of str to dict
        ``lower`` and ``upper``, as far as judged: ``threshold, spread`` (Intervals, in the unit of the
        measured value), ``grey_low, grey_high, limit, bias`` (Interval or None), ``judgements``.
    unjudged : dict of str to str
        Side → why it could not be judged.
    """

    sides: dict[str, dict[str, Any]]
    unjudged: dict[str, str]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Judgement curve"
    picture: ClassVar[str] = "gauge_error:judgement_curve"

    @property
    def statement(self) -> str:
        parts = []
        for name, side in self.sides.items():
            text = (
                f"At the {name} limit judgements turn at {show(side['threshold'])} {self.unit}, and between "
                f"{show(side['grey_low'], side['spread'].estimate / 5)} and "
                f"{show(side['grey_high'], side['spread'].estimate / 5)} {self.unit} a part may be judged either way"
            )
            if side["bias"] is not None:
                where = "beyond" if _outward(name, side["bias"].estimate) else "inside"
                text += f"; the threshold lies {show(abs(side['bias'].estimate))} {self.unit} {where} the limit"
            parts.append(text.replace("  ", " ") + ".")
        parts += [f"At the {name} limit: {why}" for name, why in self.unjudged.items()]
        return " ".join(parts)

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = []
        for name, side in self.sides.items():
            rows.append(
                {
                    "limit": name,
                    f"threshold{unit}": show(side["threshold"]),
                    f"spread{unit}": show(side["spread"]),
                    f"grey zone{unit}": f"{side['grey_low']:.5g} to {side['grey_high']:.5g}",
                    f"bias at the limit{unit}": "no limit"
                    if side["bias"] is None
                    else show(side["bias"]),
                }
            )
        return pd.DataFrame(rows)

    def record(self) -> dict[str, Any]:
        """Sides without the points of the picture, unjudged, statement, cautions."""
        sides = {
            name: {key: value for key, value in side.items() if key != "points"}
            for name, side in self.sides.items()
        }
        return {
            "sides": plain(sides),
            "unjudged": dict(self.unjudged),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


JUDGEMENT_CURVE = Declaration(
    "attribute.curve",
    JudgementCurve,
    "Judgement curve",
    part="characteristic",
    question="measurement",
    order=31,
)


def _outward(side: str, bias: float) -> bool:
    return bias > 0 if side == "upper" else bias < 0


def judgement_curve(
    measured: Any,
    accepted: Any,
    lower: float | None = None,
    upper: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> JudgementCurve:
    """Fit the chance of acceptance against a measured value.

    Parameters
    ----------
    measured : array_like of float, shape (n,)
        Value behind each judgement.
    accepted : array_like of bool, shape (n,)
    lower, upper : float, optional
        Limits of the measured value. With neither, the side is told from the data.
    confidence : float
    unit : str

    Returns
    -------
    JudgementCurve

    Raises
    ------
    CannotJudge
        Fewer than ten judgements, or no side on which judgements overlap.

    Examples
    --------
    >>> x = [1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9]
    >>> curve = judgement_curve(x, [1, 1, 1, 1, 0, 1, 0, 0, 0, 0], upper=1.5)
    >>> round(curve.sides["upper"]["threshold"].estimate, 3)
    1.45
    """
    x = np.asarray(measured, dtype=float)
    y = np.asarray(accepted, dtype=bool)
    if x.shape != y.shape or x.ndim != 1:
        raise ValueError(f"measured has shape {x.shape}, accepted {y.shape}; both must be (n,)")
    check_between(confidence, "confidence", 0.0, 1.0)
    here = np.isfinite(x)
    x, y = x[here], y[here]
    check_range(x, "measured value")
    # Sums, and so all numbers, then do not hang on the order of the rows.
    order = np.lexsort((y, x))
    x, y = x[order], y[order]
    if x.size < 10:
        raise CannotJudge(f"{x.size} judgements have a measured value; ten are needed for a curve.")
    sides, unjudged = {}, {}
    for name, limit, own in _split(x, y, lower, upper):
        try:
            sides[name] = _one_side(x[own], y[own], name, limit, confidence)
        except CannotJudge as why:
            unjudged[name] = why.reason
    if not sides:
        raise CannotJudge(" ".join(unjudged.values()))
    notes = []
    for name, side in sides.items():
        if side["judgements"] < 50:
            notes.append(
                f"{side['judgements']} judgements near the {name} limit leave its curve uncertain."
            )
        if side["bias"] is not None and 0.0 not in side["bias"]:
            kind = (
                "accepts bad parts"
                if _outward(name, side["bias"].estimate)
                else "rejects good parts"
            )
            notes.append(f"At the {name} limit the judgement is biased: it {kind}.")
    return JudgementCurve(sides, unjudged, unit, tuple(notes))


def _split(
    x: NDArray[np.float64], y: NDArray[np.bool_], lower: float | None, upper: float | None
) -> list[tuple[str, float | None, NDArray[np.bool_]]]:
    if lower is not None and upper is not None:
        middle = (lower + upper) / 2
        return [("lower", lower, x <= middle), ("upper", upper, x > middle)]
    everything = np.ones(x.size, dtype=bool)
    if lower is not None:
        return [("lower", lower, everything)]
    if upper is not None:
        return [("upper", upper, everything)]
    rising = y.any() and not y.all() and x[y].mean() > x[~y].mean()
    return [("lower" if rising else "upper", None, everything)]


def _one_side(
    x: NDArray[np.float64],
    y: NDArray[np.bool_],
    name: str,
    limit: float | None,
    confidence: float,
) -> dict[str, Any]:
    if x.size == 0 or y.all() or not y.any():
        only = "accepted" if y.any() else "rejected"
        raise CannotJudge(
            f"All parts near it were {only}, so nothing is known of where judgements turn."
        )
    sign = 1.0 if name == "lower" else -1.0
    # Towards higher z parts are accepted.
    z = sign * x
    sure, none = float(z[y].min()), float(z[~y].max())
    # Where all that overlaps is one value, the curve may still be as steep as one likes.
    if sure >= none:
        ends = sorted((sign * sure, sign * none))
        raise CannotJudge(
            f"No part was judged both ways; judgements turn somewhere between {ends[0]:.5g} and {ends[1]:.5g}."
        )
    centre, scale = float(z.mean()), float(z.std())
    u = (z - centre) / scale
    slope, level = _probit(u, y)
    if slope <= 0:
        raise CannotJudge(
            "Parts farther out of the limit were accepted more often, so there is no curve."
        )
    best, spread = -level / slope, 1 / slope
    threshold = _profile(u, y, best, math.log(spread), confidence, 0)
    sharpness = _profile(u, y, best, math.log(spread), confidence, 1)
    ends = sorted(sign * (centre + scale * end) for end in threshold)
    at = sign * (centre + scale * best)
    width = scale * spread
    from scipy.special import ndtri

    grey = float(ndtri(1 - GREY)) * width
    how = "profile likelihood"
    found = Interval(at, ends[0], ends[1], confidence, how)
    values, inverse = np.unique(x, return_inverse=True)
    share = np.bincount(inverse, y) / np.bincount(inverse)
    return {
        "threshold": found,
        "spread": Interval(
            width,
            scale * math.exp(sharpness[0]),
            scale * math.exp(sharpness[1]),
            confidence,
            how,
        ),
        "grey_low": at - grey,
        "grey_high": at + grey,
        "limit": limit,
        "bias": None
        if limit is None
        else Interval(at - limit, ends[0] - limit, ends[1] - limit, confidence, how),
        "judgements": int(x.size),
        "points": np.column_stack([values, share]),
    }


def _probit(u: NDArray[np.float64], y: NDArray[np.bool_]) -> tuple[float, float]:
    """Slope and level by statsmodels."""
    import warnings

    from statsmodels.discrete.discrete_model import Probit

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = Probit(y.astype(float), np.column_stack([np.ones(u.size), u]))
        at = np.asarray(model.fit(disp=0, maxiter=200).params)
        for _ in range(20):
            step = np.linalg.solve(model.hessian(at), model.score(at))
            at = at - step
            if np.abs(step).max() <= 1e-15 * np.abs(at).max():
                break
    level, slope = (float(value) for value in at)
    return slope, level


def _deviance(
    u: NDArray[np.float64], y: NDArray[np.bool_], threshold: float, log_spread: float
) -> float:
    from scipy.special import log_ndtr

    t = (u - threshold) * math.exp(-log_spread)
    return -2 * float(log_ndtr(np.where(y, t, -t)).sum())


def _profile(
    u: NDArray[np.float64],
    y: NDArray[np.bool_],
    threshold: float,
    log_spread: float,
    confidence: float,
    which: int,
) -> tuple[float, float]:
    """Ends where the profiled deviance of threshold (0) or log spread (1) has risen by chi-square."""
    from scipy.optimize import brentq
    from scipy.special import chdtri

    allowed = _deviance(u, y, threshold, log_spread) + float(chdtri(1, 1 - confidence))
    spread = math.exp(log_spread)
    best, step = ((threshold, spread), (log_spread, 1.0))[which]

    def excess(value: float) -> float:
        if which == 0:
            other = _root(
                lambda free: _slopes(u, y, value, free)[1], log_spread - 4, log_spread + 4
            )
            return _deviance(u, y, value, other) - allowed
        other = _root(
            lambda free: _slopes(u, y, free, value)[0],
            threshold - 8 * spread,
            threshold + 8 * spread,
        )
        return _deviance(u, y, other, value) - allowed

    ends = []
    for side in (-1.0, 1.0):
        reach = step
        while excess(best + side * reach) < 0:
            reach *= 1.6
            if reach > 200 * step:
                raise CannotJudge("The judgements near it are too few to say where they turn.")
        at = brentq(lambda r, s=side: excess(best + s * r), 0.0, reach, xtol=1e-14 * step)
        ends.append(best + side * float(at))
    return ends[0], ends[1]


def _slopes(
    u: NDArray[np.float64], y: NDArray[np.bool_], threshold: float, log_spread: float
) -> tuple[float, float]:
    """Derivatives of the log-likelihood by threshold and by log spread."""
    from scipy.special import log_ndtr

    t = (u - threshold) * math.exp(-log_spread)
    sign = np.where(y, 1.0, -1.0)
    pull = sign * np.exp(-(t**2) / 2 - log_ndtr(sign * t)) / math.sqrt(2 * math.pi)
    return -float(pull.sum()) * math.exp(-log_spread), -float(pull @ t)


def _root(slope: Callable[[float], float], low: float, high: float) -> float:
    """Where a slope turns from positive to negative, or the end it points beyond."""
    from scipy.optimize import brentq

    if slope(low) <= 0:
        return low
    if slope(high) >= 0:
        return high
    return float(brentq(slope, low, high, xtol=1e-14))
