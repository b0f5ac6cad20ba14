"""Does the process hold still."""

from typing import Any

from linestudy.core.lazy import attach

_of_stability, __dir__, __all__ = attach(
    __name__,
    {
        "COUNT_KINDS": "counts",
        "KINDS": "chart_study",
        "RULES": "rules",
        "RULE_SETS": "rules",
        "ChartStudy": "chart_study",
        "ComponentsStudy": "components",
        "CountStudy": "counts",
        "PlanAdvice": "advice",
        "ResidualStudy": "residual",
        "RunLengthStudy": "run_length",
        "SequentialStudy": "sequential",
        "SerialStudy": "serial",
        "SoundnessStudy": "soundness",
        "SourcesStudy": "sources",
        "StepsStudy": "steps",
        "Summaries": "summaries",
        "TimeModel": "time_model",
        "WearStudy": "wear",
        "advise": "advice",
        "average_run_length": "run_length",
        "c4": "constants",
        "chart": "charts",
        "chart_summaries": "charts",
        "counts": "counts",
        "cusum_run_length": "sequential",
        "d2": "constants",
        "d2_star": "constants",
        "d3": "constants",
        "design_cusum": "sequential",
        "design_ewma": "sequential",
        "evaluate": "evaluate",
        "explore": "exploring",
        "ewma_run_length": "sequential",
        "from_table": "summaries",
        "median_sd": "constants",
        "range_df": "constants",
        "range_limits": "constants",
        "range_probability_limits": "constants",
        "residual": "residual",
        "run_components": "components",
        "run_length": "run_length",
        "sd_limits": "constants",
        "sd_probability_limits": "constants",
        "sequential": "sequential",
        "serial": "serial",
        "soundness": "soundness",
        "sources": "sources",
        "steps": "steps",
        "summarise": "summaries",
        "time_model": "time_model",
        "wear": "wear",
        "within_spreads": "within",
    },
)


def __getattr__(name: str) -> Any:
    if name == "evaluate_log":
        from importlib import import_module

        # The line log has a room of its own, above this one; its function is still found here, by name.
        return import_module("linestudy.linelog").evaluate_log
    return _of_stability(name)
