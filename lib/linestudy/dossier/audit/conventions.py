"""Conventions under which a recomputed number would round to a printed one, tried one by one.

Papers and reports differ in what they do not say: whether an interaction was pooled, whether a spread counts 6
or 5.15 standard deviations, whether a standard deviation divides by n or n - 1, whether ranges went over d2 or
d2*, whether a sum was formed of numbers already rounded, whether per cent or shares were printed. Each is
tried on the numbers of results.json alone. A match may be chance where few decimals are printed,
so the convention is named as a possibility, not as a fact.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

#: What each sum of a crossed study is made of.
_SUMS = {
    "reproducibility": ("appraiser", "interaction"),
    "grr": ("repeatability", "reproducibility"),
    "total": ("grr", "part"),
}


def explain(
    found: float, printed: float, decimals: int, place: str, results: dict[str, Any]
) -> str | None:
    """Name the convention under which a number would round to the printed one.

    Parameters
    ----------
    found : float
        Recomputed number.
    printed : float
        As printed, with `decimals` decimals.
    decimals : int
    place : str
        Its place in results.json, keys joined by dots.
    results : dict
        Content of results.json.

    Returns
    -------
    str or None
        None where no convention tried leads there.

    Examples
    --------
    >>> explain(0.2786, 27.86, 2, "x.share_of_sd.estimate", {})
    'as per cent'
    """
    for label, value in _candidates(found, decimals, place.split("."), results):
        if math.isfinite(value) and abs(value - printed) <= 0.5 * 10.0**-decimals * (1 + 1e-9):
            return label
    return None


def _candidates(
    found: float, decimals: int, keys: list[str], results: dict[str, Any]
) -> Iterator[tuple[str, float]]:
    yield "as per cent", 100 * found
    around = _around(results, keys)
    yield from _divisors(found, keys, around)
    yield from _spreads(found, keys, around)
    if "crossed" in keys:
        at = keys.index("crossed")
        study = _at(results, keys[: at + 1])
        if isinstance(study, dict) and "components" in keys and "components" in study:
            name = keys[keys.index("components") + 1]
            for label, sd in _crossed(
                study, name, decimals, _at(results, [*keys[:at], "average_and_range"])
            ):
                yield label, sd
                yield f"{label}, squared", sd**2
                spread = float(study.get("spread") or 6.0)
                yield f"{label}, {spread:g} standard deviations", spread * sd
                yield f"{label}, 5.15 standard deviations", 5.15 * sd


def _divisors(
    found: float, keys: list[str], around: list[dict[str, Any]]
) -> Iterator[tuple[str, float]]:
    if not any(key in ("sd", "sd_overall", "sd_difference", "residual_sd") for key in keys):
        return
    for branch in around:
        n = branch.get("n")
        if isinstance(n, int) and n > 1:
            yield "with n instead of n - 1 below the sum of squares", found * math.sqrt((n - 1) / n)
            return


def _spreads(
    found: float, keys: list[str], around: list[dict[str, Any]]
) -> Iterator[tuple[str, float]]:
    if "share_of_tolerance" in keys:
        spread = next(
            (float(b["spread"]) for b in around if isinstance(b.get("spread"), int | float)), 6.0
        )
        for other in (6.0, 5.15):
            if other != spread:
                value = found * other / spread
                yield f"with {other:g} standard deviations", value
                yield f"with {other:g} standard deviations, as per cent", 100 * value
    if "sd" in keys:
        for other in (6.0, 5.15):
            yield f"as a spread of {other:g} standard deviations", found * other
        yield "as a variance", found**2


def _crossed(
    study: dict[str, Any], name: str, decimals: int, ranges: Any
) -> Iterator[tuple[str, float]]:
    """Yield the standard deviation of one component under other conventions."""
    sds = {key: item["sd"]["estimate"] for key, item in study["components"].items()}
    if name in _SUMS:
        for digits in range(decimals, decimals + 3):
            rounded = [round(sds.get(part, 0.0), digits) for part in _SUMS[name]]
            yield f"from parts rounded to {digits} decimals", math.hypot(*rounded)
    for pooled, variances in _pooling(study):
        how = "with the interaction pooled" if pooled else "with the interaction not pooled"
        if name in variances:
            yield how, math.sqrt(max(variances[name], 0.0))
    if isinstance(ranges, dict) and name in ranges.get("components", {}):
        sd = ranges["components"][name]["sd"]["estimate"]
        yield "by averages and ranges with d2*", sd
        trials = study.get("design", {}).get("trials")
        if (
            name == "repeatability"
            and isinstance(trials, int | float)
            and float(trials).is_integer()
        ):
            from linestudy.numerics.normal_constants import d2

            yield "by averages and ranges with d2", ranges["mean_range"] / d2(int(trials))


def _pooling(study: dict[str, Any]) -> Iterator[tuple[bool, dict[str, float]]]:
    """Yield the variances with and without the interaction pooled, from the table of variance."""
    rows = {row["source"]: row for row in study.get("anova", [])}
    design = study.get("design", {})
    names = ("part", "appraiser", "part:appraiser", "repeatability")
    if not all(name in rows for name in names) or not design.get("balanced"):
        return
    p, a, r = (float(design[key]) for key in ("parts", "appraisers", "trials"))
    ss = {name: float(rows[name]["ss"]) for name in names}
    df = {name: float(rows[name]["df"]) for name in names}
    for pooled in (True, False):
        if pooled:
            error = (ss["repeatability"] + ss["part:appraiser"]) / (
                df["repeatability"] + df["part:appraiser"]
            )
            cell, interaction = error, 0.0
        else:
            error = ss["repeatability"] / df["repeatability"]
            cell = ss["part:appraiser"] / df["part:appraiser"]
            interaction = max((cell - error) / r, 0.0)
        appraiser = max((ss["appraiser"] / df["appraiser"] - cell) / (p * r), 0.0)
        part = max((ss["part"] / df["part"] - cell) / (a * r), 0.0)
        gauge = error + appraiser + interaction
        yield (
            pooled,
            {
                "repeatability": error,
                "appraiser": appraiser,
                "interaction": interaction,
                "reproducibility": appraiser + interaction,
                "grr": gauge,
                "part": part,
                "total": gauge + part,
            },
        )


def _at(results: Any, keys: list[str]) -> Any:
    branch = results
    for key in keys:
        if not isinstance(branch, dict) or key not in branch:
            return None
        branch = branch[key]
    return branch


def _around(results: Any, keys: list[str]) -> list[dict[str, Any]]:
    """List the tables that a number lies in, the innermost first."""
    found = []
    for length in range(len(keys) - 1, 0, -1):
        branch = _at(results, keys[:length])
        if isinstance(branch, dict):
            found.append(branch)
    return found
