"""What is asked of a line log, written once as Ibis expressions for DuckDB and Spark alike.

Each expression takes the canonical table (``order``, tags, one column per characteristic)
and gives a small table. Sums are of differences from a fixed offset (the nominal, or a
limit), never of squares of raw values, so that a spread of a micrometre on 2.8 mm survives;
with the same offset everywhere, summaries of single files add up to those of all. What can be added up
from the sums of quarter hours (moments, extremes, means of longer stretches) is not asked again. Of
these questions only the lagged products are worked out otherwise in this process (see ``lagged``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import ibis.expr.types as ir

    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Data

#: Lags for which products are summed, in parts.
LAGS = (1, 2, 3, 4, 5, 10, 20, 50, 100)
#: Parts of a "quarter of an hour" where neither a clock nor the line's rate says how many.
QUARTER_PARTS = 10_000
#: What parts of one quarter hour may differ in.
TAGS = ("coil", "stop", "station")
#: Seconds of a quarter of an hour.
QUARTER = 900


@dataclass(frozen=True)
class Scale:
    """How one characteristic is summed: its id, offset and width of a histogram class."""

    id: str
    offset: float
    width: float


def scales(study: Study, data: Data) -> tuple[Scale, ...]:
    """Choose offset and class width of every characteristic of a run.

    Parameters
    ----------
    study : Study
    data : linestudy.study.model.Data

    Returns
    -------
    tuple of Scale
        The width is the gauge's resolution (converted values may then fall between its
        steps), else a thousandth of the tolerance, else of the limit.
    """
    gauge = study.gauge(data.gauge) if data.gauge else None
    ids = [c.id for c in study.characteristics] if data.long else list(data.columns)
    found = []
    for item in (study.characteristic(key) for key in ids):
        offset = _offset(item)
        resolution = gauge.resolution if gauge and gauge.unit in (None, item.unit) else None
        width = resolution or (item.tolerance or abs(offset) or 1.0) / 1000
        found.append(Scale(item.id, offset, width))
    return tuple(found)


def _offset(item: Characteristic) -> float:
    for value in (item.nominal, item.lower, item.upper):
        if value is not None:
            return value
    return 0.0


def histogram(table: ir.Table, scale: tuple[Scale, ...]) -> ir.Table:
    """Ask for class number (value nearest ``offset + class * width``) and count, of every characteristic."""
    import ibis

    found = []
    for i, item in enumerate(scale):
        values = table.filter(table[item.id].notnull())
        number = ((values[item.id] - item.offset) / item.width + 0.5).floor().cast("int64")
        counted = values.group_by(number.name("class")).aggregate(count=lambda t: t.count())
        found.append(counted.select(ibis.literal(i, type="int64").name("item"), "class", "count"))
    return ibis.union(*found)


def taken(table: ir.Table, size: int, every: int) -> ir.Table:
    """Keep the parts of subgroups, and number these (``subgroup``), counted from the first part of the table."""
    place = table.order - table.order.min().as_scalar()
    inside = table.filter(place % every < size)
    return inside.mutate(
        subgroup=((inside.order - table.order.min().as_scalar()) / every).floor().cast("int64")
    )


def subgroups(inside: ir.Table, scale: tuple[Scale, ...], streams: bool = False) -> ir.Table:
    """Ask for the number of the subgroup, its first part, and count, mean, SD and extremes of each characteristic.

    `inside` is what :func:`taken` gives; the coil is that of the first part. With `streams` each stream has
    subgroups of its own, and the table a column ``station``.
    """
    asked: dict[str, Any] = {"order": inside.order.min()}
    if "coil" in inside.columns:
        asked["coil"] = inside.coil.argmin(inside.order)
    for i, item in enumerate(scale):
        difference = inside[item.id] - item.offset
        asked[f"n{i}"] = inside[item.id].count()
        asked[f"mean{i}"] = difference.mean()
        asked[f"sd{i}"] = difference.std(how="sample")
        asked[f"low{i}"] = inside[item.id].min()
        asked[f"high{i}"] = inside[item.id].max()
    if not streams or "station" not in inside.columns:
        return inside.group_by("subgroup").aggregate(**asked).order_by("subgroup")
    keys = ["subgroup", "station"]
    return inside.group_by(keys).aggregate(**asked).order_by(keys)


def lagged(table: ir.Table, scale: tuple[Scale, ...], lag: int) -> ir.Table:
    """Ask for pairs, sum of products and of either member at one lag, per characteristic.

    One row, or one for each pair of stations (``before`` and ``now``) where the log has them. A pair
    is two parts whose order numbers differ by the lag exactly; a gap gives no pair.
    An order number occurs once in a file of the log, so a join finds each pair once (and
    costs a tenth of a window function over the same rows).
    """
    stations = "station" in table.columns
    now = table.select(
        table.order.name("place"),
        **({"now": table.station} if stations else {}),
        **{f"x{i}": table[item.id] - item.offset for i, item in enumerate(scale)},
    )
    before = table.select(
        (table.order + lag).name("place"),
        **({"before": table.station} if stations else {}),
        **{f"y{i}": table[item.id] - item.offset for i, item in enumerate(scale)},
    )
    pairs = now.join(before, "place")
    asked: dict[str, Any] = {}
    for i in range(len(scale)):
        x, y = pairs[f"x{i}"], pairs[f"y{i}"]
        product = x * y
        # A product is missing where either member is.
        asked[f"n{i}"] = product.count()
        asked[f"p{i}"] = product.sum()
        asked[f"a{i}"] = y.sum(where=product.notnull())
        asked[f"b{i}"] = x.sum(where=product.notnull())
    if not stations:
        return pairs.aggregate(**asked)
    keys = ["before", "now"]
    return pairs.group_by(keys).aggregate(**asked).order_by(keys)


def counts(table: ir.Table) -> ir.Table | None:
    """Ask for rows by verdict, coil and station, as far as the log has them."""
    tags = [name for name in ("verdict", "coil", "station") if name in table.columns]
    if not tags:
        return None
    return table.group_by(tags).aggregate(rows=table.count())


def quarter_hours(
    table: ir.Table,
    scale: tuple[Scale, ...],
    line_rate: float | None,
    marks: tuple[float, ...],
    whole: frozenset[str] = frozenset(),
) -> ir.Table:
    """Ask for sums of values, orders and their products, and extremes, in every quarter hour, coil, stop, station and phase.

    A phase is a stretch between two `marks` (order numbers). A quarter of an hour is counted in
    strokes where the line's rate is known, else by the clock, else it is 10,000 parts. Order numbers are
    counted from the first of the table. These sums are all that least squares on coil, station and a
    slope needs, all that nested components need, and with third and fourth powers all that moments
    need. Characteristics in `whole` have a value for every part:
    their count is ``rows`` and their sums of order numbers are ``x`` and ``xx``, which are summed once.
    """
    import ibis

    place = table.order - table.order.min().as_scalar()
    if line_rate:
        quarter = (table.order / (QUARTER / 60 * line_rate)).floor().cast("int64")
    elif "time" in table.columns:
        quarter = (table.time.epoch_seconds() / QUARTER).floor().cast("int64")
    else:
        quarter = (table.order / QUARTER_PARTS).floor().cast("int64")
    phase: Any = ibis.literal(0, type="int64")
    for mark in marks:
        phase = phase + (table.order >= mark).cast("int64")
    wide = table.mutate(quarter=quarter, phase=phase, place=place.cast("float64"))
    keys = ["quarter", "phase", *(name for name in TAGS if name in table.columns)]
    asked: dict[str, Any] = {
        "rows": wide.count(),
        "first": wide.order.min(),
        "x": wide.place.sum(),
        "xx": (wide.place * wide.place).sum(),
    }
    for i, item in enumerate(scale):
        y = wide[item.id] - item.offset
        asked[f"y{i}"] = y.sum()
        asked[f"xy{i}"] = (wide.place * y).sum()
        square = y * y
        asked[f"yy{i}"] = square.sum()
        asked[f"yyy{i}"] = (square * y).sum()
        asked[f"yyyy{i}"] = (square * square).sum()
        asked[f"low{i}"] = wide[item.id].min()
        asked[f"high{i}"] = wide[item.id].max()
        if item.id not in whole:
            x = y.isnull().ifelse(None, wide.place)
            asked[f"n{i}"] = wide[item.id].count()
            asked[f"x{i}"] = x.sum()
            asked[f"xx{i}"] = (x * x).sum()
    return wide.group_by(keys).aggregate(**asked).order_by(keys)
