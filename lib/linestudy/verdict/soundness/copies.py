"""Readings that occur twice: a stretch copied, also with a constant added, noise on the last digit, shuffled, turned about or mirrored.

Model of an honest record: two stretches that have nothing to do with each other agree reading by
reading only by chance. Looked at are differences of neighbours, so that a constant added makes no
difference; two agree where they differ by no more than a tolerance (nothing, or twice the step of
the readings, or a tenth of their spread). Agreements at lags drawn at random show how many runs of
agreement begin and with which probability c a run goes on for one more reading (the largest such
probability that enough runs tell, plus its error). A run of L or more anywhere has probability at most
``pairs x begun x c ** (L - 1)`` (union bound, as for the longest common run of two sequences: Arratia &
Waterman, *Advances in Mathematics* 55 (1985), 13-23). Runs are counted, not readings, so a copy cannot
vouch for itself. Whole subgroups are compared in the same way with their readings put in order of
size, which finds what was shuffled.

Two more tests ask for no stretch that agrees reading by reading. *Copies in any order* are seen in how often values occur: of
readings that are independent of each other, whatever their distribution and however it is rounded, the numbers N_k of values that occur
k times are those of a mixture of Poisson distributions, whose expectations obey N_k^2 <= N_(k-1) N_(k+1) (k + 1) / k (the inequality of
Cauchy and Schwarz); a record that holds each reading twice has twos and hardly any ones and threes. *Copies that were
changed*, with noise, mirrored, or in the opposite order, are seen in one single lag, or one single centre of reflection, at which a record goes with
itself, where its correlation on either side, and everywhere else, is that of noise; a process that repeats itself goes with itself at many lags.

It misleads where a line repeats itself exactly. Stretches without movement carry no evidence, because
c is then near one. Single readings copied here and there agree with nobody and are not found.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.results import counted
from linestudy.results.rounding import as_given
from linestudy.verdict.facts import Doubt

#: Pairs of readings looked at for how agreements begin and go on.
_LOOKED = 300_000
#: Runs of agreement that must be left before a probability is read from them.
_FEWEST = 60
#: Smallest probability that a run goes on which is believed: what few runs cannot tell.
_FLOOR = 0.05
#: Windows that are looked up; a copy shorter than the distance between two of them may be missed.
_ASKED = 1000
#: Windows that may agree by chance before longer ones are taken, and the longest.
_BY_CHANCE, _LONGEST = 4_000, 40
#: Share of places that agree beyond which readings hardly move, and nothing can be concluded.
_STILL = 0.5
#: Pairs of windows beyond which nothing can be concluded.
_CROWD = 300_000
#: Readings beyond which only the first are searched.
_MOST = 60_000
#: A tolerance up to this share of the spread of differences still tells a copy from chance.
_WIDEST = 0.5


def copied_stretch(y: Any, step: float) -> Doubt | None:
    """Find the longest stretch of readings that occurs twice.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        In the order recorded.
    step : float
        Of the readings.

    Returns
    -------
    Doubt or None
        None where nothing agrees, or too few readings are there.
    """
    y = y[:_MOST]
    sd = float(y.std())
    if y.size < 24 or sd == 0:
        return None
    moves = np.diff(y)[:, None]
    found = _tried(moves, sd, step, (0.0, 2.0 * step, 0.1 * sd))
    if found is None:
        return None
    p, first, second, length = found
    return Doubt(
        "copied readings",
        p,
        f"{length + 1} readings from reading {first + 1:,} on stand again from reading {second + 1:,} on",
    )


def copied_subgroups(y: Any, codes: Any, step: float) -> Doubt | None:
    """Find the longest series of subgroups whose readings occur again in another order.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    codes : numpy.ndarray of int, shape (n,)
        Subgroup, -1 for none.
    step : float
        Of the readings.

    Returns
    -------
    Doubt or None
        None where nothing agrees, or no subgroups of three to 25 readings are there.
    """
    if not (codes >= 0).any():
        return None
    counts = np.bincount(codes[codes >= 0])
    size = int(np.median(counts[counts > 0]))
    if not 3 <= size <= 25:
        return None
    whole = np.isin(codes, np.flatnonzero(counts == size))
    groups = y[whole][np.argsort(codes[whole], kind="stable")].reshape(-1, size)[: _MOST // size]
    sd = float(y.std())
    if groups.shape[0] < 12 or sd == 0:
        return None
    found = _tried(np.diff(np.sort(groups, axis=1), axis=1), sd, step, (0.0, 2.0 * step))
    if found is None:
        return None
    p, first, second, length = found
    return Doubt(
        "copied readings",
        p,
        f"the readings of {length} subgroups from subgroup {first + 1:,} on stand again, in another order, from "
        f"subgroup {second + 1:,} on",
    )


def _tried(
    moves: Any, sd: float, step: float, tolerances: tuple[float, ...]
) -> tuple[float, int, int, int] | None:
    """Find the least likely agreement of all tolerances, its p-value times how many were tried."""
    useful = sorted({t for t in tolerances if t <= _WIDEST * sd})
    slack = max(1e-6 * step, 1e-9 * sd)
    found = [one for t in useful if (one := _longest(moves, t + slack)) is not None]
    if not found:
        return None
    p, *rest = min(found)
    return (min(p * len(useful), 1.0), *rest)  # type: ignore[return-value]


def _longest(moves: Any, tolerance: float) -> tuple[float, int, int, int] | None:
    """Return p-value, both places and length in rows of the longest agreement."""
    n = moves.shape[0]
    begun, goes_on, agreeing = _by_chance(moves, tolerance)
    if agreeing > _STILL:
        return None
    stride = max(n // _ASKED, 1)
    many = n * n / (2 * stride) * begun
    window = max(math.ceil(1 + math.log(max(many / _BY_CHANCE, 1)) / -math.log(goes_on)), 2)
    window = max(window, 6 if moves.shape[1] == 1 else 2)
    if window > _LONGEST or n < 2 * window + 2:
        return None
    pairs = _alike(moves, window, tolerance, stride)
    if not len(pairs):
        return None
    first, second, length = _extended(moves, pairs, tolerance)
    log_p = math.log(n * n / 2 * begun) + (length - 1) * math.log(goes_on)
    return math.exp(min(log_p, 0.0)), first, second, length


def _alike(moves: Any, window: int, tolerance: float, stride: int) -> Any:
    """Find pairs of places from which on a window agrees, not overlapping."""
    from scipy.spatial import cKDTree

    views = np.lib.stride_tricks.sliding_window_view(moves, window, axis=0)
    flat = np.ascontiguousarray(views.reshape(views.shape[0], -1))
    asked = np.arange(0, flat.shape[0], stride)
    tree = cKDTree(flat)
    sizes = tree.query_ball_point(flat[asked], tolerance, p=np.inf, return_length=True)
    # Each place is found by itself.
    if not sizes.size < sizes.sum() <= _CROWD:
        return np.empty((0, 2), dtype=int)
    hits = tree.query_ball_point(flat[asked], tolerance, p=np.inf)
    pairs = np.column_stack([np.repeat(asked, sizes), np.concatenate(hits).astype(int)])
    pairs = np.sort(pairs, axis=1)
    return np.unique(pairs[pairs[:, 1] - pairs[:, 0] > window], axis=0)


def _extended(moves: Any, pairs: Any, tolerance: float) -> tuple[int, int, int]:
    """Find where the longest agreement begins, twice, and how many rows it has."""
    n = moves.shape[0]
    best = (int(pairs[0, 0]), int(pairs[0, 1]), 1)
    seen: dict[int, int] = {}
    for i, j in pairs[np.lexsort((pairs[:, 0], pairs[:, 1] - pairs[:, 0]))].tolist():
        lag = j - i
        if seen.get(lag, -1) > i:
            continue
        while i > 0 and (np.abs(moves[i - 1] - moves[j - 1]) <= tolerance).all():
            i, j = i - 1, j - 1
        limit = min(lag, n - j)
        agree = (np.abs(moves[i : i + limit] - moves[j : j + limit]) <= tolerance).all(axis=1)
        length = int(agree.size if agree.all() else np.argmin(agree))
        seen[lag] = i + length
        if length > best[2]:
            best = (i, j, length)
    return best


def _by_chance(moves: Any, tolerance: float) -> tuple[float, float, float]:
    """Estimate how often a run of agreement begins at a pair of places, its chance to go on, and the share that agrees."""
    n = moves.shape[0]
    lags = generator(None, "copied readings").permutation(np.arange(2, n - 1))
    lags = lags[: max(_LOOKED // n, 40)]
    lengths, cells = [], 0
    for lag in lags.tolist():
        agree = (np.abs(moves[lag:] - moves[:-lag]) <= tolerance).all(axis=1)
        edges = np.flatnonzero(np.diff(np.concatenate([[False], agree, [False]]).astype(np.int8)))
        lengths.append(edges[1::2] - edges[::2])
        cells += agree.size
        if cells > _LOOKED:
            break
    runs = np.concatenate(lengths) if lengths else np.empty(0, dtype=int)
    begun = (runs.size + 1 + 1.5 * math.sqrt(runs.size + 1)) / max(cells, 1)
    goes_on, left = max(_FLOOR, min(begun, 1.0)), runs.size
    for at in range(2, 15):
        if left < _FEWEST:
            break
        more = int((runs >= at).sum())
        goes_on = max(goes_on, (more + 1 + 1.5 * math.sqrt(more + 1)) / left)
        left = more
    return min(begun, 1.0), min(goes_on, 0.999999), float(runs.sum()) / max(cells, 1)


#: Readings from which values that occur more often than once are counted, and how often at most.
_COUNTED, _TIMES_AT_MOST = 100, 9
#: Steps in the middle half of the differences of readings up to so many rows apart: narrower, and a process may visit each value in turn.
_WIDE, _APART = 8.0, 16


def copied_in_any_order(y: Any, step: float) -> Doubt | None:
    """Test whether values occur twice, or k times, too often for readings that are independent of each other.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    step : float
        Of the readings; nought where they come in none.

    Returns
    -------
    Doubt or None
        None where the readings are few, or move by few steps.

    Examples
    --------
    >>> import numpy as np
    >>> draw = np.random.default_rng(1)
    >>> half = draw.normal(5, 0.1, 500).round(3)
    >>> copied_in_any_order(np.append(half, draw.permutation(half)), 0.001).p < 1e-6
    True
    """
    from scipy.special import ndtr

    y = y[:_MOST]
    sd = float(y.std())
    if y.size < _COUNTED or sd == 0:
        return None
    whole = np.round(y / (step if step > 0 else 1e-9 * sd))
    moves = (np.quantile(whole[k:] - whole[:-k], [0.25, 0.75]) for k in range(1, _APART + 1))
    if min(high - low for low, high in moves) < _WIDE:
        return None
    _, counts = np.unique(whole, return_counts=True)
    found = np.bincount(counts, minlength=_TIMES_AT_MOST + 2).astype(float)
    k = np.arange(2, _TIMES_AT_MOST + 1)
    k = k[found[k] > 0]
    if not k.size:
        return None
    beside = (found[k - 1] + 1) * (found[k + 1] + 1)
    above = np.log(found[k]) - 0.5 * np.log(beside * (k + 1) / k)
    error = np.sqrt(1 / found[k] + 0.25 / (found[k - 1] + 1) + 0.25 / (found[k + 1] + 1))
    p = ndtr(-above / error)
    best = int(p.argmin())
    times = int(k[best])
    return Doubt(
        "copied readings",
        min(float(p[best]) * (_TIMES_AT_MOST - 1), 1.0),
        f"{found[times]:,.0f} values occur {times} times, {found[times - 1]:,.0f} {times - 1} and {found[times + 1]:,.0f} {times + 1} "
        "times: as where each reading was written down more than once, in whatever order",
    )


#: Readings from which lags are looked at, order of the regression that whitens them, and lags it may leave something at.
_LAGGED, _WHITENED, _NEAR = 200, 8, 24
#: Share of the variance that the values before leave open, below which a record repeats itself by what it is.
_MOVES = 0.01
#: Lags that may be loud beside the one, as of a stretch that occurs three times, and from how many standard errors on.
_OTHERS, _LOUD = 2, 5.0


def copied_and_changed(y: Any) -> Doubt | None:
    """Test whether a record goes with itself at one single lag, or turned about one single place, and nowhere else.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        In the order recorded, each stream about its own level.

    Returns
    -------
    Doubt or None
        None where the readings are few, or go with themselves at many lags.

    Examples
    --------
    >>> import numpy as np
    >>> draw = np.random.default_rng(1)
    >>> half = draw.normal(5, 0.1, 500)
    >>> copied_and_changed(np.append(half, 10 - half + draw.normal(0, 0.05, 500))).p < 1e-6
    True
    """
    from scipy.special import ndtr
    from scipy.stats import rankdata

    y = y[:_MOST]
    n = y.size
    if n < _LAGGED or not np.ptp(y):
        return None
    from scipy.special import ndtri

    z = ndtri(rankdata(y) / (n + 1))
    rest = _whitened(z)
    if float(rest.var()) < _MOVES * float(z.var()):
        return None
    # Signs: a few jumps, or stretches of a wider spread, agree by chance where nothing was copied.
    z = np.where(rest > np.median(rest), 1.0, -1.0)
    n = z.size
    length = 1 << (2 * n - 1).bit_length()
    wave = np.fft.rfft(z, length)
    along = np.fft.irfft(np.abs(wave) ** 2, length)[_NEAR : n - _NEAR]
    about = np.fft.irfft(wave**2, length)[2 * _NEAR : 2 * (n - _NEAR)]
    lag, centre = np.arange(_NEAR, n - _NEAR), np.arange(2 * _NEAR, 2 * (n - _NEAR))
    # Of pairs of independent values each product has variance one; about a centre each pair is counted twice.
    pairs = np.minimum(centre + 1, 2 * n - 1 - centre)
    scores = np.concatenate([along / np.sqrt(n - lag), about / np.sqrt(2 * pairs)])
    scale = max(1.0, 1.4826 * float(np.median(np.abs(scores))))
    size = np.abs(scores) / scale
    loud = np.flatnonzero(size > _LOUD)
    if not 0 < loud.size <= 1 + _OTHERS:
        return None if loud.size else Doubt("copied readings", 1.0, "no lag is beyond chance")
    best = int(loud[size[loud].argmax()])
    p = min(2 * float(ndtr(-size[best])) * scores.size, 1.0)
    against = "the opposite of " if scores[best] < 0 else ""
    if best < lag.size:
        said = f"readings go with {against}those {lag[best]:,} places before"
    else:
        said = f"readings go with {against}those as far on the other side of reading {centre[best - lag.size] / 2 + 1 + _WHITENED:,.0f}"
    return Doubt(
        "copied readings",
        p,
        f"{said}, and with none at other distances, as a stretch does that was copied and changed",
    )


def _whitened(z: Any) -> Any:
    """Take off what the values before tell of each, by least squares."""
    lags = np.column_stack([z[_WHITENED - k : -k] for k in range(1, _WHITENED + 1)])
    own = z[_WHITENED:]
    return own - lags @ np.linalg.lstsq(lags, own, rcond=None)[0]


#: Pairs of streams that are compared, and fewest strokes of both; share of them that differ by one and the same amount, and how
#: many times what chance gives, from which it is one part read twice.
_PAIRS, _STROKES, _SAME, _TIMES = 120, 30, 0.5, 2.0
#: Steps in the middle half of the readings, and of their moves from stroke to stroke, from which equal ones can be distinguished from near ones.
_FINE = 8.0
#: Strokes by which one stream may follow the other.
_LATER = (0, 1, -1, 2, -2, 3, -3)


def copied_stream(y: Any, stream: Any, stroke: Any, step: float) -> Doubt | None:
    """Find two streams whose readings are the same ones in most strokes, also with a constant added or some strokes later.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    stream : numpy.ndarray of int, shape (n,)
    stroke : numpy.ndarray of float, shape (n,)
    step : float
        Of the readings.

    Returns
    -------
    Doubt or None
        None where no two are, or steps are so coarse that streams which rise together are.

    Notes
    -----
    Streams that have nothing in common differ by one amount in as many strokes as their distributions say; what the strip gives
    to both makes it more, so twice that is allowed, and readings whose moves span few steps say nothing. Noise hides a copy.
    """
    from scipy.special import bdtrc

    low, high = np.quantile(y, [0.25, 0.75])
    if not step or high - low < _FINE * step:
        return None
    strokes = np.unique(stroke)
    codes = np.unique(stream[stream >= 0])
    table = np.full((codes.size, strokes.size), np.nan)
    for row, code in zip(table, codes, strict=True):
        here = stream == code
        row[np.searchsorted(strokes, stroke[here])] = np.round(y[here] / step)
    fine = [_moves_by(row) >= _FINE for row in table]
    pairs = itertools.islice(itertools.combinations(range(codes.size), 2), _PAIRS)
    for (first, second), later in itertools.product(pairs, _LATER):
        one, two = table[first], table[second]
        if later:
            one, two = (one[:-later], two[later:]) if later > 0 else (one[-later:], two[:later])
        both = ~np.isnan(one) & ~np.isnan(two)
        count = int(both.sum())
        if count < _STROKES:
            continue
        apart, counts = np.unique(two[both] - one[both], return_counts=True)
        at = int(counts.argmax())
        same, by = int(counts[at]), float(apart[at])
        plain = not by and not later
        if same <= _SAME * count or not (plain or (fine[first] and fine[second])):
            continue
        chance = _alike_by_chance(one[both], two[both], by)
        if same > _TIMES * chance * count:
            # The amount and the delay were sought out of many.
            searched = 1 if plain else apart.size * len(_LATER)
            p = float(bdtrc(same - 1, count, min(_TIMES * chance, 1.0))) * searched
            return Doubt(
                "streams that read alike", min(p, 1.0), _said(same, count, by * step, later)
            )
    return None


def _moves_by(row: Any) -> float:
    """Compute the middle half of the moves from stroke to stroke, in steps."""
    moves = np.diff(row)
    moves = moves[~np.isnan(moves)]
    return float(np.subtract(*np.quantile(moves, [0.75, 0.25]))) if moves.size else 0.0


def _alike_by_chance(one: Any, two: Any, by: float) -> float:
    """Compute the share of strokes in which two streams that have nothing in common differ by this many steps."""
    values, counts = np.unique(one, return_counts=True)
    others, beside = np.unique(two - by, return_counts=True)
    _, a, b = np.intersect1d(values, others, assume_unique=True, return_indices=True)
    return float((counts[a] * beside[b]).sum()) / int(one.size) ** 2


def _said(same: int, count: int, by: float, later: int) -> str:
    """Say in how many strokes two streams have one reading, with what added and how many strokes later."""
    which = f"in {same:,} of {count:,} strokes"
    after = f" {counted(abs(later), 'stroke')} later" if later else ""
    if not by:
        return f"two streams have the same reading{after} {which}, as where one part is read twice"
    return f"two streams differ by exactly {as_given(abs(by))}{after} {which}, as where one is worked out of the other"
