"""The layout of a crossed study: who read what how often, as an array."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.core import CannotJudge

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Layout:
    """Readings of a crossed study.

    Attributes
    ----------
    parts, appraisers : tuple of str
        Names; a single nameless appraiser for an automatic gauge.
    counts : numpy.ndarray of int, shape (parts, appraisers)
        Readings per cell.
    means : numpy.ndarray of float, shape (parts, appraisers)
        Cell means.
    within : numpy.ndarray of float, shape (parts, appraisers)
        Sum of squares about the cell mean.
    automatic : bool
        True where no appraiser is involved.
    """

    parts: tuple[str, ...]
    appraisers: tuple[str, ...]
    counts: NDArray[np.int_]
    means: NDArray[np.float64]
    within: NDArray[np.float64]
    automatic: bool

    @property
    def balanced(self) -> bool:
        """Whether every cell holds the same number of readings."""
        return bool((self.counts == self.counts.flat[0]).all())

    @property
    def readings_per_cell(self) -> float:
        """Harmonic mean of the readings per cell; the number itself where balanced."""
        if self.balanced:
            return float(self.counts.flat[0])
        return float(self.counts.size / (1.0 / self.counts).sum())


def lay_out(
    data: pd.DataFrame, value: str, part: str, appraiser: str | None, trial: str | None
) -> Layout:
    """Sort readings into cells.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row.
    value, part : str
        Columns of the readings and of the part.
    appraiser : str or None
        Column of the appraiser; None (or an absent column) for an automatic gauge.
    trial : str or None
        Column of the trial; used to find cells that were entered twice.

    Returns
    -------
    Layout

    Raises
    ------
    CannotJudge
        One part, no repeated reading, a cell without readings, a reading entered
        twice, or readings that are all the same.
    """
    automatic = appraiser is None or appraiser not in data
    table = data[[part, value]].rename(columns={part: "part", value: "value"})
    table["appraiser"] = "" if automatic else data[appraiser].astype(str)
    table["part"] = table["part"].astype(str)
    if trial is not None and trial in data:
        keys = table.assign(trial=data[trial].astype(str))
        twice = keys.duplicated(["part", "appraiser", "trial"])
        if twice.any():
            first = keys[twice].iloc[0]
            who = "" if automatic else f", appraiser {first['appraiser']}"
            raise CannotJudge(
                f"Part {first['part']}{who}, trial {first['trial']} was entered twice; "
                "which reading counts must be decided first."
            )
    cells = table.groupby(["part", "appraiser"], sort=False)["value"]
    counts = cells.count().unstack(fill_value=0).sort_index().sort_index(axis=1)
    if counts.shape[0] < 2:
        raise CannotJudge("Only one part was measured, so part-to-part spread is unknown.")
    if (counts == 0).any(axis=None):
        row, column = np.argwhere(counts.to_numpy() == 0)[0]
        raise CannotJudge(
            f"Appraiser {counts.columns[column]} did not measure part {counts.index[row]}; every appraiser must "
            "measure every part before their spread can be told from that of the parts."
        )
    if int(counts.to_numpy().sum()) == counts.size:
        raise CannotJudge("Each part was read once only, so repeatability is unknown.")
    if table["value"].nunique() == 1:
        raise CannotJudge(
            "All readings are the same; the gauge's resolution hides whatever spread there is."
        )
    means = cells.mean().unstack().reindex_like(counts)
    centred = table["value"] - cells.transform("mean")
    within = (centred**2).groupby([table["part"], table["appraiser"]], sort=False).sum()
    return Layout(
        tuple(map(str, counts.index)),
        tuple(map(str, counts.columns)),
        counts.to_numpy(),
        means.to_numpy(dtype=float),
        within.unstack().reindex_like(counts).to_numpy(dtype=float),
        automatic,
    )
