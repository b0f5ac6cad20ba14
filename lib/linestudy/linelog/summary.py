"""Summaries of a line log, and what they tell as well as the parts would.

From sums over all parts: count, mean, SD, skewness, kurtosis, extremes, subgroup means and
SDs, autocorrelation; they equal the results from the parts within rounding. From a
histogram: quantiles, with an error of at most half a class (none where every value rests on
the gauge's resolution). What summaries cannot give: the order of parts within a subgroup,
pairs across two daily files, or anything that needs single parts.

Autocorrelation at lag k is sum (x_t - m)(x_{t+k} - m) / sum (x_t - m)^2, scaled by n over
pairs plus k where parts are missing; without gaps it is the usual estimate with divisor n
(Box & Jenkins, *Time Series Analysis*, ch. 2, eq. 2.1.12, equation number from memory).
"""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.linelog.queries import LAGS, TAGS
from linestudy.results import CannotJudge, Finding, arguments, counted, plain
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from linestudy.linelog.queries import Scale
    from linestudy.linelog.store import FileSums


#: A date in the name of a file, and what follows its stem.
_DATE = re.compile(
    r"(?<!\d)(?:\d{4}([-._]?)[01]\d\1[0-3]\d|[0-3]\d([-._])[01]\d\2(?:\d{4}|\d\d))(?!\d)"
)
_STEM = re.compile(r"(?:\.(?:csv|tsv|txt|gz|zip|parquet|xlsx))+$", re.IGNORECASE)


@dataclass(frozen=True)
class LogSummary(Finding):
    """Everything that was summed over a line log.

    Attributes
    ----------
    rows : int
        Rows of the log.
    files : int
        Files summed.
    from_cache : int
        How many of their summaries were known already; not recorded.
    """

    rows: int
    files: int
    from_cache: int = field(repr=False)
    scale: tuple[Scale, ...] = field(repr=False)
    parts: tuple[FileSums, ...] = field(repr=False)
    cautions: tuple[str, ...] = ()
    names: tuple[str, ...] = field(default=(), repr=False)
    _known: dict[tuple[str, str], pd.DataFrame] = field(
        default_factory=dict, repr=False, compare=False
    )
    title: ClassVar[str] = "Summaries of the line log"

    @property
    def days(self) -> tuple[str, ...]:
        """Name the files, where their names distinguish them: by a date in them, else by the name."""
        found = [_DATE.search(name) for name in self.names]
        dated = [date[0] if date else "" for date in found]
        if dated and all(dated) and len(set(dated)) == len(dated):
            return tuple(dated)
        return tuple(_STEM.sub("", name) for name in self.names)

    def _index(self, characteristic: str) -> int:
        for i, item in enumerate(self.scale):
            if item.id == characteristic:
                return i
        raise KeyError(f"the log has no characteristic {characteristic!r}")

    def moments(self, characteristic: str) -> dict[str, float]:
        """Compute count, mean, SD, skewness, excess kurtosis (population forms) and extremes.

        Parameters
        ----------
        characteristic : str

        Returns
        -------
        dict
            n, mean, sd (divisor n - 1), skewness, kurtosis, min, max; values in the
            characteristic's unit.

        Raises
        ------
        CannotJudge
            Fewer than two values, or all equal.
        """
        i = self._index(characteristic)
        table = self.quarter_hour_sums(characteristic)
        n = int(table["n"].sum())
        if n < 2:
            raise CannotJudge("The log holds fewer than two values.")
        a, b, c, d = (math.fsum(table[power]) / n for power in ("y", "yy", "yyy", "yyyy"))
        low, high = float(table["low"].min()), float(table["high"].max())
        second = b - a * a
        if second <= 0 or low == high:
            raise CannotJudge("All values in the log are equal.")
        third = c - 3 * a * b + 2 * a**3
        fourth = d - 4 * a * c + 6 * a * a * b - 3 * a**4
        return {
            "n": n,
            "mean": self.scale[i].offset + a,
            "sd": math.sqrt(second * n / (n - 1)),
            "skewness": third / second**1.5,
            "kurtosis": fourth / second**2 - 3,
            "min": low,
            "max": high,
        }

    def histogram(self, characteristic: str) -> pd.DataFrame:
        """Return class middles (in the characteristic's unit) and counts, ascending."""
        import pandas as pd

        i = self._index(characteristic)
        item = self.scale[i]
        table = self._joined("histogram", ["file", "item", "class", "count"])
        total = table[table["item"] == i].groupby("class")["count"].sum()
        return pd.DataFrame(
            {
                "value": item.offset + total.index.to_numpy(dtype=float) * item.width,
                "count": total.to_numpy(),
            }
        )

    def quantile(self, characteristic: str, probability: float) -> tuple[float, float]:
        """Find the smallest class that holds at least this share of the values at or below it.

        Parameters
        ----------
        characteristic : str
        probability : float
            Between 0 and 1, both included.

        Returns
        -------
        value, error : float
            In the characteristic's unit: the order statistic of rank ceil(n p) lies within
            `error` of `value`.

        Raises
        ------
        CannotJudge
            The log holds no value.
        ValueError, TypeError
            A probability outside 0 to 1.
        """
        arguments.number("probability", probability, least=0, most=1)
        table = self.histogram(characteristic)
        if not len(table):
            raise CannotJudge("The log holds no value of this characteristic.")
        cumulated = table["count"].to_numpy().cumsum()
        rank = max(math.ceil(probability * cumulated[-1] - 1e-9), 1)
        place = int(np.searchsorted(cumulated, rank))
        return float(table["value"].iloc[place]), self.scale[self._index(characteristic)].width / 2

    def autocorrelation(self, characteristic: str, stations: bool = True) -> pd.DataFrame:
        """Compute autocorrelation by lag (in parts), with the number of pairs it rests on.

        Parameters
        ----------
        characteristic : str
        stations : bool
            Whether each value counts as its distance from its station's mean, so that stations which
            take turns are not mistaken for correlation.

        Returns
        -------
        pandas.DataFrame
            ``lag (parts), autocorrelation, pairs``.
        """
        import pandas as pd

        i = self._index(characteristic)
        whole = self.moments(characteristic)
        mean = whole["mean"] - self.scale[i].offset
        means = self.station_means(characteristic) if stations else {}
        levels = {name: value - self.scale[i].offset for name, value in means.items()}
        squares = self.variance(characteristic, stations) * (whole["n"] - 1)
        rows = []
        for lag in LAGS:
            every = [row for part in self.parts for row in part.short["lagged"][str(lag)]]
            found = [row for row in every if row[f"n{i}"]]
            pairs = sum(row[f"n{i}"] for row in found)
            if not pairs:
                continue
            about = math.fsum(
                row[f"p{i}"]
                - now * row[f"a{i}"]
                - before * row[f"b{i}"]
                + row[f"n{i}"] * before * now
                for row in found
                for before, now in [
                    (levels.get(row.get("before"), mean), levels.get(row.get("now"), mean))
                ]
            )
            value = about / squares * (whole["n"] / (pairs + lag))
            rows.append({"lag (parts)": lag, "autocorrelation": value, "pairs": pairs})
        return pd.DataFrame(rows, columns=["lag (parts)", "autocorrelation", "pairs"])

    def station_means(self, characteristic: str) -> dict[str | None, float]:
        """Return the mean of each station, in the characteristic's unit; empty where the log knows of one at most."""
        table = self.quarter_hour_sums(characteristic)
        if "station" not in table:
            return {}
        sums = table.groupby("station", dropna=False)[["n", "y"]].sum()
        if len(sums) < 2 or sums.index.isna().any():
            # As for a run: where a part's station is not known, none is taken out.
            return {}
        means = table.attrs["offset"] + sums["y"] / sums["n"]
        return {str(name): float(value) for name, value in means.items()}

    def variance(self, characteristic: str, stations: bool = True) -> float:
        """Compute the variance (divisor n - 1), without the part between stations unless they are to stay in it."""
        whole = self.moments(characteristic)
        total = whole["sd"] ** 2
        means = self.station_means(characteristic) if stations else {}
        if not means:
            return total
        counts = self.quarter_hour_sums(characteristic).groupby("station")["n"].sum().to_dict()
        between = math.fsum(
            float(counts[name]) * (value - whole["mean"]) ** 2 for name, value in means.items()
        )
        return max(total - between / (whole["n"] - 1), 0.0)

    def subgroups(self, characteristic: str) -> pd.DataFrame:
        """Return subgroups in production order: file, subgroup, order, n, mean, sd, min, max, coil if known, station where streams have their own.

        Subgroups are counted within each file, from its first part; ``order`` is that of the
        subgroup's first part.
        """
        return self._once("subgroups", characteristic, self._subgroups)

    def _once(
        self, what: str, characteristic: str, make: Callable[[str], pd.DataFrame]
    ) -> pd.DataFrame:
        """Build a table once, and return a copy that the caller may change."""
        key = (what, characteristic)
        # Characteristics are gone through one by one: a year's tables of all need not be held.
        if any(of != characteristic for _, of in self._known):
            self._known.clear()
        if key not in self._known:
            self._known[key] = make(characteristic)
        return self._known[key].copy(deep=False)

    def _subgroups(self, characteristic: str) -> pd.DataFrame:
        i = self._index(characteristic)
        offset = self.scale[i].offset
        columns = ["file", "subgroup", "order", "n", "mean", "sd", "min", "max"]
        keys = ["subgroup", "order", f"n{i}", f"mean{i}", f"sd{i}", f"low{i}", f"high{i}"]
        if all("coil" in part.names("subgroups") for part in self.parts):
            columns, keys = [*columns, "coil"], [*keys, "coil"]
        if all("station" in part.names("subgroups") for part in self.parts):
            columns, keys = [*columns, "station"], [*keys, "station"]
        table = self._joined("subgroups", columns, [keys] * len(self.parts))
        table["mean"] += offset
        return table[table["n"] > 0].reset_index(drop=True)[columns]

    def _joined(
        self, what: str, columns: list[str], keys: list[list[str]] | None = None
    ) -> pd.DataFrame:
        """Concatenate the columns of all files; the first is the file's number.

        `keys` are the names of the others in each file, where they are not those in `columns`.
        """
        import pyarrow as pa

        found = [
            part.columns(what, names).rename_columns(columns[1:])
            for part, names in zip(self.parts, keys or [columns[1:]] * len(self.parts), strict=True)
        ]
        table: pd.DataFrame = pa.concat_tables(found, promote_options="permissive").to_pandas()
        table.insert(0, columns[0], np.repeat(np.arange(len(found)), [len(t) for t in found]))
        return table

    def counts(self) -> pd.DataFrame:
        """Count rows by verdict, coil and station, as far as the log has them."""
        import pandas as pd

        total: Counter[tuple[tuple[str, str], ...]] = Counter()
        for part in self.parts:
            for row in part.short["counts"]:
                tags = tuple((k, v) for k, v in row.items() if k != "rows")
                total[tags] += row["rows"]
        return pd.DataFrame([{**dict(tags), "rows": n} for tags, n in sorted(total.items())])

    def quarter_hour_sums(self, characteristic: str) -> pd.DataFrame:
        """Return sums by quarter hour, coil, stop, station and phase, from which least squares follow.

        Parameters
        ----------
        characteristic : str

        Returns
        -------
        pandas.DataFrame
            In the order of production: ``file, quarter, phase``, ``coil``, ``stop`` and ``station`` if known,
            ``first`` (lowest order number), ``n``, the sums ``x`` of order numbers, ``y`` of
            values, ``xx, xy, yy`` of their products, ``yyy, yyyy`` of powers, and the extremes ``low`` and
            ``high``. Values but the extremes count from ``offset``, order numbers from ``origin`` (both in
            ``attrs``).
        """
        return self._once("quarter_hours", characteristic, self._quarter_hours)

    def _quarter_hours(self, characteristic: str) -> pd.DataFrame:
        i = self._index(characteristic)
        sums = ["n", "x", "y", "xx", "xy", "yy", "yyy", "yyyy", "low", "high"]
        held = [part.names("quarter_hours") for part in self.parts]
        tags = [name for name in TAGS if all(name in names for names in held)]
        plain = ["quarter", "phase", *tags, "first"]
        # Where every part has a value its sums of order numbers are those of all characteristics.
        common = {"n": "rows", "x": "x", "xx": "xx"}
        keys = [
            [*plain, *(f"{k}{i}" if f"{k}{i}" in names else common[k] for k in sums)]
            for names in held
        ]
        joined = self._joined("quarter_hours", ["file", *plain, *sums], keys)
        # Engines have whole numbers of several widths.
        joined = joined.astype({"quarter": "int64", "phase": "int64"})
        origins = [part.short["origin"] for part in self.parts]
        # A file without a part that was used begins nowhere, and has no cell.
        least = int(min((origin for origin in origins if origin is not None), default=0))
        starts = np.array([least if origin is None else int(origin) for origin in origins])
        # Order numbers of every file from one origin.
        by = (starts - least)[joined["file"].to_numpy()].astype(float)
        joined["xx"] = joined["xx"] + 2 * by * joined["x"] + by * by * joined["n"]
        joined["xy"] = joined["xy"] + by * joined["y"]
        joined["x"] = joined["x"] + by * joined["n"]
        table = joined[joined["n"] > 0].sort_values("first", kind="stable", ignore_index=True)
        table.attrs = {"offset": self.scale[i].offset, "origin": least}
        return table

    def _rows(self) -> Rows:
        rows: list[dict[str, Any]] = []
        for item in self.scale:
            try:
                rows.append({"characteristic": item.id, **self.moments(item.id)})
            except CannotJudge:
                continue
        return rows

    @property
    def statement(self) -> str:
        return f"{counted(self.rows, 'part')} in {counted(self.files, 'daily file')} were summed."

    def record(self) -> dict[str, Any]:
        # Which files were known already differs from run to run, and is not evidence.
        return super().record() | {"characteristics": [plain(row) for row in self._rows()]}
