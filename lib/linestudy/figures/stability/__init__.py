"""Pictures of the room stability."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "attribute_chart": "charts",
        "autocorrelation": "movements",
        "change_point_path": "movements",
        "control_chart": "charts",
        "explorer": "charts",
        "plan_cost": "movements",
        "residual_chart": "charts",
        "run_lengths": "movements",
        "shares_of_variance": "movements",
        "small_shift_chart": "charts",
        "spread_chart": "charts",
        "stream_means": "movements",
        "stream_spreads": "movements",
        "tool_wear_line": "movements",
    },
)
