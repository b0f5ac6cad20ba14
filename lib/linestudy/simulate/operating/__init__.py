"""What a decision is worth: processes of known truth, and shares of "meets" over simulated studies of them."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "Cell": "cells",
        "INDICES": "cells",
        "Truth": "truth",
        "adequate_gauge": "cells",
        "run_grid": "cells",
        "simulate_cell": "cells",
        "truths": "truths",
    },
)
