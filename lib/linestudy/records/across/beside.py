"""Columns of a run that study.toml does not name and whose labels may distinguish streams."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.records.headers import named_columns

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: What these columns are called beside the tags of a run: this, then the column's own name.
BESIDE = "␟beside␟"
#: Most labels of a column that may name streams, rows by which that is seen at a glance, and how rare a label may be
#: beside an equal share.
_MOST, _GLANCE, _RARE = 64, 2000, 0.25


def labels_beside(data: Data, text: pd.DataFrame) -> dict[str, NDArray[np.int8]]:
    """Give the columns of a run that study.toml does not name and that may distinguish streams, as numbers of labels.

    Parameters
    ----------
    data : linestudy.study.model.Data
    text : pandas.DataFrame of str
        The file as it came.

    Returns
    -------
    dict of str to numpy.ndarray, shape (rows,)
        One for each column that has two to 64 labels, none of them rare; none for another role.
    """
    import pandas as pd

    found = {}
    known = {*named_columns(data), data.subgroup}
    for name in text.columns if data.role == "run" and not data.across else ():
        if (
            name in known
            or str(name).startswith("␟")
            or text[name].iloc[:_GLANCE].nunique() > _MOST
        ):
            continue
        codes, labels = pd.factorize(text[name].str.strip())
        sizes = np.bincount(codes, minlength=1)
        if 1 < len(labels) <= _MOST and sizes.min() >= _RARE * codes.size / len(labels):
            found[f"{BESIDE}{name}"] = codes.astype(np.int8)
    return found
