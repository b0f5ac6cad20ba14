"""Find the distribution of every measured characteristic."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.results import Findings
from linestudy.shape.finding import ShapeStudy
from linestudy.shape.selection import choose

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def evaluate(study: Study, records: Records, findings: Findings | None = None) -> Findings:
    """Choose a distribution for every characteristic with a run or with nested readings.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings, optional
        What stability found; its serial correlation is named among the cautions.

    Returns
    -------
    Findings
        At ``("shape",)``.

    Examples
    --------
    See ``notebooks/submission/5_shape_and_capability.ipynb``.
    """
    new = Findings()
    for item in study.characteristics:
        new.update(of_characteristic(study, records, item, findings))
    return new


def of_characteristic(
    study: Study, records: Records, item: Characteristic, findings: Findings | None = None
) -> Findings:
    """What :func:`evaluate` finds of one characteristic; it hangs on no other's."""
    new = Findings()
    table = process_values(records, item)
    if table is not None:
        new.attempt(
            item.id, ("shape",), "Distribution", partial(_choose, study, item, table, findings)
        )
    return new


def process_values(records: Records, item: Characteristic) -> pd.DataFrame | None:
    """Readings that describe the process: the run, or else the nested readings.

    Periods that study.toml sets aside are left out.
    """
    table = records.table("run", item.id)
    if table is not None:
        return table[~table["set_aside"]]
    return records.table("nested", item.id)


def _choose(
    study: Study, item: Characteristic, table: pd.DataFrame, findings: Findings | None
) -> ShapeStudy:
    serial: Any = findings.get(item.id, "stability", "autocorrelation") if findings else None
    lag1 = getattr(serial, "lag1", None)
    stations = "station" in table and table["station"].nunique() > 1
    bound = item.bound
    if bound is not None and item.upper is None:
        # Far above its bound a one-sided characteristic is not shaped by it.
        bound = None
    return choose(
        table["value"],
        family=item.family,
        bound=bound,
        mixture_expected=stations,
        lag1=None if lag1 is None else lag1.estimate,
        seed=study.seed,
        unit=item.unit or "",
        lower=item.lower,
        upper=item.upper,
        worth=getattr(serial, "n_eff_sd", None),
    )
