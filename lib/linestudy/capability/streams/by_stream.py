"""Take the streams of a run through what the whole run went through."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.finding import CapabilityStudy
from linestudy.capability.lots.lot_draws import LotDraws
from linestudy.capability.quantile_movement import quantile_index
from linestudy.capability.round_zone.study import PositionStudy
from linestudy.capability.short_run import MachineStudy
from linestudy.capability.streams.streams_together import StreamMixture
from linestudy.capability.streams.study import STREAM_CAPABILITY, STREAMS, stream_capability
from linestudy.capability.study import process_capability
from linestudy.capability.wear.trend import Slices, slices_of_life
from linestudy.results import Absent, CannotJudge, Findings
from linestudy.results.declared import Declaration
from linestudy.shape.finding import ShapeStudy
from linestudy.shape.fitting import FittedDistribution, fit
from linestudy.shape.goodness import anderson_darling
from linestudy.shape.selection import select_distribution
from linestudy.stability.movement.coil_levels import coils_of
from linestudy.stability.said_of_run import names_streams, resets_of

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: What a run is called that is described as slices of its tool life.
ABOUT_WEAR = "normal about the wear of a tool life"

STREAM_POSITION = Declaration(
    "streams.{stream}.position", PositionStudy, "Position of one stream", part="none"
)
STREAM_MACHINE = Declaration(
    "streams.{stream}.machine", MachineStudy, "Machine capability of one stream", part="none"
)

#: Fewest values of a stream that has an index of its own, and most streams (more are no stations).
LEAST, MOST = 25, 64
#: Level at which streams are taken to differ, and a family to be none of a stream's.
_LEVEL = 0.001
#: Anderson-Darling statistic per value of a family that is near enough (it grows with the number of values).
_NEAR = 0.0005
_MIXED = "normal mixture"


def streams_of(table: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """Return the parts of every stream that has enough of them; empty where fewer than two have."""
    if "station" not in table:
        return {}
    groups = {
        str(name): part
        for name, part in table.groupby("station", sort=True)
        if len(part) >= LEAST and str(name)
    }
    return groups if 2 <= len(groups) <= MOST else {}


def differ(table: pd.DataFrame) -> bool:
    """Test by ranks whether streams differ in level or in spread (Kruskal-Wallis; Fligner-Killeen)."""
    from scipy.stats import fligner, kruskal

    values = [part["value"].to_numpy(float) for part in streams_of(table).values()]
    if len(values) < 2 or len({v for y in values for v in y[:50]}) < 2:
        return False
    return bool(
        min(float(kruskal(*values).pvalue), float(fligner(*values).pvalue)) < _LEVEL / len(values)
    )


def of_streams(
    study: Study,
    item: Characteristic,
    table: pd.DataFrame,
    index: CapabilityStudy,
    shape: Any,
    new: Findings,
    lots_of: Callable[[pd.DataFrame], LotDraws | None],
) -> None:
    """Find the capability of every stream, and of the worst of them.

    Parameters
    ----------
    study : Study
    item : Characteristic
    table : pandas.DataFrame
        Parts without the periods set aside.
    index : CapabilityStudy
        Of the whole tool.
    shape : ShapeStudy or None
        Of all values.
    new : Findings
        Where they are kept.
    lots_of : callable
        From the parts of a stream to what its lots leave open.
    """
    groups, alike = streams_of(table), not differ(table)
    found: dict[str, CapabilityStudy] = {}
    for name, part in groups.items():
        one = new.evaluate(
            item.id,
            STREAM_CAPABILITY,
            partial(_of_one, study, item, part, name, index, shape, lots_of(part), alike),
            stream=name,
        )
        if isinstance(one, CapabilityStudy):
            found[name] = one
    if groups:
        new.evaluate(
            item.id,
            STREAMS,
            lambda: stream_capability(
                found, of_tool=index.Ppk, confidence=study.confidence, seed=study.seed
            ),
        )


def each_stream(
    item: Characteristic,
    table: pd.DataFrame,
    declared: Declaration,
    compute: Callable[[pd.DataFrame], Any],
    new: Findings,
) -> None:
    """Evaluate every stream by the same method, and keep the finding at the stream's place."""
    for name, part in streams_of(table).items():
        new.evaluate(item.id, declared, partial(compute, part), stream=name)


def _of_one(
    study: Study,
    item: Characteristic,
    part: pd.DataFrame,
    name: str,
    index: CapabilityStudy,
    shape: Any,
    lots: LotDraws | None,
    alike: bool,
) -> CapabilityStudy:
    if item.lower is None and item.upper is None:
        raise CannotJudge("There is no limit to hold the values against.")
    share = len(part) / index.n
    worn = worn_tool(study, item, part, name)
    fits: list[FittedDistribution] = (
        [worn.mixture] if worn else _families(study, item, part, shape, alike)
    )
    why = Absent("subgroups are those of the whole run")
    found = process_capability(
        part["value"],
        item.lower,
        item.upper,
        target=item.nominal,
        fitted=fits[0],
        plausible_families=tuple(fits),
        sd_within=why,
        n_eff_mean=worn.n_eff_mean if worn else max(index.n_eff_mean * share, 2.0),
        n_eff_sd=worn.n_eff_sd if worn else max(index.n_eff_sd * share, 4.0),
        lots=() if lots is None else lots,
        confidence=study.confidence,
        seed=study.seed,
        unit=item.unit or "",
    )
    return replace(found, whose=f"Stream {name}")


def _families(
    study: Study, item: Characteristic, part: pd.DataFrame, shape: Any, alike: bool = False
) -> list[FittedDistribution]:
    """List distributions of one stream, the chosen first: those of the whole run, where one of them fits it.

    Of the others the one with the lowest index is kept, which reaches the low end of all of them.
    """
    values = part["value"].to_numpy(float)
    bound = item.bound_below
    named: list[FittedDistribution] = []
    if isinstance(shape, ShapeStudy):
        families = [shape.chosen.family, *(f.family for f in shape.plausible_families)]
        bound = shape.chosen.bound if shape.chosen.bound is not None else bound
        # What looks like two components in the whole is two streams, each with one.
        families = [name if name != _MIXED else "normal" for name in families]
        for family in dict.fromkeys(families):
            try:
                named.append(fit(values, family, bound, with_covariance=True))
            except (CannotJudge, ValueError):
                continue
    if alike and isinstance(shape, ShapeStudy) and shape.chosen.family == _MIXED:
        # Two components that streams do not explain are a tail, and one normal does not reach as far.
        named = [one for one in named if _fits(values, one)]
    elif named and not alike:
        named.sort(key=lambda one: one.aic)
        named = [one for one in named if one.aic - named[0].aic < 10]
    if named and (alike or _fits(values, named[0])):
        lowest = sorted(
            named[1:], key=lambda one: quantile_index(one, lower=item.lower, upper=item.upper)[1]
        )
        return [named[0], *lowest[:1]]
    chosen = select_distribution(
        values,
        bound=item.bound_below,
        seed=study.seed,
        unit=item.unit or "",
        lower=item.lower,
        upper=item.upper,
    )
    return [chosen.chosen, *chosen.plausible_families]


def _fits(values: Any, one: FittedDistribution) -> bool:
    """Check that a fit is not rejected, or only by so little that it takes thousands of values to see."""
    return bool(anderson_darling(one, values) < max(2.5, _NEAR * values.size))


def tool_mixture(
    study: Study, item: Characteristic, table: pd.DataFrame, shape: Any
) -> tuple[StreamMixture, ...]:
    """Return the whole tool as the mixture of its streams, where these differ: the chosen first, then others as likely.

    Parameters
    ----------
    study : Study
    item : Characteristic
    table : pandas.DataFrame
        Parts without the periods set aside.
    shape : ShapeStudy or None
        Of all values.

    Returns
    -------
    tuple of StreamMixture
        Empty where streams do not differ, or are not named.
    """
    if not differ(table):
        return ()
    groups = streams_of(table)
    if sum(len(part) for part in groups.values()) < len(table):
        # A stream that is too small to be fitted belongs to the whole as well.
        return ()
    values = [part["value"].to_numpy(float) for part in groups.values()]
    fits = [_families(study, item, part, shape) for part in groups.values()]
    wide = max(min(len(one), 3) for one in fits)
    return tuple(
        StreamMixture.of([one[min(i, len(one) - 1)] for one in fits], values) for i in range(wide)
    )


@dataclass(frozen=True)
class WornTool:
    """A run that wears between named regrinds, as the mixture of the slices of its life.

    Attributes
    ----------
    mixture : StreamMixture
    n_eff_mean, n_eff_sd : float
        Effective sample sizes about the trend: the wear itself is known.
    """

    mixture: StreamMixture
    n_eff_mean: float
    n_eff_sd: float


def worn_tool(
    study: Study, item: Characteristic, table: pd.DataFrame, stream: str | None = None
) -> WornTool | None:
    """Return the run as slices of its tool life; None where it does not wear between regrinds that study.toml names.

    Parameters
    ----------
    study : Study
        With the strokes of its events.
    item : Characteristic
    table : pandas.DataFrame
        Parts without the periods set aside; of the whole tool or of one stream.
    stream : str, optional
        Which one.

    Returns
    -------
    WornTool or None
    """
    if "order" not in table or item.bound is not None:
        return None
    cut = _slices(study, item, table, stream)
    if cut is None:
        return None
    fits = [fit(part, "normal", with_covariance=True) for part in cut.values]
    # Slices share one remainder: where that is not normal the mixture says nothing new.
    z = np.concatenate([(part - part.mean()) / part.std() for part in cut.values])
    if not _fits(z, fit(z, "normal")):
        return None
    return WornTool(
        replace(
            StreamMixture.of(fits, cut.values),
            family=ABOUT_WEAR,
            level_error=cut.level_error,
        ),
        cut.n_eff_mean,
        cut.n_eff_sd,
    )


def _slices(
    study: Study, item: Characteristic, table: pd.DataFrame, stream: str | None
) -> Slices | None:
    """Cut slices of the tool life; of every stream between its own regrinds where some are named for streams."""
    if stream is None and names_streams(study, item):
        cuts = [_slices(study, item, part, name) for name, part in streams_of(table).items()]
        held = [cut for cut in cuts if cut is not None]
        if not held or len(held) < len(cuts):
            return None
        return Slices(
            [values for cut in held for values in cut.values],
            sum(cut.n_eff_mean for cut in held),
            sum(cut.n_eff_sd for cut in held),
            max(cut.level_error for cut in held),
        )
    station = table["station"] if "station" in table and table["station"].nunique() > 1 else None
    return slices_of_life(
        table["value"].to_numpy(float),
        table["order"].to_numpy(float),
        resets_of(study, item, stream),
        station,
        coils_of(table),
    )
