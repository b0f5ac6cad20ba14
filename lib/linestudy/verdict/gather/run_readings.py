"""Which readings a claim rests on, and what is known of each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.normal_intervals import one_sided_index_interval
from linestudy.records.strokes import in_subgroups
from linestudy.stability.said_of_run import resets_by_stream
from linestudy.verdict.criteria import resolve
from linestudy.verdict.process import Tags

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Roles of readings of parts, in the order in which a claim rests on them.
OF_PARTS = ("run", "nested")
#: Roles that speak of a gauge alone.
OF_GAUGES = ("crossed", "reference", "drift")
#: Readings beside those decided on from which their index is looked at (common practice, no source).
_FEW = 20


@dataclass(frozen=True)
class Readings:
    """Readings of parts with their tags.

    Attributes
    ----------
    role : str
        ``"run"``, ``"nested"`` or ``"machine"``.
    values : numpy.ndarray of float, shape (n,)
    tags : Tags
    causes : tuple of (float, float, str)
        First and last order number, and the cause that was acted upon there.
    """

    role: str
    values: FloatArray = field(repr=False)
    tags: Tags
    causes: tuple[tuple[float, float, str], ...] = ()


def judged_by(records: Records, characteristic: str) -> tuple[str, str | None]:
    """Return role and gauge of the readings that a decision rests on.

    Parameters
    ----------
    records : Records
    characteristic : str

    Returns
    -------
    role : str
        ``run``, ``nested``, ``machine``, or a role that speaks of the gauge alone; empty where
        there is none.
    gauge : str or None
    """
    for role in (*OF_PARTS, "machine", *OF_GAUGES):
        gauges = records.gauges(role, characteristic)
        if gauges:
            return role, gauges[0]
    return "", None


def readings_of(
    study: Study,
    records: Records,
    item: Characteristic,
    *,
    with_periods: bool = False,
    roles: tuple[str, ...] = OF_PARTS,
) -> Readings | None:
    """Return readings of parts of one characteristic, less the periods excluded.

    Parameters
    ----------
    study : Study
    records : Records
    item : Characteristic
    with_periods : bool
        Leave the periods in, to see what they change.
    roles : tuple of str
        Of which the first that the folder holds is taken.

    Returns
    -------
    Readings or None
        None where the folder holds none.
    """
    for role in roles:
        table = records.table(role, item.id)
        if table is None:
            continue
        kept = table if with_periods or "set_aside" not in table else table[~table["set_aside"]]
        if not len(kept):
            return None
        if role == "run" and "subgroup" in kept:
            kept = in_subgroups(kept)
        if role == "nested" and not ("order" in kept and kept["order"].notna().any()):
            kept = _in_no_order(kept, study.seed)
        return Readings(
            role,
            kept["value"].to_numpy(float),
            _tags(records.timed(study), item, kept),
            _causes(study, item),
        )
    return None


def read_elsewhere(
    study: Study, records: Records, item: Characteristic
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Hold readings of parts in another role against the index that is asked for.

    The decision rests on the run. A destructive test beside it contradicts a claim where so few batches cannot come from
    a process that keeps to it: the upper end of their index at the level of a contradiction, with the effective number of
    readings of parts that are alike within batches, lies below what is accepted. Their estimate alone would do so in
    every second study of a process just good enough.

    Parameters
    ----------
    study : Study
    records : Records
    item : Characteristic

    Returns
    -------
    contradictions : tuple of str
    conditions : tuple of str
        What a reader should know and contradicts nothing.
    """
    table = records.table("nested", item.id)
    if table is None or len(table) < _FEW:
        return (), ()
    y = table["value"].to_numpy(float)
    sd, mean = float(y.std(ddof=1)), float(y.mean())
    limits = ((item.lower, -1), (item.upper, 1))
    room = [sign * (at - mean) for at, sign in limits if at is not None]
    if not room or sd <= 0:
        return (), ()
    criteria = resolve(study.criteria, item)
    n, spread = _effective(table)
    level = criteria["contradiction"].number
    index = one_sided_index_interval(min(room), sd, n, spread - 1, 1 - 2 * level)
    text = (
        f"{len(y):,} readings of parts with levels (nested) are not those decided on; by their mean and SD Ppk is "
        f"{index.estimate:.2f}"
    )
    if index.high < criteria["capability_accept"].number:
        return (f"{text}, and {index.high:.2f} at most ({1 - level:.1%} confidence)",), ()
    return (), (text,)


def _effective(table: pd.DataFrame) -> tuple[float, float]:
    """Effective numbers of readings, for mean and for SD, of parts that are alike within batches."""
    from linestudy.capability.lots.lot_draws import n_eff_of_lots

    levels = table.attrs.get("levels") or ()
    n = len(table)
    if not levels:
        return float(n), float(n)
    groups = table.groupby(table[levels[0]].astype(str), sort=False)["value"]
    lots = groups.ngroups
    if not 1 < lots < n:
        return float(n), float(n)
    within = float(((table["value"] - groups.transform("mean")) ** 2).sum()) / (n - lots)
    between = float(groups.mean().var(ddof=1)) - within * lots / n
    total = max(between, 0.0) + within
    return n_eff_of_lots(n, lots, max(between, 0.0) / total if total > 0 else 0.0)


def _in_no_order(table: pd.DataFrame, seed: int) -> pd.DataFrame:
    """Sort the rows of a destructive test, so that the order of the file does not matter.

    Nobody says in which order they were made, so neighbours in the file mean nothing; drawn at
    random, always alike, they show no movement that is not there.
    """
    keys = [*(table.attrs.get("levels") or ()), "value"]
    ordered = table.sort_values(
        keys, kind="stable", key=lambda c: c if c.name == "value" else c.astype(str)
    )
    drawn = ordered.iloc[generator(seed, "readings in no order").permutation(len(ordered))]
    drawn.attrs = dict(table.attrs)
    return drawn


def _tags(study: Study, item: Characteristic, table: pd.DataFrame) -> Tags:
    def column(name: str) -> Any:
        return table[name].to_numpy() if name in table and table[name].notna().any() else None

    levels = table.attrs.get("levels") or ()
    events = [e for e in study.events if e.at is not None and e.concerns(item.id)]
    own = resets_by_stream(study, item, table)
    return Tags(
        order=column("order"),
        time=column("time"),
        coil=column("coil"),
        stream=column("station"),
        subgroup=table[levels[0]].to_numpy() if levels else column("subgroup"),
        lots=tuple(table[name].to_numpy() for name in levels),
        resets=() if own else tuple(float(e.at or 0) for e in events if e.restarts(item.id)),
        stream_resets=own,
        events=tuple((float(e.at or 0), e.name) for e in events),
    )


def _causes(study: Study, item: Characteristic) -> tuple[tuple[float, float, str], ...]:
    return tuple(
        (*entry.stretch, f"{entry.cause}; {entry.action} ({entry.by})")
        for entry in study.file.cause
        if entry.characteristic in (None, item.id)
    )
