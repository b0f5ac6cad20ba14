"""Find the distribution of every measured characteristic."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.results import CannotJudge, Findings
from linestudy.results.errors import did_you_mean
from linestudy.shape.families import FAMILIES
from linestudy.shape.finding import DISTRIBUTION, ShapeStudy, in_the_trade
from linestudy.shape.selection import select_distribution

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def evaluate(study: Study, records: Records, findings: Findings | None = None) -> Findings:
    """Select a distribution for every characteristic with a run or with nested readings.

    Parameters
    ----------
    study : Study
        Characteristics with their limits, bounds and families.
    records : Records
        Their readings.
    findings : Findings, optional
        What stability found; its autocorrelation is named among the cautions.

    Returns
    -------
    Findings
        At ``("shape",)`` of each characteristic.

    See Also
    --------
    select_distribution : The method, for values of your own.

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
    """Do for one characteristic what :func:`evaluate` does; it needs no other's findings."""
    new = Findings()
    table = process_values(records, item)
    if table is not None:
        new.evaluate(item.id, DISTRIBUTION, partial(_select, study, item, table, findings))
    return new


def declared_family(item: Characteristic) -> str:
    """Return the family that study.toml names for a characteristic, or ``"auto"``.

    It may be named by its key or as the tables show it, in small letters or large ones.

    Raises
    ------
    CannotJudge
        There is no such family.
    """
    known = {name.casefold(): name for name in ("auto", *FAMILIES)}
    known |= {in_the_trade(name).casefold(): name for name in FAMILIES}
    found = known.get(" ".join(item.family.split()).casefold())
    if found is None:
        shown = [in_the_trade(name) for name in FAMILIES]
        near = did_you_mean(item.family, shown)
        raise CannotJudge(
            f'study.toml names the family "{item.family}", which is not known;{near} known are {", ".join(shown)}.'
        )
    return found


def process_values(records: Records, item: Characteristic) -> pd.DataFrame | None:
    """Return the readings that describe the process: the run, or else the nested readings.

    Periods that study.toml sets aside are left out.
    """
    table = records.table("run", item.id)
    if table is not None:
        return table[~table["set_aside"]]
    return records.table("nested", item.id)


def _select(
    study: Study, item: Characteristic, table: pd.DataFrame, findings: Findings | None
) -> ShapeStudy:
    serial: Any = findings.get(item.id, "stability", "autocorrelation") if findings else None
    lag1 = getattr(serial, "lag1", None)
    stations = "station" in table and table["station"].nunique() > 1
    bound = item.bound_below
    if bound is not None and item.upper is None:
        # Far above its bound a one-sided characteristic is not shaped by it.
        bound = None
    return select_distribution(
        table["value"],
        family=declared_family(item),
        bound=bound,
        mixture_expected=stations,
        lag1=None if lag1 is None else lag1.estimate,
        seed=study.seed,
        unit=item.unit or "",
        lower=item.lower,
        upper=item.upper,
        n_eff=getattr(serial, "n_eff_sd", None),
    )
