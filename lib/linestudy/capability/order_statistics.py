"""What share of all parts the extremes of a sample hold, whatever the distribution."""

from __future__ import annotations

from typing import Literal

from linestudy.results import arguments

#: The largest sample size that is looked for.
LARGEST = 10_000_000


def confidence_of(n: float, content: float, left_out: int) -> float:
    r"""Compute the confidence that n values without their `left_out` extremes hold a share.

    Parameters
    ----------
    n : float
        (Effective) number of independent values.
    content : float
        Share of the population, between 0 and 1.
    left_out : int
        Values outside the interval plus one for each of its ends: 2 for the two extremes, 1 for
        one extreme with nothing on the other side.

    Returns
    -------
    float
        Between 0 and 1.

    Raises
    ------
    ValueError, TypeError
        A share that is not between 0 and 1, or no value left out.

    Notes
    -----
    .. math:: P\{\mathrm{Beta}(n - m + 1, m) \ge p\}

    with :math:`m` values left out (Wilks 1941).

    Examples
    --------
    >>> round(confidence_of(93, 0.95, 2), 3)
    0.95
    """
    from scipy.special import betaincc

    arguments.share("content", content)
    arguments.whole("left_out", left_out, least=1)
    if n - left_out + 1 <= 0:
        return 0.0
    return float(betaincc(n - left_out + 1, left_out, content))


def tolerance_interval_sample_size(
    content: float, *, confidence: float = 0.95, sides: Literal[1, 2] = 2
) -> int:
    r"""Find how many independent values a tolerance interval from their extremes needs.

    Parameters
    ----------
    content : float
        Share of the population that it holds, between 0 and 1.
    confidence : float
        At which it holds that share, between 0 and 1.
    sides : {1, 2}
        1 where only the largest (or smallest) value bounds the interval.

    Returns
    -------
    int
        Independent values.

    Raises
    ------
    ValueError, TypeError
        An argument outside its range.

    See Also
    --------
    tolerance_intervals : The intervals themselves.

    Notes
    -----
    Model: independent values of any continuous distribution. The smallest n with

    .. math:: P\{\mathrm{Beta}(n - m + 1, m) \ge p\} \ge \gamma, \qquad m = 1, 2;

    for one side :math:`\log(1 - \gamma) / \log p`. Misleads where values are serially correlated: then it
    is the effective sample size that counts.

    References
    ----------
    Wilks, *Annals of Mathematical Statistics* 12 (1941), 91-96; ISO 16269-6:2014.

    Examples
    --------
    >>> tolerance_interval_sample_size(0.95), tolerance_interval_sample_size(0.95, sides=1)
    (93, 59)
    """
    arguments.share("content", content)
    arguments.share("confidence", confidence)
    arguments.one_of("sides", sides, (1, 2))
    low, high = int(sides), sides + 1
    while confidence_of(high, content, sides) < confidence and high < LARGEST:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if confidence_of(middle, content, sides) < confidence:
            low = middle
        else:
            high = middle
    return high


def share_held(n: float, *, confidence: float = 0.95, left_out: int = 2) -> float:
    """Compute the share of the population that n values without their extremes hold at a confidence.

    Parameters
    ----------
    n : float
        (Effective) number of independent values.
    confidence : float
        Between 0 and 1.
    left_out : int
        As for :func:`confidence_of`.

    Returns
    -------
    float
        Between 0 and 1; 0 where nothing is left.

    Notes
    -----
    The quantile of the beta distribution of :func:`confidence_of` (Wilks 1941).

    Examples
    --------
    >>> round(share_held(93), 3)
    0.95
    """
    from scipy.special import betaincinv

    if n - left_out + 1 <= 0:
        return 0.0
    return float(betaincinv(n - left_out + 1, left_out, 1 - confidence))
