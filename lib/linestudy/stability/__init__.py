"""Is the process in statistical control."""

from linestudy.running.deprecation import old_names, renamed
from linestudy.running.lazy import attach_stub

_load, __dir__, __all__ = attach_stub(__name__, __file__)

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
            ("evaluate_log", "linestudy.linelog.evaluate_log"),
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
    _load,
)
