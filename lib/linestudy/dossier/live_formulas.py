"""Live formulas of the workbook: name of a quantity, the formula, and the kit's number for it.

Each takes the cells where a study's data stand; every spreadsheet knows the functions used.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from linestudy.core import Interval

if TYPE_CHECKING:
    from linestudy.capability import BinsStudy
    from linestudy.gauges import (
        AgreementStudy,
        BiasStudy,
        CrossedStudy,
        DriftStudy,
        LinearityStudy,
        RepeatabilityStudy,
    )

Line = tuple[str, str, float]


def run(item: Any, finding: Any, data: str) -> Iterator[Line]:
    yield "n", f"=COUNT({data})", float(finding.n)
    yield "mean", f"=AVERAGE({data})", finding.mean
    yield "standard deviation", f"=STDEV({data})", finding.sd_overall
    if item.lower is not None:
        yield (
            "below lower limit",
            f'=COUNTIF({data},"<{item.lower!r}")',
            float(finding.observed["below"]),
        )
    if item.upper is not None:
        yield (
            "above upper limit",
            f'=COUNTIF({data},">{item.upper!r}")',
            float(finding.observed["above"]),
        )
    if finding.method == "normal":
        mean, sd = f"AVERAGE({data})", f"STDEV({data})"
        if isinstance(finding.Pp, Interval):
            yield "Pp", f"=({item.upper!r}-{item.lower!r})/(6*{sd})", finding.Pp.estimate
        sides = []
        if item.upper is not None:
            sides.append(f"({item.upper!r}-{mean})/(3*{sd})")
        if item.lower is not None:
            sides.append(f"({mean}-{item.lower!r})/(3*{sd})")
        yield "Ppk", f"=MIN({','.join(sides)})", finding.Ppk.estimate


def crossed(
    study: CrossedStudy, data: str, cells: str, of_parts: str, of_people: str
) -> Iterator[Line]:
    found = {row["source"]: row["ss"] for row in study.anova}
    people = max(study.design["appraisers"], 1)
    parts, trials = study.design["parts"], round(study.design["trials"])
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
    df = study.anova[-2]["df"]
    if study.pooled_interaction:
        rest = f"(DEVSQ({data})-{part}-{person})"
        df += next(row["df"] for row in study.anova if row["source"] == "part:appraiser")
    yield "repeatability, SD", f"=SQRT({rest}/{df})", study.components["repeatability"].sd.estimate


def bias(study: BiasStudy, n: int) -> Iterator[Line]:
    """Errors of n readings on masters in column C."""
    errors = f"C2:C{n + 1}"
    t = f"AVERAGE({errors})/(STDEV({errors})/SQRT(COUNT({errors})))"
    yield "readings", f"=COUNT({errors})", float(study.n)
    yield "mean bias", f"=AVERAGE({errors})", study.mean_bias.estimate
    yield "standard deviation", f"=STDEV({errors})", study.sd
    yield "t", f"={t}", study.t
    yield "p", f"=TDIST(ABS({t}),COUNT({errors})-1,2)", study.p


def linearity(study: LinearityStudy, n: int, limits: dict[str, float | None]) -> Iterator[Line]:
    """Masters in column A, errors in column C; nothing where masters are weighted."""
    masters, errors = f"A2:A{n + 1}", f"C2:C{n + 1}"
    both = f"{errors},{masters}"
    yield "slope of the error on size", f"=SLOPE({both})", study.slope.estimate
    yield "error at size zero", f"=INTERCEPT({both})", study.intercept.estimate
    yield "scatter about the line", f"=STEYX({both})", study.residual_sd
    for name, limit in limits.items():
        if limit is not None and name in study.at_limits:
            at = f"=INTERCEPT({both})+SLOPE({both})*{limit!r}"
            yield f"error at the {name} limit", at, study.at_limits[name].estimate


def repeatability(study: RepeatabilityStudy, n: int, width: float) -> Iterator[Line]:
    """Readings of one master in column B, masters in column A."""
    of_one = f"(A2:A{n + 1}={study.reference!r})"
    readings = f"B2:B{n + 1}"
    count = f"SUMPRODUCT({of_one}*1)"
    mean = f"(SUMPRODUCT({of_one}*{readings})/{count})"
    sd = f"SQRT(SUMPRODUCT({of_one}*({readings}-{mean})^2)/({count}-1))"
    room, sds = study.fraction * width, study.spread
    yield "readings of the one master", f"={count}", float(study.n)
    yield "their mean", f"={mean}", study.mean
    yield "their standard deviation", f"={sd}", study.sd
    yield "Cg", f"={room!r}/({sds!r}*{sd})", study.Cg.estimate
    off = f"ABS({mean}-{study.reference!r})"
    yield "Cgk", f"=({room / 2!r}-{off})/({sds / 2!r}*{sd})", study.Cgk.estimate


def drift(study: DriftStudy, n: int) -> Iterator[Line]:
    """Order numbers in column A, errors on the master in column B, one stretch."""
    both = f"B2:B{n + 1},A2:A{n + 1}"
    yield "drift per thousand strokes", f"=1000*SLOPE({both})", study.slope_per_thousand.estimate
    yield "scatter about the line", f"=STEYX({both})", study.residual_sd


def agreement(study: AgreementStudy, n: int) -> Iterator[Line]:
    """Differences of two gauges in column C."""
    data = f"C2:C{n + 1}"
    yield "parts", f"=COUNT({data})", float(study.n)
    yield "mean difference", f"=AVERAGE({data})", study.mean_difference.estimate
    yield "standard deviation", f"=STDEV({data})", study.sd_difference
    half = f"NORMSINV(0.975)*STDEV({data})"
    yield "lower limit of agreement", f"=AVERAGE({data})-{half}", study.lower_limit.estimate
    yield "upper limit of agreement", f"=AVERAGE({data})+{half}", study.upper_limit.estimate


def bins(study: BinsStudy, n: int) -> Iterator[Line]:
    """Counts by period: accepted in column A, rejected in column B."""
    accepted, rejected = f"SUM(A2:A{n + 1})", f"SUM(B2:B{n + 1})"
    yield "accepted", f"={accepted}", float(study.accepted)
    yield "rejected", f"={rejected}", float(study.rejected)
    rate = f"={rejected}/({accepted}+{rejected})"
    yield "share rejected", rate, study.reject_rate.estimate
