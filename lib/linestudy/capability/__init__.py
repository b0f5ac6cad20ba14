"""Does it fit the tolerance, with what confidence."""

from linestudy.running.deprecation import old_names, renamed
from linestudy.running.lazy import attach_stub

_load, __dir__, __all__ = attach_stub(__name__, __file__)
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
