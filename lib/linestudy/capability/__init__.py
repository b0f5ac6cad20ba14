"""Does it fit the tolerance, with what confidence."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "BeforeSorting": "before_sorting",
        "GaugeRemoved": "gauge_removed",
        "RejectsStudy": "rejects",
        "before_sorting": "before_sorting",
        "cut_at": "before_sorting",
        "gauge_removed": "gauge_removed",
        "rejects": "rejects",
        "BinsStudy": "together",
        "CapabilityStudy": "capability",
        "JointStudy": "together",
        "bins": "together",
        "capability": "capability",
        "evaluate": "evaluate",
        "joint": "together",
        "location_index": "indices",
        "none_seen_limit": "indices",
        "normal_nonconforming": "indices",
        "observed_nonconforming": "indices",
        "quantile_index": "quantile",
        "quantile_intervals": "quantile",
        "spread_index": "indices",
        "target_index": "indices",
    },
)
