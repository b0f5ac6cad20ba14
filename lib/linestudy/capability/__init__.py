"""Does it fit the tolerance, with what confidence."""

from linestudy.results.deprecation import old_names, renamed
from linestudy.results.lazy import attach

_MODULES = {
    "finding": ("CapabilityStudy",),
    "study": ("process_capability",),
    "indices": ("cp", "cpk", "cpm"),
    "nonconforming": (
        "ObservedNonconforming",
        "normal_nonconforming",
        "observed_nonconforming",
        "zero_failure_bound",
    ),
    "quantile_indices": ("quantile_intervals",),
    "quantile_movement": ("quantile_index",),
    "within_subgroups": ("WithinEstimate", "WithinStudy", "within_subgroup_sd"),
    "tolerance": (
        "ToleranceInterval",
        "ToleranceIntervals",
        "tolerance_intervals",
    ),
    "order_statistics": ("tolerance_interval_sample_size",),
    "blocks": ("BlockBootstrap", "block_bootstrap"),
    "short_run": ("MachineStudy", "machine_performance"),
    "round_zone.study": (
        "ObservedOutside",
        "PositionBonus",
        "PositionStudy",
        "position_capability",
    ),
    "sorting.truncation": (
        "RunnerUp",
        "TruncatedStudy",
        "truncated_capability",
        "truncation_points",
    ),
    "gauge.removed": ("GaugeRemoved", "gauge_removed"),
    "whole_part.bins_study": ("BinsStudy", "LoggedCounts", "bin_counts"),
    "whole_part.copula": ("share_failing_any",),
    "whole_part.joint_study": (
        "ExpectedJoint",
        "JointStudy",
        "PairCorrelation",
        "joint_conformity",
    ),
    "whole_part.rejects_study": ("PredictedRejects", "RejectsStudy", "reject_balance"),
    "evaluate": ("evaluate",),
}

_load, __dir__, __all__ = attach(
    __name__, {name: module for module, names in _MODULES.items() for name in names}
)
__getattr__ = old_names(
    __name__,
    [
        renamed(old, new, since="0.2.0", removal="0.3.0")
        for old, new in (
            ("capability", "process_capability"),
            ("spread_index", "cp"),
            ("location_index", "cpk"),
            ("target_index", "cpm"),
            ("none_seen_limit", "zero_failure_bound"),
            ("within", "within_subgroup_sd"),
            ("values_needed", "tolerance_interval_sample_size"),
            ("machine", "machine_performance"),
            ("position", "position_capability"),
            ("before_sorting", "truncated_capability"),
            ("cut_at", "truncation_points"),
            ("bins", "bin_counts"),
            ("joint", "joint_conformity"),
            ("rejects", "reject_balance"),
        )
    ],
    _load,
)
