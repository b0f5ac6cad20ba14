"""What distribution is it."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "FamilyFit": "finding",
        "Fitted": "fitting",
        "NAMES": "families",
        "NormalityTest": "normality",
        "ShapeStudy": "finding",
        "anderson_darling": "goodness",
        "bootstrap_p": "goodness",
        "choose": "selection",
        "evaluate": "evaluate",
        "fit_many": "refits",
        "johnson_by_moments": "johnson",
        "johnson_by_quantiles": "johnson",
        "ppf_many": "refits",
        "quantile_interval": "quantiles",
        "fit": "fitting",
        "normality": "normality",
    },
)
