"""Does the process hold still."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "ChartStudy": "charts",
        "SerialStudy": "serial",
        "SourcesStudy": "sources",
        "TimeModel": "time_model",
        "c4": "constants",
        "chart": "charts",
        "d2": "constants",
        "d2_star": "constants",
        "d3": "constants",
        "evaluate": "evaluate",
        "range_df": "constants",
        "serial": "serial",
        "sources": "sources",
        "time_model": "time_model",
    },
)
