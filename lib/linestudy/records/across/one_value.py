"""Files with one value per row, whose columns say of which characteristic it is, and in which unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.records.files import column, joined_columns
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study
    from linestudy.study.model import Data

#: Column that tells whose value a row holds.
OWNER = "␟of"


def widened(study: Study, data: Data, text: pd.DataFrame) -> tuple[pd.DataFrame, Data]:
    """Turn a file with one value per row into one column per characteristic.

    Parameters
    ----------
    study : Study
    data : linestudy.study.model.Data
        Its ``long`` names the columns; where that names one of units, each value is read in that of its row.
    text : pandas.DataFrame of str
        The file as it came.

    Returns
    -------
    pandas.DataFrame of str
        With a column for each characteristic, and :data:`OWNER`.
    linestudy.study.model.Data
        With these columns in place of ``long``.

    Raises
    ------
    InputError
        No row is of a characteristic of the study.
    """
    assert data.long is not None
    named = " and ".join(f'"{name}"' for name in data.long.characteristics)
    wanted = (*data.long.characteristics, data.long.value, data.long.unit)
    own = {name: column(text, name, data) for name in wanted if name is not None}
    names = joined_columns(text, data.long.characteristics)
    values = own[data.long.value]
    if data.long.unit is not None:
        units = own[data.long.unit].str.strip()
        bare = (units == "") | values.str.strip().isin(["", *data.missing])
        values = values.where(bare, values.str.strip() + " " + units)
    wide = text.copy()
    owner = names.where(names == "", "")
    mapping = {}
    for item in study.characteristics:
        mine = names.isin([item.id, item.name])
        if mine.any():
            wide[f"␟{item.id}"] = values.where(mine, "")
            owner = owner.where(~mine, item.id)
            mapping[item.id] = f"␟{item.id}"
    if not mapping:
        raise InputError(
            data.file,
            f"column {named} names no characteristic of the study",
            f"its first entry is {names.iloc[0]!r}; use ids or names from study.toml",
        )
    wide[OWNER] = owner
    changes = {"columns": mapping, "long": None, "missing": tuple({*data.missing, ""})}
    return wide, data.model_copy(update=changes)
