"""Stability of a line log: charts, correlation, change points and time model out of its summaries.

A week of every part is too much to hold; its subgroups, lagged products and sums of quarter hours are not. Charts,
their rules and the share of variance between subgroups are the same as from the parts. Correlation is
known at the lags that were summed and, beyond them, at the distances of subgroups (whose means move as
single parts do once parts of a subgroup move together); in between it is taken as straight. Slow
movements are looked for in stretches of whole quarter hours. What chance makes of the logarithms of the variances
of subgroups is that of normal parts and their kurtosis (Bartlett & Kendall, *Supplement to the JRSS* 8 (1946),
128-138); normality by skewness and kurtosis. Misleads where a log has no clock and its
files overlap, for order numbers then do not count time. Sources, components and wear come from sums over
quarter hours (``quarter_hours``).
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.linelog.quarter_hours import (
    QuarterHourSums,
    compare_quarter_hours,
    components_of_quarter_hours,
    quarter_hour_sums_of,
    sources_of_quarter_hours,
    wear_of_quarter_hours,
)
from linestudy.results import CannotJudge, Findings
from linestudy.results.tables import named
from linestudy.stability.evaluation import judge
from linestudy.stability.model.combination import combined
from linestudy.stability.model.spread_patterns import chance_of_sums, spread_change
from linestudy.stability.model.subgroup_means import level_of_means
from linestudy.stability.model.time_dependent_model import (
    TimeModelStudy,
    decide,
)
from linestudy.stability.movement.change_point_search import ChangePointStudy, change_points
from linestudy.stability.movement.serial_correlation import (
    BATCHES,
    AutocorrelationStudy,
    from_correlations,
    longest_lag,
    slow_movements,
)
from linestudy.stability.runs import Run
from linestudy.stability.summaries import Summaries, summaries_from_table

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.linelog.summary import LogSummary
    from linestudy.stability.charts.chart_study import ChartStudy
    from linestudy.stability.movement.nested_levels import VarianceComponentsStudy
    from linestudy.stability.movement.sources import VarianceSourcesStudy
    from linestudy.stability.movement.streams_finding import StreamStudy
    from linestudy.stability.movement.wear_rate import ToolWearStudy
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def evaluate_log(study: Study, summary: LogSummary) -> Findings:
    """Evaluate whether the process held still over a line log.

    Parameters
    ----------
    study : Study
        What study.toml says.
    summary : LogSummary
        From :func:`linestudy.linelog.summarise_log`, with the same study.

    Returns
    -------
    Findings
        For each characteristic of the log, at ``("stability",)`` the control chart, and below it what a run
        gets too (:data:`linestudy.stability.evaluation.METHODS`), as far as sums answer it.

    See Also
    --------
    summarise_log : Gives the summary.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``.
    """
    new = Findings()
    there = {item.id for item in summary.scale}
    for item in study.characteristics:
        if item.id in there:
            new.update(judge(RunOfSums(study, item, summary)))
    new.tell_over_one_number()
    return new


class RunOfSums(Run):
    """A run of which a line log keeps the sums.

    Parameters
    ----------
    study : Study
    item : Characteristic
    summary : LogSummary
    """

    def __init__(self, study: Study, item: Characteristic, summary: LogSummary) -> None:
        super().__init__(study, item)
        self._summary = summary
        self.parts_per_stroke = study.parts_per_stroke or 1

    def _summaries(self) -> Summaries:
        return _groups(_at_one_level(self._summary, self.item.id))

    def stream_groups(self) -> pd.DataFrame:
        table = self._summary.subgroups(self.item.id)
        if "station" not in table:
            raise CannotJudge("The log takes no subgroups of the streams.")
        # Subgroups of all streams begin with the same stroke, unless its part is missing in one.
        width = float(table.groupby("station")["order"].diff().median())
        window = np.floor((table["order"] - table["order"].min()) / max(width, 1.0))
        return table.assign(window=window)

    def chart(self, **choice: Any) -> ChartStudy:
        """Chart the subgroups; sums cannot be put in random order, so it says where parts are not normal."""
        found = super().chart(**choice)
        try:
            normal = _normal(self._summary.moments(self.item.id)) >= 0.01
        except CannotJudge:
            normal = True
        if normal:
            return found
        note = (
            "The values are not normal, and the signals expected by chance are those of normal parts; skewed "
            "or heavy-tailed values give more."
        )
        return replace(found, cautions=(*found.cautions, note))

    @cached_property
    def _sums(self) -> QuarterHourSums:
        # A log whose files overlap has no order, and says so here.
        self.groups()
        return quarter_hour_sums_of(self._summary.quarter_hour_sums(self.item.id))

    def autocorrelation(self) -> AutocorrelationStudy:
        summary, key, groups = self._summary, self.item.id, self.groups()
        whole = summary.moments(key)
        n, variance = int(whole["n"]), summary.variance(key)
        if variance <= 0:
            raise CannotJudge("The values of each station never differ.")
        found = from_correlations(
            correlations(summary, key, groups),
            # Lags count strokes: parts of one stroke count as one.
            n // self.parts_per_stroke,
            lambda factor: slow_movements(_batches(_means(summary, key)), variance, factor),
            line_rate=self.study.line_rate,
            stations_removed=bool(summary.station_means(key)),
            subgroup_size=int(np.median(groups.n)),
            confidence=self.study.confidence,
            unit=self.unit,
        )
        note = "From sums over the log: between the lags that were summed correlation is taken as straight."
        if self.parts_per_stroke > 1:
            note = f"{note} Parts of one stroke count as one."
        # Of all parts, as the reader counts them; the effective sample size stays.
        return replace(
            found,
            n=n,
            interval_factor_mean=math.sqrt(n / found.n_eff_mean),
            interval_factor_sd=math.sqrt(n / found.n_eff_sd),
            cautions=(*found.cautions, note),
        )

    def variance_sources(self) -> VarianceSourcesStudy:
        return sources_of_quarter_hours(
            self._sums,
            resets=self.resets,
            confidence=self.study.confidence,
            seed=self.study.seed,
            unit=self.unit,
        )

    def variance_components(self) -> VarianceComponentsStudy:
        return components_of_quarter_hours(
            self._sums, confidence=self.study.confidence, seed=self.study.seed, unit=self.unit
        )

    def tool_wear(self) -> ToolWearStudy:
        marks = tuple(at for at, _ in self.events)
        return wear_of_quarter_hours(
            self._sums,
            marks=marks,
            lower=self.item.lower,
            upper=self.item.upper,
            confidence=self.study.confidence,
            unit=self.unit,
        )

    def has_streams(self, by: str) -> bool:
        try:
            return by in self._sums.tags and self._sums.tags[by].nunique() > 1
        except CannotJudge:
            return False

    def streams(self, by: str) -> StreamStudy:
        return compare_quarter_hours(
            self._sums, by, confidence=self.study.confidence, unit=self.unit
        )

    def change_points(self, worn: Any) -> ChangePointStudy:
        groups = self.groups()
        found = change_points(
            groups.mean,
            groups.order,
            events=self.events,
            confidence=self.study.confidence,
            unit=self.unit,
        )
        notes = ["Sought in the means of subgroups.", *self._shifts_of_streams()]
        return replace(found, cautions=(*found.cautions, *notes))

    def _shifts_of_streams(self) -> list[str]:
        """Mean shifts of each stream by itself: one that moves alone moves the mean of all by its share."""
        table = self._summary.subgroups(self.item.id)
        if "station" not in table:
            return []
        notes = []
        for name, part in table.groupby("station"):
            if len(part) < 8:
                continue
            try:
                own = change_points(
                    part["mean"],
                    part["order"],
                    events=self.events,
                    confidence=self.study.confidence,
                    unit=self.unit,
                )
            except CannotJudge:
                continue
            notes.append(f"{named('Stream', str(name))} by itself: {own.statement}")
        return notes

    def time_model(self) -> TimeModelStudy:
        import pandas as pd

        groups = self.groups()
        if groups.size < 8 or (groups.n > 1).sum() < 8:
            raise CannotJudge(
                "Fewer than eight subgroups of two or more parts: movement cannot be judged."
            )
        squares = float(groups.squares.sum())
        if squares == 0:
            raise CannotJudge(
                "Values within subgroups never differ; resolution hides their spread."
            )
        table = self._summary.subgroups(self.item.id)
        whole = self._summary.moments(self.item.id)
        labels = pd.factorize(table["coil"])[0] if "coil" in table else None
        chance = chance_of_sums(float(np.median(groups.n)), whole["kurtosis"])
        lanes = np.zeros(groups.size, dtype=int)
        if self.parts_per_stroke > 1 and "station" in table:
            # What parts of one stroke have in common is no movement: each stream is tested by itself.
            lanes = pd.factorize(table["station"])[0]
        rows = [np.flatnonzero(lanes == code) for code in np.unique(lanes)]
        levels = [
            level_of_means(groups.mean[own], groups.n[own], float(groups.squares[own].sum()))
            for own in rows
        ]
        changes = [
            spread_change(
                groups.squares[own], groups.n[own], chance, None if labels is None else labels[own]
            )
            for own in rows
        ]
        plainest = min(changes, key=lambda one: one.p)
        return decide(
            groups.mean - groups.mean.mean(),
            groups.n,
            groups.squares,
            groups.order,
            labels,
            self.resets,
            (combined([p for p, _ in levels]), max(share for _, share in levels)),
            replace(plainest, p=min(plainest.p * len(rows), 1.0)),
            _normal(whole),
            (
                "From sums: neighbours that are alike inside subgroups cannot be told from movement between them.",
            ),
        )


def _at_one_level(summary: LogSummary, characteristic: str) -> pd.DataFrame:
    """Return subgroups of streams side by side, each less its stream's distance from the mean of all."""
    table = summary.subgroups(characteristic)
    if "station" not in table:
        return table
    means = summary.station_means(characteristic)
    if not means:
        return table
    away = table["station"].map(means).astype(float) - summary.moments(characteristic)["mean"]
    moved = {name: table[name] - away for name in ("mean", "min", "max")}
    return table.assign(**moved)


def _groups(table: pd.DataFrame) -> Summaries:
    if table.empty:
        raise CannotJudge("The log holds no subgroup of this characteristic.")
    if not table["order"].is_monotonic_increasing:
        raise CannotJudge(
            "The order numbers of one daily file go back behind those of another; the log has no order."
        )
    return summaries_from_table(table)


def correlations(
    summary: LogSummary, characteristic: str, groups: Summaries
) -> NDArray[np.float64]:
    """Compute the autocorrelation of single parts at every lag, as far as the sums of a log allow.

    Parameters
    ----------
    summary : LogSummary
    characteristic : str
    groups : Summaries
        Subgroups of the log.

    Returns
    -------
    numpy.ndarray of float, shape (lags + 1,)

    Raises
    ------
    CannotJudge
        No pair of parts lies at any lag that was summed.
    """
    table = summary.autocorrelation(characteristic)
    if table.empty:
        raise CannotJudge("No two parts of the log lie at a distance that was summed.")
    lags = [0.0, *table["lag (parts)"].astype(float)]
    values = [1.0, *table["autocorrelation"].astype(float)]
    whole = summary.moments(characteristic)
    longest = longest_lag(int(whole["n"]))
    distances = np.diff(groups.order)
    distances = distances[distances > 0]
    distance = float(np.median(distances)) if distances.size else math.inf
    most = int(min(longest // distance, groups.size // 3)) if math.isfinite(distance) else 0
    if most > 0:
        # Subgroups on their own places, so that a stop or a lost day is a gap and no neighbour.
        place = np.rint((groups.order - groups.order[0]) / distance).astype(np.int64)
        # Streams side by side share one place.
        there = np.maximum(np.bincount(place), 1)
        line = np.bincount(place, groups.mean - whole["mean"]) / there
        variance = summary.variance(characteristic)
        for j in range(1, most + 1):
            if j * distance > lags[-1]:
                product = float(line[:-j] @ line[j:]) / groups.size
                lags.append(j * distance)
                values.append(product / variance)
    return np.asarray(np.interp(np.arange(int(min(longest, lags[-1])) + 1), lags, values))


def _means(summary: LogSummary, characteristic: str) -> pd.DataFrame:
    """Return number of values and mean of each quarter hour, in the order of production."""
    table = summary.quarter_hour_sums(characteristic)
    sums = table.groupby(["file", "quarter"], sort=False)[["n", "y"]].sum()
    return sums.assign(mean=table.attrs["offset"] + sums["y"] / sums["n"])


def _batches(periods: pd.DataFrame) -> dict[int, tuple[float, Any]]:
    """Average stretches of whole quarter hours, of nearly as many parts each."""
    held = periods[periods["n"] > 0]
    n, mean = held["n"].to_numpy(dtype=float), held["mean"].to_numpy(dtype=float)
    found = {}
    for number in BATCHES:
        middle = (np.cumsum(n) - n / 2) / n.sum()
        batch = np.minimum((middle * number).astype(int), number - 1)
        parts = np.bincount(batch, n, minlength=number)
        if (parts == 0).any():
            continue
        centre = float(mean.mean())
        means = np.bincount(batch, n * (mean - centre), minlength=number) / parts
        found[number] = (float(n.sum()) / number, means)
    return found


def _normal(whole: dict[str, float]) -> float:
    """Test skewness and kurtosis together, by their large-sample errors."""
    from scipy.special import chdtrc

    n = whole["n"]
    if n < 20:
        return 1.0
    together = whole["skewness"] ** 2 * n / 6 + whole["kurtosis"] ** 2 * n / 24
    return float(chdtrc(2, together))
