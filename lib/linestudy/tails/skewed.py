"""Gamma, lognormal, Weibull and inverse Gaussian distributions that begin at a threshold, along that threshold.

Model: ``threshold + Z`` with Z of one of these families. Without a physical bound the threshold
is followed from just below the smallest value to sixty standard deviations away, where all but
the Weibull are the normal distribution; with one it is the bound, and the likelihood's curvature holds
all that is uncertain. Given the threshold the other two parameters have closed forms or a few
Newton steps: the mean and SD of the logarithms; ``log k - digamma(k) = log mean - mean log`` (Minka,
*Estimating a gamma distribution*, 2002); the Weibull's one equation for its shape. Values skewed to
the left are fitted with their sign changed. Shapes below one, whose density has a pole at the
threshold, are left to a known bound: a free threshold would run into the smallest value
(Cheng & Iles, *Technometrics* 29 (1987)). It misleads where a tail is heavy on both sides.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.tails.candidate import QUANTILES, Candidate, anderson_darling, step_edges

KINDS = ("gamma", "lognormal", "Weibull", "inverse Gaussian")
_GRID = np.geomspace(0.03, 60.0, 36)
_WEIBULL_GRID = np.geomspace(0.03, 4.0, 24)
#: Skewness goes with one over the distance from mean to threshold; its logarithm is as likely to be
#: anywhere before the values are seen (of the weights tried the one that costs a normal process least).
_PRIOR = np.abs(np.gradient(np.log(_GRID + 2.5)))


def fit_skewed(x: Any, w: Any, kind: str, bound: float | None = None) -> Candidate | None:
    """Fit a skewed family, its threshold known or followed.

    Parameters
    ----------
    x, w : numpy.ndarray, shape (k,)
        Different values, ascending, and how often each occurs.
    kind : str
        One of `KINDS`.
    bound : float, optional
        Physical bound at which the family begins; free when absent.

    Returns
    -------
    Candidate or None
        None where the family cannot describe the values (a value below the bound; one at it stands a quarter of a step above).

    Examples
    --------
    >>> import numpy as np
    >>> x = np.sort(np.random.default_rng(2).gamma(4.0, size=500))
    >>> fit_skewed(x, np.ones(500), "gamma", 0.0).name
    'gamma'
    """
    n = float(w.sum())
    mean = float(w @ x / n)
    sd = float(np.sqrt(w @ (x - mean) ** 2 / n))
    if bound is not None:
        z = (x - bound) / sd
        if z[0] < 0:
            return None
        if z[0] == 0:
            # A reading at the bound stands for anything up to half a step above it.
            z = np.maximum(z, z[1] / 4)
        return _fitted(x, w, z[None, :], np.array([bound]), sd, kind, kind, 2)
    left = float(w @ (x - mean) ** 3) < 0
    y, v = (-x[::-1], w[::-1]) if left else (x, w)
    grid = _WEIBULL_GRID if kind == "Weibull" else _GRID
    threshold = y[0] - grid * sd
    z = (y[None, :] - threshold[:, None]) / sd
    found = _fitted(y, v, z, threshold, sd, kind, f"{kind} with threshold", 3)
    return found.mirrored() if left and found is not None else found


def _fitted(
    x: Any, w: Any, z: Any, threshold: Any, scale: float, kind: str, name: str, parameters: int
) -> Candidate | None:
    """Fit at every threshold; z is in units of `scale` above it."""
    n = float(w.sum())
    log = np.log(z)
    fit = {
        "gamma": _gamma,
        "lognormal": _lognormal,
        "Weibull": _weibull,
        "inverse Gaussian": _wald,
    }[kind]
    loglik, shape, q, cov, cdf_at = fit(z, log, w, n)
    loglik = loglik - n * np.log(scale)
    allowed = np.isfinite(loglik)
    if parameters == 3 and kind in ("gamma", "Weibull"):
        allowed &= shape > 1.0
    if not allowed.any():
        return None
    loglik = np.where(allowed, loglik, -np.inf)
    best = int(loglik.argmax())
    quantiles = threshold[:, None] + scale * q

    def cdf(value: Any) -> Any:
        u = np.maximum((np.asarray(value, dtype=float) - threshold[best]) / scale, 1e-300)
        return cdf_at(u, best)[0]

    def sf(value: Any) -> Any:
        u = np.maximum((np.asarray(value, dtype=float) - threshold[best]) / scale, 1e-300)
        return cdf_at(u, best)[1]

    with np.errstate(invalid="ignore"):
        deviance = np.where(allowed, 2 * (loglik[best] - loglik), np.inf)
    return Candidate(
        name,
        round(n),
        float(loglik[best]),
        parameters,
        quantiles,
        scale * scale * cov,
        deviance,
        best,
        cdf,
        sf,
        anderson_darling(w, cdf(step_edges(x))),
        prior=_PRIOR if threshold.size == _PRIOR.size else None,
    )


def _lognormal(z: Any, log: Any, w: Any, n: float) -> Any:
    from scipy.special import ndtr, ndtri

    m = log @ w / n
    sd = np.sqrt(((log - m[:, None]) ** 2) @ w / n)
    loglik = -(log @ w) - n * np.log(sd) - n * (0.5 * np.log(2 * np.pi) + 0.5)
    at = np.array([float(ndtri(p)) for p in QUANTILES])
    q = np.exp(m[:, None] + sd[:, None] * at)
    by_m, by_s = q, q * at
    var_m, var_s = sd**2 / n, sd**2 / (2 * n)
    cov = (
        var_m[:, None, None] * by_m[:, :, None] * by_m[:, None, :]
        + var_s[:, None, None] * by_s[:, :, None] * by_s[:, None, :]
    )

    def both(u: Any, i: int) -> tuple[Any, Any]:
        t = (np.log(u) - m[i]) / sd[i]
        return ndtr(t), ndtr(-t)

    return loglik, sd, q, cov, both


def _gamma(z: Any, log: Any, w: Any, n: float) -> Any:
    from scipy.special import digamma, gammainc, gammaincc, gammaincinv, gammaln, polygamma

    mean, mean_log = z @ w / n, log @ w / n
    gap = np.maximum(np.log(mean) - mean_log, 1e-12)
    k = (3 - gap + np.sqrt((gap - 3) ** 2 + 24 * gap)) / (12 * gap)
    for _ in range(3):
        slope = 1 / k - polygamma(1, k)
        k = k / (1 + (np.log(k) - digamma(k) - gap) / (k * slope))
    theta = mean / k
    loglik = n * ((k - 1) * mean_log - k - k * np.log(theta) - gammaln(k))
    p = np.array(QUANTILES)
    unit = gammaincinv(k[:, None], p)
    h = 1e-4 * k[:, None]
    by_k = (
        theta[:, None] * (gammaincinv(k[:, None] + h, p) - gammaincinv(k[:, None] - h, p)) / (2 * h)
    )
    by_log = theta[:, None] * unit
    # Information of (k, log theta): [[trigamma, 1], [1, k]].
    tri = polygamma(1, k)
    det = tri * k - 1
    v_k, v_t, v_kt = k / det / n, tri / det / n, -1 / det / n
    cov = (
        v_k[:, None, None] * by_k[:, :, None] * by_k[:, None, :]
        + v_t[:, None, None] * by_log[:, :, None] * by_log[:, None, :]
        + v_kt[:, None, None]
        * (by_k[:, :, None] * by_log[:, None, :] + by_log[:, :, None] * by_k[:, None, :])
    )

    def both(u: Any, i: int) -> tuple[Any, Any]:
        return gammainc(k[i], u / theta[i]), gammaincc(k[i], u / theta[i])

    return loglik, k, theta[:, None] * unit, cov, both


def _weibull(z: Any, log: Any, w: Any, n: float) -> Any:
    mean_log = log @ w / n
    sd_log = np.sqrt(((log - mean_log[:, None]) ** 2) @ w / n)
    k = 1.2825 / np.maximum(sd_log, 1e-9)
    for _ in range(8):
        power = np.exp(k[:, None] * (log - mean_log[:, None])) * w
        s0, s1 = power.sum(axis=1), (power * log).sum(axis=1)
        s2 = (power * log**2).sum(axis=1)
        value = s1 / s0 - 1 / k - mean_log
        slope = s2 / s0 - (s1 / s0) ** 2 + 1 / k**2
        k = np.clip(k - value / slope, k / 2, k * 2)
    power = np.exp(k[:, None] * (log - mean_log[:, None])) @ w
    log_scale = mean_log + np.log(power / n) / k
    loglik = n * (np.log(k) - k * log_scale + (k - 1) * mean_log - 1)
    r = np.log(-np.log1p(-np.array(QUANTILES)))
    q = np.exp(log_scale[:, None] + r / k[:, None])
    # Covariance of (log scale, 1/k), an extreme-value location and scale: Lawless (2003), ch. 5.
    b = 1 / k
    v_b, v_u, v_ub = 0.6079 * b**2 / n, 1.1087 * b**2 / n, -0.2570 * b**2 / n
    by_u, by_b = q, q * r
    cov = (
        v_u[:, None, None] * by_u[:, :, None] * by_u[:, None, :]
        + v_b[:, None, None] * by_b[:, :, None] * by_b[:, None, :]
        + v_ub[:, None, None]
        * (by_u[:, :, None] * by_b[:, None, :] + by_b[:, :, None] * by_u[:, None, :])
    )

    def both(u: Any, i: int) -> tuple[Any, Any]:
        e = np.exp(k[i] * (np.log(u) - log_scale[i]))
        return -np.expm1(-e), np.exp(-e)

    return loglik, k, q, cov, both


def _wald(z: Any, log: Any, w: Any, n: float) -> Any:
    """Fit an inverse Gaussian: mean and shape have closed forms (Tweedie 1957), and are independent."""
    mean = z @ w / n
    shape = n / np.maximum((1 / z) @ w - n / mean, 1e-12)
    loglik = n / 2 * (np.log(shape) - np.log(2 * np.pi)) - 1.5 * (log @ w) - n / 2
    ratio = shape / mean
    unit = _wald_quantiles(ratio)
    h = 1e-3
    by_ratio = (_wald_quantiles(ratio * (1 + h)) - _wald_quantiles(ratio * (1 - h))) / (2 * h)
    # Quantile = mean * unit(shape / mean); in (log mean, log shape), variances mean/shape/n and 2/n.
    q = mean[:, None] * unit
    by_mean = q - mean[:, None] * by_ratio
    by_shape = mean[:, None] * by_ratio
    cov = (1 / ratio / n)[:, None, None] * by_mean[:, :, None] * by_mean[:, None, :] + 2 / n * (
        by_shape[:, :, None] * by_shape[:, None, :]
    )

    def both(u: Any, i: int) -> tuple[Any, Any]:
        t = np.asarray(u) / mean[i]
        return _wald_cdf(t, ratio[i]), _wald_sf(t, ratio[i])

    return loglik, shape, q, cov, both


def _wald_cdf(t: Any, ratio: Any) -> Any:
    """Compute the distribution function of an inverse Gaussian with mean one and shape `ratio`."""
    from scipy.special import log_ndtr, ndtr

    root = np.sqrt(ratio / t)
    return ndtr(root * (t - 1)) + np.exp(2 * ratio + log_ndtr(-root * (t + 1)))


def _wald_sf(t: Any, ratio: Any) -> Any:
    """Compute its complement, exact in the far tail."""
    from scipy.special import log_ndtr, ndtr

    root = np.sqrt(ratio / t)
    return ndtr(root * (1 - t)) - np.exp(2 * ratio + log_ndtr(-root * (t + 1)))


def _wald_quantiles(ratio: Any) -> Any:
    """Find quantiles of the index, by halving on a logarithmic scale."""
    p = np.array(QUANTILES)
    low = np.full((ratio.size, 3), -12.0)
    high = np.full((ratio.size, 3), 8.0)
    for _ in range(46):
        middle = (low + high) / 2
        under = _wald_cdf(np.exp(middle), ratio[:, None]) < p
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return np.exp((low + high) / 2)
