"""Families of distributions, one class each: density, score, shares, quantiles, starts, coordinates.

Densities are written out and checked against SciPy's in the tests, scores against numerical slopes.
"""

from __future__ import annotations

from linestudy.shape.families.family import Family
from linestudy.shape.families.johnson import JohnsonB, JohnsonL, JohnsonU
from linestudy.shape.families.location_scale import LargestExtremeValue, Logistic, Normal
from linestudy.shape.families.magnitudes import FoldedNormal, HalfNormal, Rayleigh
from linestudy.shape.families.mixture import NormalMixture
from linestudy.shape.families.positive import Gamma, Lognormal, Weibull
from linestudy.shape.families.power import BoxCox, YeoJohnson
from linestudy.shape.families.threshold import ThresholdGamma, ThresholdLognormal, ThresholdWeibull

#: All families by the names that study.toml may give under "family", in the order in which they are listed.
FAMILIES: dict[str, Family] = {
    item.name: item
    for item in (
        ThresholdWeibull(),
        JohnsonL(),
        JohnsonU(),
        JohnsonB(),
        BoxCox(),
        YeoJohnson(),
        Normal(),
        Logistic(),
        LargestExtremeValue(),
        HalfNormal(),
        Rayleigh(),
        FoldedNormal(),
        Lognormal(),
        Gamma(),
        Weibull(),
        ThresholdGamma(),
        ThresholdLognormal(),
        NormalMixture(),
    )
}
MIXTURE = NormalMixture.name

__all__ = ["FAMILIES", "MIXTURE", "Family"]
