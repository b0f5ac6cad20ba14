"""What distributions are called in study.toml; how they are fitted is known to the package ``shape`` alone."""

from __future__ import annotations

#: Names of the families, by their key and as tables show them, and the word that leaves the choice to the readings.
FAMILY_NAMES = (
    "auto",
    "normal",
    "logistic",
    "normal mixture",
    "lognormal",
    "lognormal with threshold",
    "gamma",
    "gamma with threshold",
    "Weibull",
    "Weibull with threshold",
    "folded normal",
    "half-normal",
    "Rayleigh",
    "largest extreme value",
    "Gumbel (maximum)",
    "Johnson SB",
    "Johnson SL",
    "Johnson SU",
    "Johnson S_B",
    "Johnson S_L",
    "Johnson S_U",
    "Box-Cox normal",
    "Yeo-Johnson normal",
)
