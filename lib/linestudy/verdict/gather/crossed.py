"""What a crossed study says beyond its own %GRR, and what of gauge studies a reader holds against records of their own.

Had the step hidden less, had readings not been missing, had everyone read as the worst; and of parts, people and masters the
numbers that no study can show to be those of the gauge.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.gauges.comparison.systems_finding import SystemComparison
from linestudy.gauges.grr.analysis import NDC_FACTOR
from linestudy.gauges.grr.finding import CrossedStudy
from linestudy.gauges.judgement.rates import asked_for
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.numerics.heavy_tails import variance_df
from linestudy.results import Interval, show_in
from linestudy.results.tables import natural_order
from linestudy.verdict.soundness.reading_doubts import step_of

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records

#: How much better a gauge repeats on masters than on parts before it is asked why, as a ratio of standard deviations, and how seldom
#: that is an accident (common practice, no source). Of 10,800 honest pairs of studies that repeat alike (normal, t with 4 df, exponential;
#: three plans; steps of 0.05 to 0.9 SD) 7 were asked about; of masters that repeat with 0.3 of the parts' SD 63 to 100 %, with half 25 to 49 %.
_LESS, _RARELY = 0.5, 0.001
#: How far off a missing reading may have lain, in standard deviations of repeatability (common practice, no source).
_FAR = 3.0


def crossed_facts(
    crossed: CrossedStudy | None,
    compared: SystemComparison | None,
    of: str,
    run_sd: float | None,
    unit: str,
    limits: tuple[float | None, float | None] = (None, None),
    width: float | None = None,
) -> dict[str, Any]:
    """Gather facts of a crossed study and of its repetitions over time.

    Parameters
    ----------
    crossed : CrossedStudy or None
    compared : SystemComparison or None
        Of studies made one after the other.
    of : str
        What %GRR is a share of, as in :class:`~linestudy.verdict.measurement_facts.GaugeFacts`.
    run_sd : float or None
        Standard deviation of the run, in the characteristic's unit.
    unit : str
        The characteristic's.
    limits : (float or None, float or None)
        The characteristic's.
    width : float or None
        What shares of the tolerance refer to.

    Returns
    -------
    dict of str to object
        Fields of the gauge's facts; empty without a study.
    """
    if crossed is None:
        return {}
    return {
        "ndc_by_run": _by_run(crossed, run_sd),
        **_least(crossed, of, run_sd),
        **_missing(crossed, of, run_sd),
        **_worst_appraiser(crossed, of, run_sd),
        **_over_time(crossed, compared, of, run_sd, unit),
        **_size(crossed),
        "parts_beyond": _beyond(crossed, limits, width),
    }


def _by_run(crossed: CrossedStudy, run_sd: float | None) -> float | None:
    if run_sd is None:
        return None
    own = crossed.components["grr"].sd.estimate
    # The run's spread holds the gauge's own.
    parts = math.sqrt(max(run_sd**2 - own**2, 0.0))
    return math.inf if own == 0 else math.sqrt(2) * parts / own


def _least(crossed: CrossedStudy, of: str, run_sd: float | None) -> dict[str, Any]:
    """Compute GRR and ndc with the step's own uncertainty in place of a repeatability that it hides.

    The step is that of the study's own readings: rounded on the way to its file, they hide more than those of the run.
    """
    own = crossed.components["repeatability"].variance.estimate
    hidden = apparent_step(crossed.layout.values) ** 2 / 12
    if own >= hidden:
        return {}
    share, ndc = _raised(crossed, of, run_sd, hidden - own)
    return {"least_share": share, "least_ndc": ndc}


def _raised(
    crossed: CrossedStudy, of: str, run_sd: float | None, more: float
) -> tuple[float | None, float]:
    """Compute GRR's share and ndc had repeatability a larger variance."""
    parts = crossed.components
    raised = math.sqrt(parts["grr"].variance.estimate + more)
    wholes = {
        "tolerance": (crossed.tolerance or 0.0) / crossed.sigma_multiplier,
        "total spread": math.sqrt(parts["total"].variance.estimate + more),
        "process variation": run_sd or 0.0,
    }
    share = raised / wholes[of] if wholes[of] > 0 else None
    return share, NDC_FACTOR * parts["part"].sd.estimate / raised


def _missing(crossed: CrossedStudy, of: str, run_sd: float | None) -> dict[str, Any]:
    """Count readings that most parts have and others lack, and compute GRR had they been the worst.

    Whoever leaves out the readings that lie farthest off, up to a tenth of all, leaves out less than three standard
    deviations of those that remain, on average.
    """
    layout = crossed.layout
    keep = [layout.factors.index(name) for name in ("part", "appraiser") if name in layout.factors]
    rest = tuple(i for i in range(layout.counts.ndim) if i not in keep)
    counts = layout.counts.sum(axis=rest) if rest else layout.counts
    missing = int((asked_for(counts.ravel()) - counts).clip(min=0).sum())
    if not missing:
        return {}
    own = crossed.components["repeatability"].variance.estimate
    free = float(layout.values.size - (layout.counts > 0).sum())
    more = own * ((free + _FAR**2 * missing) / (free + missing) - 1)
    return {
        "missing": missing,
        "missing_of": int(counts.sum()) + missing,
        "missing_share": _raised(crossed, of, run_sd, more)[0],
    }


def _worst_appraiser(crossed: CrossedStudy, of: str, run_sd: float | None) -> dict[str, Any]:
    """Find who repeats worst, the p-value that all repeat equally well, and GRR had everyone repeated as this one does."""
    equal = crossed.equal_repeatability
    if equal is None:
        return {}
    name, sd = max(equal.sd.items(), key=lambda one: (one[1].estimate, one[0]))
    more = sd.estimate**2 - crossed.components["repeatability"].variance.estimate
    return {
        "worst_appraiser": name,
        "appraisers_p": equal.p,
        "appraisers_share": _raised(crossed, of, run_sd, max(more, 0.0))[0],
    }


def _over_time(
    crossed: CrossedStudy,
    compared: SystemComparison | None,
    of: str,
    run_sd: float | None,
    unit: str,
) -> dict[str, Any]:
    """Find the two studies of a gauge that differ most in level, and GRR with that as spread between studies.

    Half the squared difference of two levels is the variance between them.
    """
    if compared is None:
        return {}
    known = [
        (pair.bias_p, pair, pair.bias)
        for pair in compared.pairs
        if isinstance(pair.bias, Interval) and pair.bias_p is not None
    ]
    if not known:
        return {}
    p, pair, bias = min(known, key=lambda one: (one[0], -abs(one[2].estimate)))
    return {
        "over_time_p": min(p * len(known), 1.0),
        "over_time_share": _raised(crossed, of, run_sd, bias.estimate**2 / 2)[0],
        "over_time": f"study {pair.second} reads {show_in(bias, unit)} above {pair.first} on the same parts",
    }


def _size(crossed: CrossedStudy) -> dict[str, Any]:
    return {
        "parts": crossed.design.parts,
        "appraisers": crossed.design.appraisers or None,
        "repeat_df": float(crossed.layout.values.size - (crossed.layout.counts > 0).sum()),
    }


def _beyond(
    crossed: CrossedStudy, limits: tuple[float | None, float | None], width: float | None
) -> float:
    """Compute how far beyond a limit the parts' median lies, relative to the width; 0 between the limits."""
    if width is None or width <= 0:
        return 0.0
    middle = float(np.nanmedian(np.nanmean(crossed.layout.means(), axis=1)))
    lower, upper = limits
    below = -math.inf if lower is None else lower - middle
    above = -math.inf if upper is None else middle - upper
    return max(below, above, 0.0) / width


def of_its_studies(records: Records, key: str, gauge: str | None) -> dict[str, Any]:
    """Gather what a reader can compare of gauge studies: parts, people and masters, first and last reading.

    Parameters
    ----------
    records : Records
    key : str
        Characteristic id.
    gauge : str or None
        Its id.

    Returns
    -------
    dict of str to object
        Fields of the record's facts.
    """
    crossed = records.table("crossed", key, gauge)
    masters = records.table("reference", key, gauge)
    people = [
        table["appraiser"]
        for role in ("crossed", "nested", "attribute")
        if (table := records.table(role, key, gauge)) is not None and "appraiser" in table
    ]
    known = masters is not None and "reference" in masters
    return {
        "masters": _sizes(masters["reference"]) if known and masters is not None else (),
        "master_readings": _ends(masters) if known else (),
        "study_parts": _parts(crossed),
        "study_readings": _ends(crossed),
        "study_people": tuple(sorted(map(str, people[0].dropna().unique()), key=natural_order))
        if people
        else (),
    }


def _sizes(known: pd.Series) -> tuple[float, ...]:
    return tuple(float(v) for v in np.unique(known.dropna().to_numpy(float)))


def _ends(table: pd.DataFrame | None) -> tuple[float, ...]:
    """Return the first and the last reading, in the order of the file."""
    if table is None or len(table) < 2:
        return ()
    read = table["value"].to_numpy(float)
    return float(read[0]), float(read[-1])


def _parts(table: pd.DataFrame | None) -> tuple[float, ...]:
    if table is None or "part" not in table or table.empty:
        return ()
    means = table.groupby("part")["value"].mean().to_numpy(float)
    sd = float(means.std(ddof=1)) if means.size > 1 else 0.0
    return float(means.size), float(means.min()), float(means.max()), sd


def repeats_better_on_masters(records: Records, key: str, gauge: str | None) -> list[str]:
    """Tell of masters on which the gauge repeats far better than on parts (F).

    It may: masters have clean edges and are clamped. Then the bias is that on masters; and whoever made up readings of masters made them
    too near to each other.

    Parameters
    ----------
    records : Records
    key : str
        Characteristic id.
    gauge : str or None
        Its id.

    Returns
    -------
    list of str
        A clause; none where the two do not differ by more than chance, and by less than half.
    """
    masters, parts = (records.table(role, key, gauge) for role in ("reference", "crossed"))
    if masters is None or parts is None or "reference" not in masters:
        return []
    one, free = _repeated(masters, ["reference"])
    other, many = _repeated(parts, [n for n in ("part", "appraiser", "factor") if n in parts])
    # Steps as wide as the spread say nothing of how much smaller it is on masters.
    coarse = step_of(parts["value"].to_numpy(float)) ** 2 > other
    if coarse or min(free, many) <= 0 or not 0 < one < _LESS**2 * other:
        return []
    from scipy.special import fdtr

    if fdtr(free, many, one / other) >= _RARELY:
        return []
    return [
        f"readings of masters repeat with an SD {math.sqrt(other / one):.1f} times smaller than those of parts: ask whether masters were "
        "read as parts are, each placed anew, and whether their readings are those that the gauge recorded"
    ]


def _repeated(table: pd.DataFrame, cells: list[str]) -> tuple[float, float]:
    """Estimate the variance of repeated readings within cells, and the degrees of freedom that its tails leave it."""
    groups = table.groupby(cells, sort=False)["value"]
    free = len(table) - groups.ngroups
    if free < 1:
        return 0.0, 0.0
    rest = (table["value"] - groups.transform("mean")).to_numpy(float)
    cell = groups.ngroup().to_numpy().astype(np.int_)
    return float((rest**2).sum()) / free, variance_df(rest, cell, np.bincount(cell))
