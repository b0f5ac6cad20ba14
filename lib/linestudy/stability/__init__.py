"""Does the process hold still."""

from typing import Any

from linestudy.results.lazy import attach

_of_stability, _, _names = attach(
    __name__,
    {
        "COUNT_KINDS": "charts.attribute_charts",
        "KINDS": "charts.chart_study",
        "RULES": "charts.rules",
        "RULE_SETS": "charts.rules",
        "ChartStudy": "charts.chart_study",
        "ComponentsStudy": "movement.variance_components",
        "CountStudy": "charts.attribute_charts",
        "PlanAdvice": "charts.sampling_plan",
        "ResidualStudy": "charts.residual_chart",
        "RunLengthStudy": "charts.run_lengths",
        "SequentialStudy": "charts.ewma_cusum",
        "SerialStudy": "movement.autocorrelation",
        "SoundnessStudy": "data_quality",
        "SourcesStudy": "movement.variance_sources",
        "StepsStudy": "movement.change_points",
        "Summaries": "summaries",
        "TimeModel": "movement.time_dependent_model",
        "WearStudy": "movement.tool_wear",
        "advise": "charts.sampling_plan",
        "average_run_length": "charts.run_lengths",
        "c4": "charts.constants",
        "chart": "charts.shewhart",
        "chart_summaries": "charts.shewhart",
        "counts": "charts.attribute_charts",
        "cusum_run_length": "charts.ewma_cusum",
        "d2": "charts.constants",
        "d2_star": "charts.constants",
        "d3": "charts.constants",
        "design_cusum": "charts.ewma_cusum",
        "design_ewma": "charts.ewma_cusum",
        "evaluate": "evaluate",
        "explore": "exploring",
        "ewma_run_length": "charts.ewma_cusum",
        "from_table": "summaries",
        "median_sd": "charts.constants",
        "range_df": "charts.constants",
        "range_limits": "charts.constants",
        "range_probability_limits": "charts.constants",
        "residual": "charts.residual_chart",
        "run_components": "movement.variance_components",
        "run_length": "charts.run_lengths",
        "sd_limits": "charts.constants",
        "sd_probability_limits": "charts.constants",
        "sequential": "charts.ewma_cusum",
        "serial": "movement.autocorrelation",
        "soundness": "data_quality",
        "sources": "movement.variance_sources",
        "steps": "movement.change_points",
        "summarise": "summaries",
        "time_model": "movement.time_dependent_model",
        "wear": "movement.tool_wear",
        "within_spreads": "charts.limits",
    },
)

#: The line log has a room of its own, above this one; its function is still found here, by name.
_OF_THE_LOG = ("evaluate_log",)
__all__ = sorted([*_names, *_OF_THE_LOG])


def __getattr__(name: str) -> Any:
    if name in _OF_THE_LOG:
        from importlib import import_module

        return getattr(import_module("linestudy.linelog"), name)
    return _of_stability(name)


def __dir__() -> list[str]:
    return __all__
