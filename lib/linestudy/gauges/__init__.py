"""Is the measurement system adequate."""

from linestudy.running.deprecation import old_names, renamed
from linestudy.running.lazy import attach_stub

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)

_OLD = {
    "agreement": "method_comparison",
    "attribute": "judgement_agreement",
    "bias": "bias_study",
    "crossed": "grr_anova",
    "crossed_stack": "grr_anova_stack",
    "drift": "drift_study",
    "judgement_curve": "gauge_performance_curve",
    "left_out": "influence",
    "linearity": "linearity_study",
    "nested": "nested_components",
    "repeatability": "cg_cgk",
    "resolution": "resolution_study",
    "risk": "conformity_risk",
    "uncertainty": "uncertainty_budget",
    "wrong_verdicts": "global_risks",
}
_TABLE = ("data", "value", "part", "appraiser", "trial")
_STYLE = ("confidence", "method", "draws", "seed", "unit")

__getattr__ = old_names(
    __name__,
    [renamed(old, new, since="0.2.0", removal="0.3.0") for old, new in _OLD.items()],
    __getattr__,
    positions={
        "agreement": (
            *("first", "second", "error_ratio", "tolerance", "confidence", "names", "unit"),
            *("with_icc", "lower", "upper", "step"),
        ),
        "attribute": ("data", "confidence"),
        "bias": ("readings", "reference", "tolerance", "sd_method", "confidence", "unit"),
        "crossed": (
            *(*_TABLE, "factor", "tolerance", "pool_above", "sigma_multiplier"),
            *_STYLE,
        ),
        "crossed_stack": ("readings", "tolerances", "pool_above", "sigma_multiplier", *_STYLE),
        "drift": (
            *("order", "readings", "reference", "resets", "tolerance", "allowed"),
            *("confidence", "unit"),
        ),
        "judgement_curve": ("measured", "accepted", "lower", "upper", "confidence", "unit"),
        "left_out": (*_TABLE, "whole", "confidence", "seed", "unit"),
        "linearity": (
            *("readings", "reference", "lower", "upper", "confidence", "unit"),
            "reference_uncertainty",
        ),
        "nested": ("data", "levels", "value", "confidence", "draws", "seed", "unit"),
        "repeatability": (
            *("readings", "reference", "tolerance", "fraction", "sigma_multiplier"),
            *("confidence", "unit"),
        ),
        "resolution": (
            *("readings", "tolerance", "process", "repeat_sd", "repeat_df", "declared"),
            *("confidence", "unit", "same_gauge"),
        ),
        "risk": (
            *(
                "measured_density",
                "mean",
                "sd",
                "gauge_sd",
                "lower",
                "upper",
                "bias",
                "risk_target",
            ),
            *("truths", "confidence", "unit", "observed", "cautions"),
        ),
        "uncertainty": (
            *("contributions", "lower", "upper", "tolerance", "coverage", "conformance"),
            *("confidence", "unit"),
        ),
        "wrong_verdicts": (
            *("true_density", "gauge_sd", "lower", "upper", "guard_band", "bias", "scale"),
        ),
    },
)
