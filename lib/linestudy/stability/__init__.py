"""Does the process hold still."""

from typing import Any

from linestudy.results.deprecation import old_names, renamed
from linestudy.results.lazy import attach

_load, _, _names = attach(
    __name__,
    {
        "ATTRIBUTE_CHARTS": "charts.attribute_charts",
        "AttributeChartStudy": "charts.attribute_charts",
        "AutocorrelationStudy": "movement.serial_correlation",
        "CONTROL_CHARTS": "charts.chart_study",
        "ChangePointStudy": "movement.change_point_search",
        "ChartStudy": "charts.chart_study",
        "DataQualityStudy": "record_checks",
        "RULES": "charts.rules",
        "RULE_SETS": "charts.rules",
        "EqualSpreadStudy": "movement.equal_spread",
        "ResidualChartStudy": "charts.residuals",
        "RunLengthStudy": "charts.run_lengths",
        "SamplingPlan": "charts.sampling_plans",
        "SmallShiftStudy": "charts.small_shift_charts",
        "StreamStudy": "movement.streams",
        "Summaries": "summaries",
        "TimeModelStudy": "movement.time_dependent_model",
        "ToolWearStudy": "movement.wear_rate",
        "VarianceComponentsStudy": "movement.nested_levels",
        "VarianceSourcesStudy": "movement.sources",
        "attribute_chart": "charts.attribute_charts",
        "autocorrelation": "movement.serial_correlation",
        "average_run_length": "charts.run_lengths",
        "c4": "charts.constants",
        "change_points": "movement.change_point_search",
        "compare_streams": "movement.streams",
        "control_chart": "charts.shewhart",
        "control_chart_of_summaries": "charts.shewhart",
        "cusum_chart": "charts.small_shift_charts",
        "cusum_run_length": "charts.ewma_cusum",
        "d2": "charts.constants",
        "d2_star": "charts.constants",
        "d3": "charts.constants",
        "data_quality": "record_checks",
        "design_cusum": "charts.ewma_cusum",
        "design_ewma": "charts.ewma_cusum",
        "equal_spread": "movement.equal_spread",
        "evaluate": "evaluate",
        "ewma_chart": "charts.small_shift_charts",
        "ewma_run_length": "charts.ewma_cusum",
        "explore": "exploring",
        "frozen_stretches": "record_checks",
        "median_sd": "charts.constants",
        "range_df": "charts.constants",
        "range_limits": "charts.constants",
        "range_probability_limits": "charts.constants",
        "residual_chart": "charts.residuals",
        "run_length": "charts.run_lengths",
        "sampling_plan": "charts.sampling_plans",
        "sd_limits": "charts.constants",
        "sd_probability_limits": "charts.constants",
        "summaries_from_table": "summaries",
        "summarise": "summaries",
        "time_model": "movement.time_dependent_model",
        "tool_wear": "movement.wear_rate",
        "variance_components": "movement.nested_levels",
        "variance_sources": "movement.sources",
        "within_subgroup_sds": "charts.limits",
    },
)

#: The line log has a room of its own, above this one; its function is still found here, by name.
_OF_THE_LOG = ("evaluate_log",)
__all__ = sorted([*_names, *_OF_THE_LOG])


def _load_any(name: str) -> Any:
    if name in _OF_THE_LOG:
        from importlib import import_module

        return getattr(import_module("linestudy.linelog"), name)
    return _load(name)


def __dir__() -> list[str]:
    return __all__


_SINCE, _REMOVAL = "0.2.0", "0.3.0"
__getattr__ = old_names(
    __name__,
    [
        renamed(old, new, _SINCE, _REMOVAL)
        for old, new in (
            ("COUNT_KINDS", "ATTRIBUTE_CHARTS"),
            ("KINDS", "CONTROL_CHARTS"),
            ("advise", "sampling_plan"),
            ("chart", "control_chart"),
            ("chart_summaries", "control_chart_of_summaries"),
            ("counts", "attribute_chart"),
            ("from_table", "summaries_from_table"),
            ("residual", "residual_chart"),
            ("run_components", "variance_components"),
            ("sequential", "linestudy.stability.charts.small_shift_charts.small_shift_chart"),
            ("serial", "autocorrelation"),
            ("soundness", "data_quality"),
            ("sources", "variance_sources"),
            ("steps", "change_points"),
            ("wear", "tool_wear"),
            ("within_spreads", "within_subgroup_sds"),
        )
    ],
    _load_any,
)
