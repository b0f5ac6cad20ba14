"""How far the values may reach: indices that lean on no single family of distributions."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "Candidate": "candidate",
        "TailIndex": "admissible",
        "Tails": "admissible",
        "fit_folded_t": "folded",
        "fit_normal": "symmetric",
        "fit_skewed": "skewed",
        "fit_t": "symmetric",
        "peaks": "peaks",
        "tails": "admissible",
    },
)
