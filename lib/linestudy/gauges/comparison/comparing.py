"""Hold the gauges of a characteristic against each other, in every way its files allow."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import combinations
from typing import TYPE_CHECKING, Any

from linestudy.gauges.comparison.laboratories import interlaboratory
from linestudy.gauges.comparison.laboratories_finding import LABORATORIES
from linestudy.gauges.comparison.systems import system_comparison
from linestudy.gauges.comparison.systems_finding import (
    BY_FACTOR,
    OVER_TIME,
    SYSTEMS,
    SystemComparison,
)
from linestudy.gauges.comparison.two_gauges import AGREEMENT, AgreementStudy, method_comparison
from linestudy.gauges.grr.finding import CROSSED, CrossedStudy
from linestudy.results import CannotJudge, Findings, Interval, p_text

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Levels of a third factor that are held against each other; more are a random sample, not stations.
MOST_LEVELS = 6


def compare_gauges(
    study: Study, records: Records, item: Characteristic, width: float | None, new: Findings
) -> None:
    """Evaluate pairs of gauges, stations of one gauge, its studies over time, and laboratories.

    Parameters
    ----------
    study : linestudy.study.load.Study
    records : linestudy.records.Records
    item : linestudy.study.model.Characteristic
    width : float or None
        What shares of the tolerance refer to.
    new : Findings
        Where the findings go; those of the crossed studies are there already.
    """
    import pandas as pd

    common: Any = {
        "tolerance": width,
        "confidence": study.confidence,
        "unit": item.unit or "",
    }
    for pair in records.pairs(item.id):
        of_pair = partial(_agreement, study, records, item, pair, new)
        new.evaluate(item.id, AGREEMENT, of_pair, pair="~".join(pair))
    tables = {}
    for gauge in records.gauges("crossed", item.id):
        studies = records.occasions(item.id, gauge)
        if len(studies) > 1:
            named = {name or "without a name": own for name, own in studies.items()}
            stacked = pd.concat(own.assign(system=name) for name, own in named.items())
            over_time = partial(_over_time, stacked, study.seed, common)
            new.evaluate(item.id, OVER_TIME, over_time, gauge=gauge)
        table = records.table("crossed", item.id, gauge)
        if table is None or not len(table):
            continue
        tables[gauge] = table.assign(laboratory=study.gauge(gauge).name)
        if "factor" in table and 1 < table["factor"].nunique() <= MOST_LEVELS:
            by_factor = partial(
                system_comparison, table, system="factor", seed=study.seed, **common
            )
            new.evaluate(item.id, BY_FACTOR, by_factor, gauge=gauge)
    for first, second in combinations(tables, 2):
        two = pd.concat([tables[first], tables[second]], ignore_index=True)
        parts = [set(tables[gauge]["part"]) for gauge in (first, second)]
        # Studies of other parts say nothing about each other.
        if len(parts[0] & parts[1]) > 2:
            of_two = partial(
                system_comparison,
                two,
                system="laboratory",
                factor="factor",
                in_time=True,
                seed=study.seed,
                **common,
            )
            new.evaluate(item.id, SYSTEMS, of_two, pair=f"{first}~{second}")
    if len(tables) > 2:
        every = pd.concat(tables.values(), ignore_index=True)
        new.evaluate(item.id, LABORATORIES, partial(interlaboratory, every, **common))


def _over_time(stacked: pd.DataFrame, seed: int, common: dict[str, Any]) -> SystemComparison:
    """Compare studies of one gauge; where the last one repeats better than another, somebody has to say why."""
    found = system_comparison(stacked, factor="factor", in_time=True, seed=seed, **common)
    spreads = {name: one.repeatability_sd for name, one in found.systems.items()}
    known = {name: sd.estimate for name, sd in spreads.items() if isinstance(sd, Interval)}
    last, p = list(found.systems)[-1], found.equal_repeatability_p
    if p is None or p >= 0.05 or last not in known:
        return found
    worst = max(known, key=lambda name: known[name])
    if worst == last:
        return found
    text = f"The gauge repeated worse in the study {worst} than in the last one ({p_text(p)})."
    return replace(found, cautions=(text, *found.cautions))


def _agreement(
    study: Study, records: Records, item: Characteristic, pair: tuple[str, str], new: Findings
) -> AgreementStudy:
    table = records.table("paired", item.id, "~".join(pair))
    if table is None:
        raise CannotJudge("The study holds no reading of this characteristic.")
    return method_comparison(
        table["first"].to_numpy(),
        table["second"].to_numpy(),
        error_ratio=_error_ratio(new, item.id, pair),
        tolerance=item.tolerance,
        confidence=study.confidence,
        names=(study.gauge(pair[0]).name, study.gauge(pair[1]).name),
        lower=item.lower,
        upper=item.upper,
        step=study.gauge(pair[0]).resolution,
        unit=item.unit or "",
    )


def _error_ratio(new: Findings, key: str, pair: tuple[str, str]) -> float | None:
    """Return the ratio of the gauges' own error variances, from their crossed studies; None where unknown."""
    variances = []
    for gauge in pair:
        found = new.get(key, *CROSSED.at(gauge=gauge))
        if not isinstance(found, CrossedStudy):
            return None
        variances.append(found.components["grr"].variance.estimate)
    return variances[0] / variances[1] if min(variances) > 0 else None
