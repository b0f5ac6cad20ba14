"""Which columns of a list of characteristics hold names and sizes, where their heads do not say so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.infer.number_marks import numeric

if TYPE_CHECKING:
    import pandas as pd


def name_column(cells: pd.DataFrame, taken: set[str]) -> str | None:
    """Find the column of names: of those with words the one whose entries differ most.

    Parameters
    ----------
    cells : pandas.DataFrame of str
    taken : set of str
        Columns whose heads say what they hold.

    Returns
    -------
    str or None

    Notes
    -----
    A class, or a zone of the drawing such as A1, is a word too and says the same of many characteristics.
    """
    found: list[tuple[float, float, str]] = []
    for column in cells:
        text = cells[column].str.strip()
        words = np.isnan(numeric(text)) & (text != "").to_numpy(dtype=bool)
        if str(column) not in taken and words.mean() > 0.5:
            filled = text[text != ""]
            named = float(filled.str.contains(r"[^\W\d_]{3}", regex=True).mean())
            # A name in East Asia has two signs, and may have one.
            named = max(named, float(filled.str.contains("[\u3040-\u9fff\uac00-\ud7a3]").mean()))
            found.append((named, filled.nunique() / len(filled), str(column)))
    best = max(found, key=lambda each: each[:2], default=None)
    return best[2] if best else None


def size_column(cells: pd.DataFrame, taken: set[str]) -> str | None:
    """Find the column of sizes beside tolerances: the only other one with numbers that are no running number.

    Parameters
    ----------
    cells : pandas.DataFrame of str
    taken : set of str
        Columns whose heads say what they hold.

    Returns
    -------
    str or None
        None where there is none, or several.
    """
    found = []
    for column in cells:
        numbers = numeric(cells[column].str.strip())
        counted = np.array_equal(numbers, np.arange(len(numbers)) + 1)
        if str(column) not in taken and np.isfinite(numbers).mean() > 0.5 and not counted:
            found.append(str(column))
    return found[0] if len(found) == 1 else None
