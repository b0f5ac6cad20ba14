"""Data quality of a run's record: order, clock, repeats, subgroups, a camera that froze."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, Finding, counted, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd

#: A stretch that chance gives less often than once in this many runs is named.
_ODDS = 1e-6
#: Share of neighbours of one number in different streams from which on a stroke makes several parts, as records read it.
_SHARED = 0.01


@dataclass(frozen=True, slots=True)
class DataIssue:
    """One thing that makes a record doubtful.

    Attributes
    ----------
    what : str
        In words.
    first : float
        Order number where it begins.
    last : float
        Order number where it ends.
    count : int
        Parts it concerns; 0 where it lies between parts.
    """

    what: str
    first: float
    last: float
    count: int


@dataclass(frozen=True)
class DataQualityStudy(Finding):
    """What is doubtful about the record of a run.

    Attributes
    ----------
    n : int
        Parts.
    issues : tuple of DataIssue
        Empty where nothing was found.
    unit : str
        Of the values.
    """

    n: int
    issues: tuple[DataIssue, ...]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Data quality of the run"

    @property
    def statement(self) -> str:
        if not self.issues:
            return f"Nothing doubtful was found in the record of {self.n:,} parts."
        kinds = list(dict.fromkeys(issue.what for issue in self.issues))
        return f"In the record of {self.n:,} parts: {'; '.join(kinds)}."

    def _rows(self) -> Rows:
        return [
            {"issue": one.what, "from order": one.first, "to order": one.last, "parts": one.count}
            for one in self.issues
        ] or [{"issue": "none", "from order": None, "to order": None, "parts": None}]


DATA_QUALITY = Declaration("stability.data_quality", DataQualityStudy)


def data_quality(data: pd.DataFrame, *, unit: str = "") -> DataQualityStudy:
    """Look for what makes the record of a run doubtful.

    Parameters
    ----------
    data : pandas.DataFrame
        ``value``, and where known ``order``, ``time``, ``subgroup``, in the order recorded.
    unit : str
        Of the values.

    Returns
    -------
    DataQualityStudy
        What is doubtful, each with its place.

    Raises
    ------
    CannotJudge
        Fewer than two parts, or values that are missing.
    ValueError, TypeError
        No table, or one without a column ``value``.

    See Also
    --------
    frozen_stretches : Stretches of equal values alone.

    Notes
    -----
    Nothing is repaired; what is found is named with its place, so that a reader can judge what
    the charts rest on. What counts as doubtful is common practice, no source.

    References
    ----------
    Feller, *An Introduction to Probability Theory and Its Applications* I, 3rd ed. (1968), XIII.7 (runs of
    equal outcomes).

    Examples
    --------
    >>> import pandas as pd
    >>> data_quality(pd.DataFrame({"order": [1, 2, 2], "value": [0.1, 0.2, 0.3]})).issues[0].what
    'order numbers that repeat'
    """
    y = data_arguments.one_dimensional(data_arguments.column(data, "value", "data"), least=2)
    order = np.arange(1.0, y.size + 1)
    if "order" in data:
        order = data_arguments.one_dimensional(data["order"], name="order", what="order number")
    stream = _sharing_strokes(data, order)
    issues = [
        *_frozen(y, order),
        *_order(order, stream),
        *_clock(data, order),
        *_subgroups(data, order, stream),
    ]
    return DataQualityStudy(int(y.size), tuple(issues), unit, _cautions(issues, y))


def _issue(what: str, first: float, last: float, count: int) -> DataIssue:
    return DataIssue(what, float(first), float(last), int(count))


def frozen_stretches(values: ArrayLike) -> list[tuple[int, int]]:
    r"""Find stretches of equal values that are too long for chance.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.

    Returns
    -------
    list of (int, int)
        First and last index of each.

    Raises
    ------
    CannotJudge
        Fewer than two values, or values that are missing.

    See Also
    --------
    data_quality : The whole record.

    Notes
    -----
    Model: with p the share of neighbours that are equal (resolution alone makes many), the longest stretch of
    equal values among n exceeds L with probability at most

    .. math:: n\,p^{L-1}

    (a Markov chain of equal steps; union bound). Misleads where the resolution is so coarse that most
    neighbours are equal; nothing is named then.

    References
    ----------
    Feller, *An Introduction to Probability Theory and Its Applications* I, 3rd ed. (1968), XIII.7.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(size=400).round(1)
    >>> y[100:130] = 7.7
    >>> frozen_stretches(y)
    [(100, 129)]
    """
    y = data_arguments.one_dimensional(values, least=2)
    equal = np.diff(y) == 0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], equal, [False]]).astype(np.int8)))
    starts, ends = edges[::2], edges[1::2]
    if starts.size == 0:
        return []
    lengths = ends - starts
    # Long stretches must not vouch for themselves: the share of equal neighbours is taken
    # from the changes of value and the short stretches.
    ordinary = lengths <= max(float(np.median(lengths)) * 5, 5)
    alike = float(lengths[ordinary].sum())
    p = (alike + 1) / (alike + float((~equal).sum()) + 2)
    if p > 0.9:
        return []
    longest = max(math.log(_ODDS / y.size) / math.log(p), 7.0)
    found = np.flatnonzero(lengths >= longest)
    return [(int(starts[i]), int(ends[i])) for i in found]


def _frozen(y: Any, order: Any) -> list[DataIssue]:
    return [
        _issue(
            "the same value again and again, as if the camera froze", order[a], order[b], b - a + 1
        )
        for a, b in frozen_stretches(y)
    ]


def _sharing_strokes(table: pd.DataFrame, order: Any) -> Any:
    """Return the stream of each part as text, where one stroke makes several parts; None where it makes one."""
    if "station" not in table:
        return None
    stream = table["station"].astype(str).to_numpy()
    shared = (np.diff(order) == 0) & (stream[1:] != stream[:-1])
    return stream if shared.mean() > _SHARED else None


def _order(order: Any, stream: Any) -> list[DataIssue]:
    steps = np.diff(order)
    notes = []
    back = np.flatnonzero(steps < 0)
    if back.size:
        where = order[back + 1]
        notes.append(_issue("order numbers that go back", where[0], where[-1], back.size))
    # Parts of one stroke that come from different streams share its number.
    again = steps == 0 if stream is None else (steps == 0) & (stream[1:] == stream[:-1])
    same = np.flatnonzero(again)
    if same.size:
        where = order[same + 1]
        notes.append(_issue("order numbers that repeat", where[0], where[-1], same.size))
    usual = float(np.median(steps)) if steps.size else 0.0
    gaps = np.flatnonzero(steps > max(100 * usual, 100.0)) if usual > 0 else np.array([], dtype=int)
    for i in gaps[:20]:
        notes.append(_issue("a gap in the order numbers", order[i], order[i + 1], 0))
    return notes


def _clock(table: pd.DataFrame, order: Any) -> list[DataIssue]:
    if "time" not in table or table["time"].isna().all():
        return []
    seconds = table["time"].to_numpy().astype("datetime64[ms]").astype(float)
    steps = np.diff(np.where(table["time"].isna().to_numpy(), np.nan, seconds))
    back = np.flatnonzero(steps < -1000)
    return [
        _issue("a clock that jumps back", order[i], order[i + 1], 0) for i in back[:20].tolist()
    ]


def _subgroups(table: pd.DataFrame, order: Any, stream: Any) -> list[DataIssue]:
    if "subgroup" not in table:
        return []
    import pandas as pd

    codes = np.asarray(pd.factorize(pd.array(table["subgroup"]))[0])
    inside = np.flatnonzero(codes >= 0)
    if stream is not None:
        # Streams of one stroke take turns in the record; a subgroup is of one of them.
        inside = inside[np.argsort(stream[inside], kind="stable")]
    if inside.size == 0:
        return []
    codes = codes[inside]
    starts = np.concatenate([[0], np.flatnonzero(np.diff(codes)) + 1])
    sizes = np.diff(np.append(starts, codes.size))
    first = order[inside[starts]]
    notes = []
    if np.unique(codes[starts]).size < starts.size:
        notes.append(
            _issue("subgroup labels that come back later", first[0], first[-1], starts.size)
        )
    if (sizes == 1).any() and (sizes > 1).any():
        alone = first[sizes == 1]
        notes.append(_issue("subgroups of one part", alone[0], alone[-1], alone.size))
    # A stream that makes fewer parts has smaller subgroups from its first one on.
    owner = np.zeros(starts.size, dtype=int) if stream is None else stream[inside[starts]]
    for code in np.unique(owner):
        own = owner == code
        change = _size_change(sizes[own]) if own.sum() >= 8 else None
        if change is not None:
            of, at = sizes[own], first[own]
            notes.append(
                _issue(
                    f"subgroups of {counted(int(np.median(of[:change])), 'part')} up to here and of "
                    f"{int(np.median(of[change:]))} from here on: the column changes meaning",
                    at[change],
                    at[-1],
                    int(of[change:].sum()),
                )
            )
    return notes


def _size_change(sizes: Any) -> int | None:
    """Find where the usual subgroup size changes for good by more than a lost reading or two."""
    best, where = 0.0, None
    for cut in range(4, sizes.size - 3):
        before, after = np.median(sizes[:cut]), np.median(sizes[cut:])
        same = np.mean(sizes[:cut] == before) + np.mean(sizes[cut:] == after)
        ratio = max(before, after) / min(before, after)
        if ratio >= 1.5 and same > best and same > 1.6:
            best, where = same, cut
    return where


def _cautions(notes: list[DataIssue], y: Any) -> tuple[str, ...]:
    out = [
        f"{n.count} parts from order {n.first:,.0f} to {n.last:,.0f} have one and the same "
        "value; if the camera froze, name the period under [[set_aside]] with its reason."
        for n in notes
        if n.what.startswith("the same value")
    ]
    if float(np.mean(np.diff(y) == 0)) > 0.5:
        out.append(
            "More than half of neighbouring values are equal: the resolution is too coarse to see "
            "a frozen camera or the spread within subgroups."
        )
    if any("repeat" in n.what or "go back" in n.what for n in notes):
        out.append("Order numbers repeat or go back; charts follow the order of the record.")
    return tuple(out)


def require_sound(table: pd.DataFrame) -> None:
    """Refuse a run whose values are all the same.

    Parameters
    ----------
    table : pandas.DataFrame
        With a column ``value``.

    Returns
    -------
    None

    Raises
    ------
    CannotJudge
        All values are equal.
    """
    values = table["value"].to_numpy(dtype=float)
    if values.size and np.ptp(values) == 0:
        raise CannotJudge("All values are the same; the gauge froze or its resolution hides all.")
