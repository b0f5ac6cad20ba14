"""What distribution is it."""

from linestudy.results.deprecation import old_names, renamed
from linestudy.results.lazy import attach

_MODULES = {
    "families": ("FAMILIES",),
    "fitting": ("FittedDistribution", "fit"),
    "refits": ("fit_many", "ppf_many"),
    "johnson": ("johnson_by_moments", "johnson_by_quantiles"),
    "normality": ("NormalityTest", "normality_tests"),
    "goodness": ("anderson_darling", "bootstrap_p"),
    "quantiles": ("quantile_interval",),
    "finding": ("FamilyFit", "ShapeStudy"),
    "selection": ("select_distribution",),
    "evaluate": ("evaluate",),
}

_load, __dir__, __all__ = attach(
    __name__, {name: module for module, names in _MODULES.items() for name in names}
)
__getattr__ = old_names(
    __name__,
    (
        renamed("choose", "select_distribution", since="0.2.0", removal="0.3.0"),
        renamed("normality", "normality_tests", since="0.2.0", removal="0.3.0"),
        renamed("NAMES", "FAMILIES", since="0.2.0", removal="0.3.0"),
    ),
    _load,
)
