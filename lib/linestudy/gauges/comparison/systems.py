"""Two measuring systems or more on the same parts: two cameras, two stations, before and after maintenance.

Model, for each system: a crossed study of its own. Between two of them the difference of a part's means is
``bias + part x system + appraiser x system + error``, parts and appraisers random; where the same appraisers read
with both, the variance of the mean difference is that of a two-way table without repeats, else parts alone are the
unit (Student's t). Repeatabilities are compared by F with degrees of freedom that allow for heavy
tails (`numerics.heavy_tails`), GRR by recovering the ratio's limits from those of both on the scale of
logarithms (MOVER: Donner & Zou, *Statistical Methods in Medical Research* 21 (2012), 347-359), all
repeatabilities by Bartlett's test. Several pairs share the confidence (Bonferroni). Equivalence is
asked by two one-sided tests: the interval of twice the risk lies within what is allowed
(Schuirmann, *Journal of Pharmacokinetics and Biopharmaceutics* 15 (1987), 657-680).

When it misleads: where the systems were read by different people, their bias holds what these people differ
by; parts that changed between two studies look like a bias; parts that bear the same name and are others are
refused where their means do not go together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.comparison.levels import of_their_own
from linestudy.gauges.comparison.other_parts import refuse_other_parts
from linestudy.gauges.comparison.systems_finding import (
    SystemComparison,
    SystemPair,
    SystemSpread,
)
from linestudy.gauges.grr.analysis import grr_anova
from linestudy.gauges.grr.finding import CrossedStudy
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.results import Absent, CannotJudge, Interval, arguments, counted, data_arguments

if TYPE_CHECKING:
    import pandas as pd

#: More pairs than this nobody reads; then each is held against the first alone.
MOST_PAIRS = 10


def system_comparison(
    data: pd.DataFrame,
    *,
    system: str = "system",
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    factor: str | None = None,
    in_time: bool = False,
    tolerance: float | None = None,
    allowed_share: float = 0.05,
    allowed_ratio: float = 1.5,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> SystemComparison:
    r"""Compare measuring systems that read the same parts, each in a crossed study.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row, in `unit`; a row without a reading counts as none.
    system : str
        Column of the measuring system: gauge, station, or the study where one gauge was studied again.
    value, part : str
        Columns of the readings and of the part.
    appraiser : str or None
        Column of the appraiser, blank for systems that read by themselves; None where all do.
    factor : str or None
        Column of a third crossed factor, blank for systems studied without one: its spread counts to GRR, not to repeatability.
    in_time : bool
        Whether the systems are studies one after the other, as their rows come: then each is compared with the
        one before, and the last with the first.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    allowed_share : float
        Share of the tolerance within which two systems read alike (as for a bias; common practice, no source).
    allowed_ratio : float
        Ratio of two repeatabilities up to which they count as alike (a choice of this kit, no source).
    confidence : float
        Of the intervals of all pairs together, between 0 and 1.
    seed : int, optional
        Of the draws of each crossed study; the kit's own when absent.
    unit : str
        Unit of the readings.

    Returns
    -------
    SystemComparison
        Spread of each system; bias and ratios of pairs, with equivalence.

    Raises
    ------
    CannotJudge
        One system, or systems that have no three parts in common and none that repeats.
    ValueError
        A column that is not there, or an argument outside its range.

    See Also
    --------
    method_comparison : Two gauges, one reading of each part with each.
    interlaboratory : Three or more, as a sample of all there are.

    Notes
    -----
    With :math:`d_{pa}` the difference of cell means, mean squares of its table by part and appraiser and
    :math:`M_{PA}` of the rest,

    .. math:: \operatorname{var}(\bar d) = (M_P + M_A - M_{PA}) / (pa) \ge M_P / (pa)

    with Satterthwaite's degrees of freedom. Misleads where parts changed between the studies, and where
    different people read with the two.

    References
    ----------
    Donner & Zou, *Statistical Methods in Medical Research* 21 (2012), 347-359. Schuirmann, *Journal of
    Pharmacokinetics and Biopharmaceutics* 15 (1987), 657-680. Bartlett, *Proceedings of the Royal Society* A
    160 (1937), 268-282.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> rng = np.random.default_rng(1)
    >>> part = np.tile(np.repeat(np.arange(10), 3), 2)
    >>> camera = np.repeat(["left", "right"], 30)
    >>> data = pd.DataFrame({"part": part, "system": camera,
    ...     "value": part + 0.2 * (camera == "right") + rng.normal(0, 0.1, 60)})
    >>> pair = system_comparison(data, appraiser=None).pairs[0]
    >>> pair.bias.low > 0
    True
    """
    for name, argument in ((system, "system"), (value, "value"), (part, "part")):
        data_arguments.column(data, name, argument)
    data_arguments.width("tolerance", tolerance)
    arguments.share("confidence", confidence)
    arguments.share("allowed_share", allowed_share)
    if not allowed_ratio > 1:
        raise ValueError(f"allowed_ratio = {allowed_ratio:g}: it must be above 1.")
    table = data[data[value].notna()]
    data_arguments.computable(table[value].to_numpy(dtype=float))
    each = {
        str(name): _System(
            str(name), own, (value, part, appraiser, factor), tolerance, confidence, seed
        )
        for name, own in table.groupby(system, sort=not in_time)
    }
    if len(each) < 2:
        raise CannotJudge(
            "The readings are of one measuring system, so there is none to compare it with."
        )
    couples = _couples(list(each), in_time)
    alone = 1 - (1 - confidence) / len(couples)
    pairs = [
        _pair(
            each[a], each[b], tolerance, (alone, 2 * confidence - 1), allowed_share, allowed_ratio
        )
        for a, b in couples
    ]
    if all(isinstance(p.bias, Absent) and isinstance(p.repeatability_ratio, Absent) for p in pairs):
        reason = pairs[0].bias.reason if isinstance(pairs[0].bias, Absent) else ""
        raise CannotJudge(f"No two of the systems can be compared: {reason}.")
    return SystemComparison(
        systems={name: one.spread for name, one in each.items()},
        pairs=tuple(pairs),
        equal_repeatability_p=_bartlett(list(each.values())),
        allowed_share=allowed_share,
        allowed_ratio=allowed_ratio,
        tolerance=tolerance,
        unit=unit,
        cautions=_cautions(each, pairs),
    )


def _couples(names: list[str], in_time: bool) -> list[tuple[str, str]]:
    """Choose which systems are compared with which."""
    if in_time:
        ends = [(names[0], names[-1])] if len(names) > 2 else []
        return [*pairwise(names), *ends]
    every = list(combinations(names, 2))
    return every if len(every) <= MOST_PAIRS else [(names[0], name) for name in names[1:]]


@dataclass
class _System:
    """One measuring system: its crossed study and the means of its cells."""

    name: str
    cells: dict[tuple[str, str], float]
    study: CrossedStudy | None
    spread: SystemSpread

    def __init__(
        self,
        name: str,
        own: pd.DataFrame,
        columns: tuple[str, str, str | None, str | None],
        tolerance: float | None,
        confidence: float,
        seed: int | None,
    ) -> None:
        value, part, appraiser, factor = columns
        self.name = name
        # Of gauges in one table those that read by themselves have no appraiser, and a blank is no group.
        who = own[appraiser].fillna("-").astype(str) if appraiser in own else "-"
        keyed = own.assign(**{"␟part": own[part].astype(str), "␟who": who})
        self.cells = {
            (str(p), str(a)): float(np.sort(cell.to_numpy(dtype=float)).mean())
            for (p, a), cell in keyed.groupby(["␟part", "␟who"])[value]
        }
        several = [column in own and own[column].nunique() > 1 for column in (appraiser, factor)]
        none: Interval | Absent
        try:
            self.study = grr_anova(
                own,
                value=value,
                part=part,
                appraiser=appraiser if several[0] else None,
                factor=factor if several[1] else None,
                trial=None,
                tolerance=tolerance,
                confidence=confidence,
                draws=10_000,
                seed=seed,
            )
        except CannotJudge as why:
            self.study = None
            none = Absent(why.reason.rstrip("."))
            self.spread = SystemSpread(own[part].nunique(), len(own), none, none, none)
            return
        components = self.study.components
        self.spread = SystemSpread(
            own[part].nunique(),
            len(own),
            components["repeatability"].sd,
            components["grr"].sd,
            components["grr"].share_of_tolerance,
        )

    @property
    def hidden(self) -> float:
        """Return the standard deviation that rounding to the step of its readings may hide."""
        step = None if self.study is None else apparent_step(self.study.layout.values)
        return 0.0 if step is None else step / math.sqrt(12)

    @property
    def repeat(self) -> tuple[float, float]:
        """Return repeatability and its degrees of freedom; nought where it cannot be seen."""
        if self.study is None:
            return 0.0, 0.0
        layout = self.study.layout
        df = float(np.maximum(layout.counts.ravel() - 1, 0).sum())
        return math.sqrt(float((layout.rest() ** 2).sum()) / df), df * layout.tail_factor

    @property
    def of_a_mean(self) -> tuple[float, float]:
        """Return the variance that repeated readings leave in the mean of a part, and its degrees of freedom."""
        sd, df = self.repeat
        if self.study is None:
            return 0.0, 0.0
        readings = self.study.layout.counts.reshape(len(self.study.layout.levels["part"]), -1)
        each = float((1 / readings.sum(axis=1)).mean())
        return max(sd, self.hidden) ** 2 * each, df


def _pair(
    first: _System,
    second: _System,
    tolerance: float | None,
    confidences: tuple[float, float],
    allowed_share: float,
    allowed_ratio: float,
) -> SystemPair:
    alone, shorter = confidences
    bias: Interval | Absent
    within: Interval | Absent
    p = None
    common = {key[0] for key in first.cells} & {key[0] for key in second.cells}
    try:
        mean, error, df = _difference(first, second)
        bias, within = (_student(mean, error, df, level) for level in (alone, shorter))
        p = _p_of(mean, error, df)
    except CannotJudge as why:
        bias = within = Absent(why.reason)
    equal = None
    if isinstance(within, Interval) and tolerance is not None:
        edge = allowed_share * tolerance
        equal = -edge <= within.low and within.high <= edge
    ratio = _ratio(first, second, alone)
    alike = None
    if isinstance(ratio, Interval):
        short = _ratio(first, second, shorter)
        assert isinstance(short, Interval)
        alike = 1 / allowed_ratio <= short.low and short.high <= allowed_ratio
    return SystemPair(
        first=first.name,
        second=second.name,
        parts=len(common),
        bias=bias,
        bias_p=p,
        bias_within=within,
        bias_equivalent=equal,
        repeatability_ratio=ratio,
        grr_ratio=_grr_ratio(first, second, alone),
        ratio_equivalent=alike,
    )


def _difference(one: _System, two: _System) -> tuple[float, float, float]:
    """Compute the mean difference over common parts, its standard error and degrees of freedom."""
    first, second = one.cells, two.cells
    common = sorted({key[0] for key in first} & {key[0] for key in second})
    if len(common) < 3:
        raise CannotJudge(
            f"the two have {counted(len(common), 'part')} in common; three are needed"
        )
    people = [sorted({key[1] for key in cells}) for cells in (first, second)]
    means = [
        np.array([np.mean([cells[p, a] for a in who if (p, a) in cells]) for p in common])
        for cells, who in zip((first, second), people, strict=True)
    ]
    refuse_other_parts(means[0], means[1], one.of_a_mean, two.of_a_mean)
    full = all((p, a) in cells for cells in (first, second) for p in common for a in people[0])
    if people[0] == people[1] and len(people[0]) > 1 and full:
        table = np.array([[second[p, a] - first[p, a] for a in people[0]] for p in common])
        return _two_way(table)
    differences = means[1] - means[0]
    sd = float(differences.std(ddof=1))
    if sd <= 1e-12 * float(np.abs(means[0]).max() + np.abs(means[1]).max()):
        raise CannotJudge(
            "the difference is the same on every part, so its spread is hidden by the resolution"
        )
    return float(differences.mean()), sd / math.sqrt(differences.size), differences.size - 1.0


def _two_way(table: NDArray[np.float64]) -> tuple[float, float, float]:
    """Compute the mean of a table of parts by appraisers, both random; its error and degrees of freedom."""
    p, a = table.shape
    mean = float(table.mean())
    rows, columns = table.mean(axis=1) - mean, table.mean(axis=0) - mean
    rest = table - mean - rows[:, None] - columns
    by_part = a * float((rows**2).sum()) / (p - 1)
    by_person = p * float((columns**2).sum()) / (a - 1)
    left = float((rest**2).sum()) / ((p - 1) * (a - 1))
    if by_part <= 1e-24 * float((table**2).max()):
        raise CannotJudge(
            "the difference is the same on every part, so its spread is hidden by the resolution"
        )
    variance = by_part + by_person - left
    if variance <= by_part:
        return mean, math.sqrt(by_part / (p * a)), p - 1.0
    down = by_part**2 / (p - 1) + by_person**2 / (a - 1) + left**2 / ((p - 1) * (a - 1))
    return mean, math.sqrt(variance / (p * a)), min(variance**2 / down, p - 1.0)


def _student(mean: float, error: float, df: float, confidence: float) -> Interval:
    from scipy.special import stdtrit

    half = float(stdtrit(df, (1 + confidence) / 2)) * error
    return Interval(mean, mean - half, mean + half, confidence, "Student's t")


def _p_of(mean: float, error: float, df: float) -> float:
    from scipy.special import stdtr

    return 2 * float(stdtr(df, -abs(mean) / error))


def _ratio(first: _System, second: _System, confidence: float) -> Interval | Absent:
    """Compare repeatability, second over first, by F."""
    from scipy.special import fdtri

    (one, df_one), (two, df_two) = first.repeat, second.repeat
    for system, sd in ((first, one), (second, two)):
        if sd <= 0:
            return Absent(f"repeated readings of {system.name} never differ, or there are none")
        if sd < system.hidden:
            return Absent(f"the resolution hides most of how readings of {system.name} repeat")
    tail, ratio = (1 - confidence) / 2, two / one
    low = ratio / math.sqrt(float(fdtri(df_two, df_one, 1 - tail)))
    high = ratio / math.sqrt(float(fdtri(df_two, df_one, tail)))
    return Interval(ratio, low, high, confidence, "F, degrees of freedom by kurtosis")


def _grr_ratio(first: _System, second: _System, confidence: float) -> Interval | Absent:
    """Compare GRR, second over first, from both intervals on the scale of logarithms."""
    from scipy.special import ndtri

    one, two = first.spread.grr_sd, second.spread.grr_sd
    for system, sd in ((first, one), (second, two)):
        if isinstance(sd, Absent) or min(sd.low, sd.estimate) <= 0:
            return Absent(f"GRR of {system.name} has no lower bound above nought")
    assert isinstance(one, Interval)
    assert isinstance(two, Interval)
    # Wider where pairs share the confidence.
    wider = float(ndtri((1 + confidence) / 2) / ndtri((1 + one.confidence) / 2))
    best = math.log(two.estimate / one.estimate)
    down = math.hypot(math.log(two.estimate / two.low), math.log(one.high / one.estimate))
    up = math.hypot(math.log(two.high / two.estimate), math.log(one.estimate / one.low))
    ends = (math.exp(best - wider * down), math.exp(min(best + wider * up, 700.0)))
    return Interval(math.exp(best), *ends, confidence, "recovered from both intervals")


def _bartlett(systems: Sequence[_System]) -> float | None:
    """Compute p of Bartlett's test that all repeat equally well."""
    from scipy.special import chdtrc

    known = np.array([system.repeat for system in systems])
    known = known[(known > 0).all(axis=1)]
    if len(known) < 2:
        return None
    variance, df = known[:, 0] ** 2, known[:, 1]
    total, k = float(df.sum()), len(known)
    pooled = float((df * variance).sum()) / total
    statistic = total * math.log(pooled) - float((df * np.log(variance)).sum())
    scale = 1 + (float((1 / df).sum()) - 1 / total) / (3 * (k - 1))
    return float(chdtrc(k - 1, max(statistic, 0.0) / scale))


def _cautions(each: dict[str, _System], pairs: Sequence[SystemPair]) -> tuple[str, ...]:
    notes: list[str] = []
    people: dict[str, Any] = {
        name: tuple(sorted({who for _, who in one.cells})) for name, one in each.items()
    }
    if len(set(people.values())) > 1:
        notes.append(
            "Not the same people read with every system, so a bias between systems holds what people differ by."
        )
    few = min((pair.parts for pair in pairs if isinstance(pair.bias, Interval)), default=0)
    if 0 < few < 10:
        notes.append(f"{few} common parts are few; ten or more are usual.")
    notes += [
        f"{pair.second} against {pair.first}: {pair.bias.reason}."
        for pair in pairs
        if isinstance(pair.bias, Absent)
    ]
    cells = {
        name: {
            part: float(np.mean([v for key, v in one.cells.items() if key[0] == part]))
            for part, _ in one.cells
        }
        for name, one in each.items()
    }
    return (*notes, *of_their_own(cells))
