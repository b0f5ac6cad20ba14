"""Pictures of the room stability."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "autocorrelation": "movements",
        "control_chart": "charts",
        "count_chart": "charts",
        "explorer": "charts",
        "plan_cost": "movements",
        "residual_chart": "charts",
        "run_lengths": "movements",
        "sequential_chart": "charts",
        "shares_of_variance": "movements",
        "spread_chart": "charts",
        "steps_path": "movements",
        "wear_line": "movements",
    },
)
