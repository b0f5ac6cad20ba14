"""Two normal components, as two stations or two cavities give.

Model: each part comes from one of two normal distributions, in fixed shares. The search begins with some rounds of the
EM algorithm (Dempster, Laird & Rubin, *JRSS B* 39 (1977)) from several splits of the values. Each component keeps a standard
deviation of at least a tenth of the whole and a share of at least two hundredths, without which the likelihood has no
maximum; a top inside these limits is preferred to one at them (Hathaway, *Annals of Statistics* 13 (1985), 795-800).
Misleads where one skewed distribution is cut in two: a mixture fits any hump, so it is preferred only where it
is known of stations or where nothing simpler fits.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special

from linestudy.results import CannotJudge
from linestudy.shape.families.family import HALF_LOG_2PI, Family, moments, moved, quantiles
from linestudy.shape.families.mixture_tops import LIMITS, rounds_of_em, tops

#: Rounds of EM before the search, and splits it begins from: share, means and SDs, in SDs of the whole.
_ROUNDS = 60
_SPLITS = (
    (0.5, -0.8, 0.6, 0.8, 0.6),
    (0.85, -0.3, 0.8, 1.6, 0.5),
    (0.15, -1.6, 0.5, 0.3, 0.8),
    (0.7, 0.0, 0.7, 0.0, 1.5),
)


class NormalMixture(Family):
    """Coordinates: logit of the first share; mean and log SD of the first, and of the second."""

    name = "normal mixture"
    names = ("share_first", "mean_first", "sd_first", "mean_second", "sd_second")
    kinds, coordinate_kinds = "npsps", "nplpl"
    limits = LIMITS

    def starts(self, x: Any, w: Any) -> list[Any]:
        if x.size < 5:
            raise CannotJudge("Fewer than five different values cannot show two components.")
        mean, sd, _ = moments(x, w)
        share, m1, s1, m2, s2 = np.array(_SPLITS).T[:, :, None]
        splits = np.array([share, mean + m1 * sd, s1 * sd, mean + m2 * sd, s2 * sd])
        return list(rounds_of_em(x, w / w.sum(), self.coordinates(splits), _ROUNDS)[:, :, 0].T)

    def parameters(self, c: Any) -> Any:
        return np.array([special.expit(c[0]), c[1], np.exp(c[2]), c[3], np.exp(c[4])])

    def coordinates(self, p: Any) -> Any:
        return np.array([special.logit(p[0]), p[1], np.log(p[2]), p[3], np.log(p[4])])

    def _parts(self, x: Any, c: Any) -> tuple[Any, Any]:
        return (x - c[1]) / np.exp(c[2]), (x - c[3]) / np.exp(c[4])

    def logpdf(self, x: Any, c: Any) -> Any:
        u1, u2 = self._parts(x, c)
        first = special.log_expit(c[0]) - 0.5 * u1 * u1 - c[2]
        second = special.log_expit(-np.asarray(c[0])) - 0.5 * u2 * u2 - c[4]
        return np.logaddexp(first, second) - HALF_LOG_2PI

    def score(self, x: Any, c: Any) -> list[Any]:
        u1, u2 = self._parts(x, c)
        odds = c[0] - c[2] + c[4] + 0.5 * (u2 * u2 - u1 * u1)
        first, second = special.expit(odds), special.expit(-odds)
        return [
            first - special.expit(c[0]),
            first * u1 / np.exp(c[2]),
            first * (u1 * u1 - 1),
            second * u2 / np.exp(c[4]),
            second * (u2 * u2 - 1),
        ]

    def _weighed(self, first: Any, second: Any, c: Any) -> Any:
        share = special.expit(c[0])
        return share * special.ndtr(first) + special.expit(-np.asarray(c[0])) * special.ndtr(second)

    def cdf(self, x: Any, c: Any) -> Any:
        u1, u2 = self._parts(x, c)
        return self._weighed(u1, u2, c)

    def sf(self, x: Any, c: Any) -> Any:
        u1, u2 = self._parts(x, c)
        return self._weighed(-u1, -u2, c)

    def ppf(self, q: Any, c: Any) -> Any:
        # Each quantile of the whole lies between those of the components.
        z = np.clip(special.ndtri(np.asarray(q, dtype=float)), -39.0, 39.0)
        first, second = c[1] + math.exp(c[2]) * z, c[3] + math.exp(c[4]) * z
        low, high = np.minimum(first, second), np.maximum(first, second)
        return quantiles(self, q, c, low, high, min(math.exp(c[2]), math.exp(c[4])))

    def rvs(self, size: Any, c: Any, rng: np.random.Generator) -> Any:
        share, m1, s1, m2, s2 = self.parameters(c)
        first = rng.random(size) < share
        unit = rng.standard_normal(size)
        return np.where(first, m1 + s1 * unit, m2 + s2 * unit)

    def tops(self, x: Any, start: Any) -> tuple[Any, Any]:
        # On the scale of each sample itself, where the ends of the family are; as a fit has it.
        shift, scale = x.mean(axis=1), x.std(axis=1)
        begin = moved(
            np.repeat(start[:, None], len(x), axis=1),
            self.coordinate_kinds,
            -shift / scale,
            1 / scale,
        )
        c, missing = tops((x - shift[:, None]) / scale[:, None], begin)
        return moved(c, self.coordinate_kinds, shift, scale), missing

    def in_range(self, c: Any) -> Any:
        """Put the component of the smaller mean first, of one point or of many in columns."""
        out = np.asarray(super().in_range(c))
        turned = np.array([-out[0], out[3], out[4], out[1], out[2]])
        return np.where(out[1] <= out[3], out, turned)
