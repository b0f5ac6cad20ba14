"""What distribution is it."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "FamilyFit": "choice",
        "Fitted": "fitting",
        "NAMES": "families",
        "NormalityTest": "normality",
        "ShapeStudy": "choice",
        "anderson_darling": "goodness",
        "bootstrap_p": "goodness",
        "choose": "choice",
        "evaluate": "evaluate",
        "fit": "fitting",
        "normality": "normality",
    },
)
