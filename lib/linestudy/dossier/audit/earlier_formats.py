"""A dossier of an earlier format: its numbers are found under their names of today and recomputed.

Only numbers and decisions are held: words, page, PDF and workbook are those of the version that wrote them, which no
later version can set anew byte for byte. Whoever wants them held installs that version.
"""

from __future__ import annotations

from typing import Any

from linestudy.dossier.audit.numbers import (
    ABSENT,
    Comparison,
    Path,
    difference,
    leaf,
    leaves,
    package_of,
)
from linestudy.dossier.tolerances import allowed

#: Format that this kit writes.
FORMAT = 2

#: Decisions of format 1 in today's words.
_DECISIONS = {"needs agreement": "customer approval required"}

#: Places of format 1 and where the same number is today; ``*`` stands for one key or number of a row.
#: The longest come first; what none fits keeps its place.
RENAMED: tuple[tuple[str, str], ...] = (
    (
        "characteristics.*.attribute.curve.sides.*.spread",
        "characteristics.*.attribute.performance_curve.sides.*.judgement_sd",
    ),
    (
        "characteristics.*.capability.tolerance_intervals.intervals.*.absent",
        "characteristics.*.capability.tolerance_intervals.intervals.*.confidence.absent",
    ),
    (
        "characteristics.*.gauges.*.risk.observed.rejected",
        "characteristics.*.gauges.*.conformity_risk.observed.p_rejected",
    ),
    (
        "characteristics.*.gauges.*.crossed.spread",
        "characteristics.*.gauges.*.crossed.sigma_multiplier",
    ),
    ("characteristics.*.gauges.*.left_out.odd", "characteristics.*.gauges.*.influence.outliers"),
    (
        "characteristics.*.gauges.*.repeatability.spread",
        "characteristics.*.gauges.*.cg_cgk.sigma_multiplier",
    ),
    (
        "characteristics.*.gauges.*.risk.bad",
        "characteristics.*.gauges.*.conformity_risk.p_nonconforming",
    ),
    (
        "characteristics.*.gauges.*.risk.rejected",
        "characteristics.*.gauges.*.conformity_risk.p_rejected",
    ),
    (
        "characteristics.*.gauges.*.risk.wanted",
        "characteristics.*.gauges.*.conformity_risk.risk_target",
    ),
    (
        "characteristics.*.shape.families.*.ad",
        "characteristics.*.shape.families.*.anderson_darling",
    ),
    (
        "characteristics.*.shape.families.*.distance",
        "characteristics.*.shape.families.*.cdf_difference",
    ),
    ("characteristics.*.shape.families.*.ppm", "characteristics.*.shape.families.*.expected_ppm"),
    (
        "characteristics.*.shape.families.*.tail",
        "characteristics.*.shape.families.*.tail_difference",
    ),
    ("characteristics.*.attribute.kappa.between", "characteristics.*.attribute.kappa_between"),
    (
        "characteristics.*.attribute.kappa.with_reference",
        "characteristics.*.attribute.kappa_with_reference",
    ),
    (
        "characteristics.*.capability.before_sorting.agree",
        "characteristics.*.capability.before_sorting.agrees_with_bins",
    ),
    (
        "characteristics.*.capability.before_sorting.because",
        "characteristics.*.capability.before_sorting.evidence",
    ),
    (
        "characteristics.*.capability.before_sorting.softness",
        "characteristics.*.capability.before_sorting.sorting_error_sd",
    ),
    (
        "characteristics.*.capability.block_bootstrap.block",
        "characteristics.*.capability.block_bootstrap.block_length",
    ),
    (
        "characteristics.*.capability.block_bootstrap.n_mean",
        "characteristics.*.capability.block_bootstrap.n_eff_mean",
    ),
    (
        "characteristics.*.capability.block_bootstrap.n_spread",
        "characteristics.*.capability.block_bootstrap.n_eff_sd",
    ),
    (
        "characteristics.*.capability.block_bootstrap.stated_mean",
        "characteristics.*.capability.block_bootstrap.used_n_eff_mean",
    ),
    (
        "characteristics.*.capability.block_bootstrap.stated_spread",
        "characteristics.*.capability.block_bootstrap.used_n_eff_sd",
    ),
    (
        "characteristics.*.capability.tolerance_intervals.effective_n",
        "characteristics.*.capability.tolerance_intervals.n_eff",
    ),
    (
        "characteristics.*.capability.tolerance_intervals.within",
        "characteristics.*.capability.tolerance_intervals.inside_limits",
    ),
    (
        "characteristics.*.capability.with_set_aside.effective_n_mean",
        "characteristics.*.capability.with_set_aside.n_eff_mean",
    ),
    (
        "characteristics.*.capability.with_set_aside.effective_n_spread",
        "characteristics.*.capability.with_set_aside.n_eff_sd",
    ),
    ("characteristics.*.capability.within.rows", "characteristics.*.capability.within.estimates"),
    ("characteristics.*.gauges.*.left_out", "characteristics.*.gauges.*.influence"),
    ("characteristics.*.gauges.*.repeatability", "characteristics.*.gauges.*.cg_cgk"),
    ("characteristics.*.gauges.*.risk", "characteristics.*.gauges.*.conformity_risk"),
    (
        "characteristics.*.stability.advice.wished_minutes",
        "characteristics.*.stability.sampling_plan.minutes_to_signal",
    ),
    (
        "characteristics.*.stability.between_within.run_length_at_rest",
        "characteristics.*.stability.between_within.in_control_run_length",
    ),
    (
        "characteristics.*.stability.by_event.run_length_at_rest",
        "characteristics.*.stability.by_event.in_control_run_length",
    ),
    ("characteristics.*.stability.run.notes", "characteristics.*.stability.data_quality.issues"),
    (
        "characteristics.*.stability.serial.effective_n_mean",
        "characteristics.*.stability.autocorrelation.n_eff_mean",
    ),
    (
        "characteristics.*.stability.serial.effective_n_variance",
        "characteristics.*.stability.autocorrelation.n_eff_sd",
    ),
    (
        "characteristics.*.stability.serial.independent_subgroups",
        "characteristics.*.stability.autocorrelation.n_eff_subgroups",
    ),
    (
        "characteristics.*.stability.serial.limits_too_narrow",
        "characteristics.*.stability.autocorrelation.limits_too_narrow_by",
    ),
    (
        "characteristics.*.stability.serial.wider_mean",
        "characteristics.*.stability.autocorrelation.interval_factor_mean",
    ),
    (
        "characteristics.*.stability.serial.wider_spread",
        "characteristics.*.stability.autocorrelation.interval_factor_sd",
    ),
    (
        "characteristics.*.stability.small_shifts.run_length_at_rest",
        "characteristics.*.stability.small_shifts.in_control_run_length",
    ),
    (
        "characteristics.*.stability.small_shifts.run_length_shifted",
        "characteristics.*.stability.small_shifts.shifted_run_length",
    ),
    (
        "characteristics.*.stability.steps.believed",
        "characteristics.*.stability.change_points.n_significant",
    ),
    (
        "characteristics.*.stability.steps.candidates",
        "characteristics.*.stability.change_points.n_candidates",
    ),
    (
        "characteristics.*.stability.steps.steps",
        "characteristics.*.stability.change_points.change_points",
    ),
    ("characteristics.*.stability.wear.p", "characteristics.*.stability.tool_wear.slope_p"),
    (
        "characteristics.*.stability.wear.per_thousand",
        "characteristics.*.stability.tool_wear.slope_per_thousand",
    ),
    (
        "characteristics.*.stability.wear.sd_about_line",
        "characteristics.*.stability.tool_wear.residual_sd",
    ),
    (
        "characteristics.*.stability.with_set_aside.run_length_at_rest",
        "characteristics.*.stability.with_set_aside.in_control_run_length",
    ),
    ("characteristics.*.attribute.curve", "characteristics.*.attribute.performance_curve"),
    ("characteristics.*.capability.effective_n_mean", "characteristics.*.capability.n_eff_mean"),
    ("characteristics.*.capability.effective_n_spread", "characteristics.*.capability.n_eff_sd"),
    ("characteristics.*.shape.admissible", "characteristics.*.shape.plausible_families"),
    ("characteristics.*.shape.tested", "characteristics.*.shape.n_tested"),
    ("characteristics.*.shape.why", "characteristics.*.shape.selection_reason"),
    ("characteristics.*.stability.advice", "characteristics.*.stability.sampling_plan"),
    ("characteristics.*.stability.components", "characteristics.*.stability.variance_components"),
    ("characteristics.*.stability.residual", "characteristics.*.stability.residual_chart"),
    ("characteristics.*.stability.run", "characteristics.*.stability.data_quality"),
    (
        "characteristics.*.stability.run_length_at_rest",
        "characteristics.*.stability.in_control_run_length",
    ),
    ("characteristics.*.stability.serial", "characteristics.*.stability.autocorrelation"),
    ("characteristics.*.stability.sources", "characteristics.*.stability.variance_sources"),
    ("characteristics.*.stability.steps", "characteristics.*.stability.change_points"),
    ("characteristics.*.stability.wear", "characteristics.*.stability.tool_wear"),
    ("joint.expected.of", "joint.expected.characteristics"),
    ("joint.product", "joint.product_of_shares"),
    ("rejects.agree", "rejects.agrees_with_bins"),
    ("rejects.rows", "rejects.by_characteristic"),
)


def is_earlier(recorded: Any) -> bool:
    """Check whether the content of a results.json is of an earlier format.

    Parameters
    ----------
    recorded : dict
        Content of results.json.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_earlier({"format": 1}), is_earlier({"format": 2})
    (True, False)
    """
    return isinstance(recorded, dict) and recorded.get("format") in range(1, FORMAT)


def today(path: Path, renamed: tuple[tuple[str, str], ...] = RENAMED) -> Path:
    """Return the place of today for a place of format 1.

    Parameters
    ----------
    path : tuple
        Keys and numbers of rows.
    renamed : tuple of (str, str)
        Old and new places.

    Returns
    -------
    tuple

    Examples
    --------
    >>> today(("characteristics", "a", "steps", 0, "at"), (("characteristics.*.steps", "characteristics.*.jumps"),))
    ('characteristics', 'a', 'jumps', 0, 'at')
    """
    for old, new in renamed:
        parts = old.split(".")
        if len(path) < len(parts):
            continue
        if not all(part in ("*", str(key)) for part, key in zip(parts, path, strict=False)):
            continue
        stars = iter(key for part, key in zip(parts, path, strict=False) if part == "*")
        made = tuple(next(stars) if part == "*" else part for part in new.split("."))
        # What follows may be renamed too.
        rest = (*made, *path[len(parts) :])
        return rest if rest == path else today(rest, renamed)
    return path


def compare_earlier(recorded: Any, recomputed: Any) -> tuple[Comparison, tuple[str, ...]]:
    """Hold the numbers and decisions of an earlier format against those of today.

    Parameters
    ----------
    recorded : dict
        Content of results.json, of format 1.
    recomputed : dict
        The same study evaluated today.

    Returns
    -------
    comparison : Comparison
        Numbers that both have, and decisions.
    remarks : tuple of str
        What was not held, and how many numbers have no place today.

    Examples
    --------
    >>> old = {"format": 1, "joint": {"n": 3.0, "was": 1.0}}
    >>> found, remarks = compare_earlier(old, {"format": 2, "joint": {"n": 3.0}})
    >>> found.compared, len(found.differences)
    ({'joint': 1}, 0)
    """
    found, gone = Comparison(), 0
    for path, old in leaves(recorded):
        place = today(path)
        new = leaf(recomputed, place)
        if place[-1:] == ("decision",) and isinstance(old, str):
            old = _DECISIONS.get(old, old)
        elif isinstance(old, bool) or not isinstance(old, int | float) or path[0] == "format":
            continue
        if new is ABSENT or isinstance(new, bool) or not isinstance(new, type(old) | float):
            gone += isinstance(old, int | float)
            continue
        dotted = ".".join(str(key) for key in place)
        package = package_of(dotted)
        found.compared[package] = found.compared.get(package, 0) + 1
        if isinstance(old, str):
            agrees = old == new
        else:
            beside = leaf(recomputed, place[:-1])
            agrees = abs(old - float(new)) <= allowed(dotted, float(new), beside).by
        if not agrees:
            found.differences.append(difference(place, old, new))
    version = leaf(recorded, ("kit", "linestudy"))
    remarks = [
        f"written by version {version} in an earlier format: numbers and decisions were held; words, page, PDF "
        "and workbook were not, for only that version sets them"
    ]
    if gone:
        remarks.append(f"{gone:,} of its numbers have no place in today's format and were not held")
    if found.differences:
        remarks.append(
            "numbers that later versions compute otherwise are named in the changelog; the version that wrote the "
            "dossier recomputes its own"
        )
    return found, tuple(remarks)
