"""Nested readings: variance components of batches, specimens and whatever stands between.

Model: each level is random within the one above, the last is the reading itself. For a
destructive test the last component holds both the gauge and the difference of neighbouring
specimens, and no calculation takes them apart; the finding says so. Balanced designs of any
depth and unbalanced ones of one level are analysed by mean squares (Searle, Casella &
McCulloch, *Variance Components*, 1992, ch. 3 and 4); intervals by generalized pivots.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.core import CannotJudge, Finding, Interval, generator, plain, show

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class NestedStudy(Finding):
    """Variance components of a nested study.

    Attributes
    ----------
    levels : tuple of str
        Outermost first, without the readings.
    components : dict of str to dict
        Level (and ``repeatability``) → ``variance, sd, share_of_variance`` (Intervals).
    anova : tuple of dict
        Rows ``source, df, ss, ms``.
    negative : tuple of str
        Levels whose estimate was negative and is set to zero.
    n : int
        Readings.
    """

    levels: tuple[str, ...]
    components: dict[str, dict[str, Interval]]
    anova: tuple[dict[str, Any], ...]
    negative: tuple[str, ...]
    n: int
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Nested study"

    @property
    def statement(self) -> str:
        parts = [
            f"{name} {item['share_of_variance'].estimate:.0%}"
            for name, item in self.components.items()
        ]
        return (
            f"Of the variance of {self.n} readings: {', '.join(parts)}. The last share holds the "
            "tester and the difference between specimens together; a destructive test cannot "
            "take them apart."
        )

    def table(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        return pd.DataFrame(
            {
                "source": list(self.components),
                f"SD{unit}": [show(item["sd"]) for item in self.components.values()],
                "share of variance": [
                    show(item["share_of_variance"]) for item in self.components.values()
                ],
            }
        )

    def figure(self) -> Figure:
        from linestudy.figures.gauges import nested_shares

        figure = nested_shares(self.components)
        figure.alt_text = self.alt_text
        return figure

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: anova, negative, n, statement, cautions."""
        return {
            "levels": list(self.levels),
            "components": plain(self.components),
            "anova": plain(self.anova),
            "negative": list(self.negative),
            "n": self.n,
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


def nested(
    data: pd.DataFrame,
    levels: tuple[str, ...],
    value: str = "value",
    confidence: float = 0.95,
    draws: int = 40_000,
    seed: int | None = None,
    unit: str = "",
) -> NestedStudy:
    """Variance components of nested readings.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row.
    levels : tuple of str
        Columns, outermost first.
    value : str
        Column of the readings.
    confidence : float
    draws : int
        Draws of the pivotal quantities.
    seed : int, optional
    unit : str

    Returns
    -------
    NestedStudy

    Raises
    ------
    CannotJudge
        One group, no group with two readings, unequal numbers below the first of
        several levels, or readings that are all the same.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({"batch": list("aabb"), "value": [1.0, 1.2, 2.0, 2.2]})
    >>> study = nested(data, ("batch",))
    >>> round(study.components["batch"]["variance"].estimate, 3)
    0.49
    """
    names = tuple(levels)
    values = data[value].to_numpy(dtype=float)
    if np.unique(values).size == 1:
        raise CannotJudge(
            "All readings are the same; the resolution hides whatever spread there is."
        )
    codes = [
        data.groupby(list(names[: depth + 1]), sort=False, observed=True).ngroup().to_numpy()
        for depth in range(len(names))
    ]
    rows = _sums_of_squares(names, codes, values)
    coefficients = _coefficients(names, codes, values.size)
    squares = np.array([row["ms"] for row in rows])
    raw = _solve(squares, coefficients)
    negative = tuple(row["source"] for row, number in zip(rows, raw, strict=True) if number < 0)
    estimate = np.maximum(raw, 0)
    rng = generator(seed, "nested intervals")
    drawn = np.stack([row["ss"] / rng.chisquare(row["df"], draws) for row in rows])
    sample = np.maximum(_solve(drawn, coefficients), 0)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)
    total, total_drawn = estimate.sum(), sample.sum(axis=0)
    components = {}
    for index, row in enumerate(rows):
        variance = _interval(estimate[index], sample[index], tails, confidence)
        components[row["source"]] = {
            "variance": variance,
            "sd": variance.mapped(math.sqrt),
            "share_of_variance": _interval(
                estimate[index] / total, sample[index] / total_drawn, tails, confidence
            ),
        }
    cautions = [
        f"The estimate of {name} came out negative and is set to zero." for name in negative
    ]
    if rows[0]["df"] < 9:
        cautions.append(f"{rows[0]['df'] + 1} groups of {names[0]} say little about their spread.")
    sizes = np.bincount(codes[0])
    if len(set(sizes.tolist())) > 1:
        cautions.append("Groups are of unequal size; the intervals hold approximately.")
    return NestedStudy(
        names, components, tuple(rows), negative, int(values.size), unit, tuple(cautions)
    )


def _interval(value: float, sample: Any, tails: tuple[float, float], confidence: float) -> Interval:
    low, high = np.quantile(sample, tails)
    value = float(value)
    return Interval(
        value, min(float(low), value), max(float(high), value), confidence, "generalized pivot"
    )


def _sums_of_squares(names: tuple[str, ...], codes: list[Any], values: Any) -> list[dict[str, Any]]:
    rows = []
    offset = values.mean()
    centred = values - offset
    above, groups_above = np.zeros_like(values), 1
    for name, code in zip(names, codes, strict=True):
        counts = np.bincount(code)
        means = (np.bincount(code, centred) / counts)[code]
        df = counts.size - groups_above
        if df < 1:
            raise CannotJudge(
                f"There is only one {name} within each group, so its spread is unknown."
            )
        ss = float(((means - above) ** 2).sum())
        rows.append({"source": name, "df": int(df), "ss": ss, "ms": ss / df})
        above, groups_above = means, counts.size
    df = values.size - groups_above
    if df < 1:
        raise CannotJudge(f"Each {names[-1]} was read once, so the spread within is unknown.")
    ss = float(((centred - above) ** 2).sum())
    rows.append({"source": "repeatability", "df": int(df), "ss": ss, "ms": ss / df})
    if ss <= 0:
        raise CannotJudge(
            "Readings within a group never differ; the resolution hides their spread."
        )
    return rows


def _coefficients(names: tuple[str, ...], codes: list[Any], n: int) -> list[float]:
    """Readings per group of each level: what its variance is multiplied by in its mean square."""
    result = []
    for depth, code in enumerate(codes):
        counts = np.bincount(code).astype(float)
        if depth == 0 and len(codes) == 1:
            groups = counts.size
            result.append(float((n - (counts**2).sum() / n) / (groups - 1)))
            continue
        if (counts != counts[0]).any():
            raise CannotJudge(
                f"Groups of {names[depth]} hold unequal numbers of readings; with several levels "
                "this analysis needs equal ones."
            )
        result.append(float(counts[0]))
    return result


def _solve(squares: Any, coefficients: list[float]) -> Any:
    """Components from mean squares, outermost first, the readings last; works on draws too."""
    result = np.empty_like(np.asarray(squares, dtype=float))
    result[-1] = squares[-1]
    for level in range(len(coefficients)):
        result[level] = (squares[level] - squares[level + 1]) / coefficients[level]
    return result
