"""Live formulas of the workbook: name of a quantity, the formula, and the reported number.

Each takes the cells that hold a study's data; every spreadsheet knows the functions used.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from linestudy.results import Absent, Interval
from linestudy.results.tables import strokes_for_slopes

if TYPE_CHECKING:
    from linestudy.capability import BinsStudy, MachineStudy
    from linestudy.gauges import (
        AgreementStudy,
        AttributeStudy,
        BiasStudy,
        CrossedStudy,
        DriftStudy,
        LinearityStudy,
        NestedStudy,
        RepeatabilityStudy,
    )

Line = tuple[str, str, float]


def run(item: Any, finding: Any, data: str) -> Iterator[Line]:
    # A number within quotes is read as the country of whoever opens the file writes numbers: 6.1 may be the sixth of January.
    yield "n", f"=COUNT({data})", float(finding.n)
    yield "mean", f"=AVERAGE({data})", finding.mean
    yield "standard deviation", f"=STDEV({data})", finding.sd_overall
    if item.lower is not None:
        yield (
            "below lower limit",
            f'=COUNTIF({data},"<"&{item.lower!r})',
            float(finding.observed.below),
        )
    if item.upper is not None:
        yield (
            "above upper limit",
            f'=COUNTIF({data},">"&{item.upper!r})',
            float(finding.observed.above),
        )
    if finding.method == "normal":
        mean, sd = f"AVERAGE({data})", f"STDEV({data})"
        # Another distribution may decide, so that these are named by what they are computed from.
        named = {"Pp by mean and SD": finding.Pp, "Ppk by mean and SD": finding.Ppk}
        yield from _indices(item, mean, sd, named)


def by_quantiles(item: Any, finding: Any, quantiles: Sequence[float]) -> Iterator[Line]:
    """Yield Pp and Ppk by the 0.135 %, 50 % and 99.865 % quantiles of the distribution."""
    low, middle, high = quantiles
    if isinstance(finding.Pp, Interval):
        width = f"=({item.upper!r}-{item.lower!r})/({high!r}-{low!r})"
        yield "Pp by quantiles", width, finding.Pp.estimate
    sides = []
    if item.upper is not None:
        sides.append(f"({item.upper!r}-{middle!r})/({high!r}-{middle!r})")
    if item.lower is not None:
        sides.append(f"({middle!r}-{item.lower!r})/({middle!r}-{low!r})")
    if isinstance(finding.Ppk, Interval):
        yield "Ppk by quantiles", f"=MIN({','.join(sides)})", finding.Ppk.estimate


def by_stream(
    item: Any, streams: dict[str, tuple[int, float, float]], values: str, numbers: str
) -> Iterator[Line]:
    """Yield n, mean, SD and normal Ppk of each stream from a range of values and one of stream numbers."""
    for number, (name, (n, mean, sd)) in enumerate(streams.items(), start=1):
        own = f"({numbers}={number})"
        count = f"SUMPRODUCT({own}*1)"
        average = f"(SUMPRODUCT({own}*{values})/{count})"
        spread = f"SQRT(SUMPRODUCT({own}*({values}-{average})^2)/({count}-1))"
        yield f"n, stream {name}", f"={count}", float(n)
        yield f"mean, stream {name}", f"={average}", mean
        yield f"standard deviation, stream {name}", f"={spread}", sd
        sides, known = [], []
        if item.upper is not None:
            sides.append(f"({item.upper!r}-{average})/(3*{spread})")
            known.append((item.upper - mean) / (3 * sd))
        if item.lower is not None:
            sides.append(f"({average}-{item.lower!r})/(3*{spread})")
            known.append((mean - item.lower) / (3 * sd))
        yield f"Ppk by mean and SD, stream {name}", f"=MIN({','.join(sides)})", min(known)


def within(item: Any, finding: Any, n: int) -> Iterator[Line]:
    """Yield the indices within subgroups: values in column A, subgroup number in B, its mean in C."""
    values, groups, means = (f"{column}2:{column}{n + 1}" for column in "ABC")
    squares = f"SUMPRODUCT(({groups}>0)*({values}-{means})^2)"
    sd = f"SQRT({squares}/(COUNT({groups})-MAX({groups})))"
    yield "within-subgroup SD", f"={sd}", finding.sd_within
    named = {"Cp": finding.Cp, "Cpk": finding.Cpk}
    yield from _indices(item, f"AVERAGE({values})", sd, named)


def machine(item: Any, finding: MachineStudy, data: str) -> Iterator[Line]:
    """Yield the numbers of a short run from the range of its values."""
    yield "n", f"=COUNT({data})", float(finding.n)
    yield "mean", f"=AVERAGE({data})", finding.mean
    yield "standard deviation", f"=STDEV({data})", finding.sd
    if finding.method == "normal":
        mean, sd = f"AVERAGE({data})", f"STDEV({data})"
        yield from _indices(item, mean, sd, {"Pm": finding.Pm, "Pmk": finding.Pmk})


def _indices(item: Any, mean: str, sd: str, named: dict[str, Interval | Absent]) -> Iterator[Line]:
    """Yield both indices by the normal formulas, that of the width first."""
    (width_name, width), (side_name, nearest) = named.items()
    if isinstance(width, Interval):
        yield width_name, f"=({item.upper!r}-{item.lower!r})/(6*{sd})", width.estimate
    sides = []
    if item.upper is not None:
        sides.append(f"({item.upper!r}-{mean})/(3*{sd})")
    if item.lower is not None:
        sides.append(f"({mean}-{item.lower!r})/(3*{sd})")
    if isinstance(nearest, Interval):
        yield side_name, f"=MIN({','.join(sides)})", nearest.estimate


def crossed(
    study: CrossedStudy, data: str, cells: str, of_parts: str, of_people: str
) -> Iterator[Line]:
    found = {row.source: row.ss for row in study.anova}
    people = max(study.design.appraisers, 1)
    parts, trials = study.design.parts, round(study.design.trials)
    part = f"{people * trials}*DEVSQ({of_parts})"
    person = f"{parts * trials}*DEVSQ({of_people})"
    between = f"{trials}*DEVSQ({cells})"
    yield "sum of squares, part", f"={part}", found["part"]
    if "appraiser" in found:
        yield "sum of squares, appraiser", f"={person}", found["appraiser"]
        yield (
            "sum of squares, interaction",
            f"={between}-{part}-{person}",
            found["part:appraiser"],
        )
    yield "sum of squares, repeatability", f"=DEVSQ({data})-{between}", found["repeatability"]
    yield "sum of squares, total", f"=DEVSQ({data})", found["total"]
    rest = f"(DEVSQ({data})-{between})"
    df = study.anova[-2].df
    if study.pooled_interaction:
        rest = f"(DEVSQ({data})-{part}-{person})"
        df += next(row.df for row in study.anova if row.source == "part:appraiser")
    repeat = study.components["repeatability"].sd.estimate
    yield "EV (repeatability), SD", f"=SQRT({rest}/{df})", repeat
    if repeat > 0:
        squares = {"part": part, "appraiser": person if "appraiser" in found else ""}
        inner = None if study.pooled_interaction else f"({between}-{part}-{person})"
        yield from _grr(study, f"({rest}/{df})", squares, inner)


def _grr(
    study: CrossedStudy, error: str, squares: dict[str, str], inner: str | None
) -> Iterator[Line]:
    """Yield GRR, %GRR and ndc from the mean squares; a negative component counts as 0."""
    people = max(study.design.appraisers, 1)
    parts, trials = study.design.parts, round(study.design.trials)
    variance = error
    within = error
    if squares["appraiser"]:
        if inner is not None:
            within = f"({inner}/{(parts - 1) * (people - 1)})"
            variance += f"+MAX(0,({within}-{error})/{trials})"
        mean_square = f"({squares['appraiser']}/{people - 1})"
        variance += f"+MAX(0,({mean_square}-{within})/{parts * trials})"
    of_parts = f"MAX(0,({squares['part']}/{parts - 1}-{within})/{people * trials})"
    grr = study.components["grr"]
    yield "GRR, SD", f"=SQRT({variance})", grr.sd.estimate
    if study.tolerance and isinstance(grr.share_of_tolerance, Interval):
        share = f"={study.sigma_multiplier!r}*SQRT({variance})/{study.tolerance!r}"
        yield "%GRR (% tolerance)", share, grr.share_of_tolerance.estimate
    if isinstance(study.ndc, Interval) and math.isfinite(study.ndc.estimate):
        yield "ndc", f"=1.41*SQRT({of_parts})/SQRT({variance})", study.ndc.estimate


def mean_of_group(values: str, tags: Sequence[str], n: int) -> str:
    """Write the mean of the readings that share the tags of row ``{0}``; columns by their letters."""
    same = ",".join(f"${tag}$2:${tag}${n + 1},{tag}{{0}}" for tag in tags)
    return f"AVERAGEIFS(${values}$2:${values}${n + 1},{same})"


def within_cells(study: CrossedStudy, n: int, reading: str, mean: str) -> Iterator[Line]:
    """Yield the sum of squares of readings about their cells' means, given in another column.

    Where readings are missing or a third factor is there, the sums of the sources are adjusted for each
    other; that within the cells depends on nothing else.
    """
    found = {row.source: row.ss for row in study.anova}
    readings, cells = f"{reading}2:{reading}{n + 1}", f"{mean}2:{mean}{n + 1}"
    yield "readings", f"=COUNT({readings})", float(n)
    yield "sum of squares, repeatability", f"=SUMXMY2({readings},{cells})", found["repeatability"]


def nested(study: NestedStudy, n: int, reading: str, means: Sequence[str]) -> Iterator[Line]:
    """Yield the table of variance from readings and, in further columns, their group means at each level."""
    readings = f"{reading}2:{reading}{n + 1}"
    columns = [f"{mean}2:{mean}{n + 1}" for mean in means]
    yield "readings", f"=COUNT({readings})", float(study.n)
    squares = [f"DEVSQ({columns[0]})"]
    squares += [f"SUMXMY2({b},{a})" for a, b in itertools.pairwise((*columns, readings))]
    for row, square in zip(study.anova, squares, strict=True):
        yield f"sum of squares, {row.source}", f"={square}", row.ss
    for row, square in zip(study.anova, squares, strict=True):
        yield f"mean square, {row.source}", f"={square}/{row.df}", row.ms or 0.0
    last = study.anova[-1]
    if study.estimator == "ANOVA":
        sd = study.components[last.source].sd.estimate
        yield f"{last.source}, SD", f"=SQRT({squares[-1]}/{last.df})", sd


def judged(study: AttributeStudy, n: int, name: str, number: int, count: int) -> Iterator[Line]:
    """Yield one person's rates: person B, accepted C, reference D, right E, always right F, part's share G."""
    own = f"B2:B{n + 1},{number}"
    good, bad = f"{own},D2:D{n + 1},1", f"{own},D2:D{n + 1},0"
    accepted, refused = f"C2:C{n + 1},1", f"C2:C{n + 1},0"
    yield f"{name}: judgements", f"=COUNTIFS({own})", float(count)
    parts = f"SUMIFS(G2:G{n + 1},{own})"
    shares = (
        (
            "effectiveness (share)",
            f"SUMPRODUCT((B2:B{n + 1}={number})*F2:F{n + 1}*G2:G{n + 1})/{parts}",
            study.effectiveness[name],
        ),
        (
            "miss rate (share)",
            f"COUNTIFS({bad},{accepted})/COUNTIFS({bad})",
            study.miss[name],
        ),
        (
            "false alarm rate (share)",
            f"COUNTIFS({good},{refused})/COUNTIFS({good})",
            study.false_alarm[name],
        ),
    )
    for what, formula, value in shares:
        if isinstance(value, Interval):
            yield f"{name}: {what}", f"={formula}", value.estimate
    kappa = study.kappa_with_reference[name]
    if isinstance(kappa, Interval):
        both = f"COUNTIFS({own})"
        seen = f"COUNTIFS({own},E2:E{n + 1},1)/{both}"
        accepting = f"COUNTIFS({own},{accepted})*COUNTIFS({good})"
        refusing = f"COUNTIFS({own},{refused})*COUNTIFS({bad})"
        chance = f"({accepting}+{refusing})/{both}^2"
        yield (
            f"{name}: kappa with the reference",
            f"=({seen}-{chance})/(1-{chance})",
            kappa.estimate,
        )


def bias(study: BiasStudy, n: int) -> Iterator[Line]:
    """Yield the bias study of n errors on masters in column C."""
    errors = f"C2:C{n + 1}"
    t = f"AVERAGE({errors})/(STDEV({errors})/SQRT(COUNT({errors})))"
    yield "readings", f"=COUNT({errors})", float(study.n)
    yield "bias", f"=AVERAGE({errors})", study.mean_bias.estimate
    if study.tolerance:
        size = abs(study.mean_bias.estimate) / study.tolerance
        yield "% of tolerance, bias", f"=ABS(AVERAGE({errors}))/{study.tolerance!r}", size
    yield "standard deviation", f"=STDEV({errors})", study.sd
    if not study.sd:
        return
    yield "t", f"={t}", study.t
    yield "p", f"=TDIST(ABS({t}),COUNT({errors})-1,2)", study.p


def linearity(study: LinearityStudy, n: int, limits: dict[str, float | None]) -> Iterator[Line]:
    """Yield the line of errors (column C) on masters (A); nothing where masters are weighted."""
    masters, errors = f"A2:A{n + 1}", f"C2:C{n + 1}"
    both = f"{errors},{masters}"
    yield "slope of the error on size", f"=SLOPE({both})", study.slope.estimate
    yield "error at size zero", f"=INTERCEPT({both})", study.intercept.estimate
    yield "SD about the line", f"=STEYX({both})", study.residual_sd
    for name, limit in limits.items():
        if limit is not None and name in study.at_limits:
            at = f"=INTERCEPT({both})+SLOPE({both})*{limit!r}"
            yield f"error at the {name} limit", at, study.at_limits[name].estimate


def repeatability(study: RepeatabilityStudy, n: int, width: float) -> Iterator[Line]:
    """Yield Cg and Cgk of one master's readings: readings in column B, masters in column A."""
    of_one = f"(A2:A{n + 1}={study.reference!r})"
    readings = f"B2:B{n + 1}"
    count = f"SUMPRODUCT({of_one}*1)"
    mean = f"(SUMPRODUCT({of_one}*{readings})/{count})"
    sd = f"SQRT(SUMPRODUCT({of_one}*({readings}-{mean})^2)/({count}-1))"
    width_used, sds = study.fraction * width, study.sigma_multiplier
    yield "readings of the one master", f"={count}", float(study.n)
    yield "their mean", f"={mean}", study.mean
    yield "their standard deviation", f"={sd}", study.sd
    yield "Cg", f"={width_used!r}/({sds!r}*{sd})", study.Cg.estimate
    off = f"ABS({mean}-{study.reference!r})"
    yield "Cgk", f"=({width_used / 2!r}-{off})/({sds / 2!r}*{sd})", study.Cgk.estimate


def drift(study: DriftStudy, n: int) -> Iterator[Line]:
    """Yield the drift: stretches in column C; order and error less their stretch's means in D and E."""
    x, y = f"D2:D{n + 1}", f"E2:E{n + 1}"
    both = f"SUMPRODUCT({x},{y})"
    slope, over = study.slope_shown
    strokes = study.over or strokes_for_slopes([study.slope_per_thousand])
    yield f"drift {over}", f"={strokes}*{both}/SUMSQ({x})", slope.estimate
    free = f"(COUNT({x})-MAX(C2:C{n + 1})-1)"
    rest = f"(SUMSQ({y})-{both}^2/SUMSQ({x}))"
    yield "SD about the line", f"=SQRT(MAX({rest},0)/{free})", study.residual_sd


def agreement(study: AgreementStudy, n: int) -> Iterator[Line]:
    """Yield the agreement of two gauges from their differences in column C."""
    data = f"C2:C{n + 1}"
    yield "parts", f"=COUNT({data})", float(study.n)
    yield "mean difference", f"=AVERAGE({data})", study.mean_difference.estimate
    yield "standard deviation", f"=STDEV({data})", study.sd_difference
    half = f"NORMSINV(0.975)*STDEV({data})"
    yield "lower limit of agreement", f"=AVERAGE({data})-{half}", study.lower_limit.estimate
    yield "upper limit of agreement", f"=AVERAGE({data})+{half}", study.upper_limit.estimate


def outside_of(row: int, readings: int, lower: bool, upper: bool) -> str:
    """Write the count of readings, from column H on, beyond the limits in columns D and E of a row."""
    from xlsxwriter.utility import xl_col_to_name

    span = f"H{row}:{xl_col_to_name(6 + readings)}{row}"
    parts = [f'COUNTIF({span},"<"&D{row})'] if lower else []
    parts += [f'COUNTIF({span},">"&E{row})'] if upper else []
    return f"={'+'.join(parts) or '0'}"


def bins(study: BinsStudy, n: int) -> Iterator[Line]:
    """Yield counts and the reject rate by period: accepted in column A, rejected in column B."""
    accepted, rejected = f"SUM(A2:A{n + 1})", f"SUM(B2:B{n + 1})"
    yield "accepted", f"={accepted}", float(study.accepted)
    yield "rejected", f"={rejected}", float(study.rejected)
    rate = f"={rejected}/({accepted}+{rejected})"
    yield "share rejected", rate, study.reject_rate.estimate
