"""Known values of masters as sheets of bias and linearity hold them: one above all readings, or one below the name of each master."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.formats.stacked_tables import is_number
from linestudy.records.infer.guesses import Guess
from linestudy.records.infer.number_marks import numeric
from linestudy.records.infer.words import named_alone, says
from linestudy.records.rows.totals import is_total

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.infer.column_kinds import ColumnKind


def on_a_master(guess: Guess, known: float | None) -> None:
    """Take readings for those of one master, where its known value is given above them.

    Parameters
    ----------
    guess : Guess
        Changed in place, where it is a run of one quantity with nothing said of stations or verdicts.
    known : float or None
    """
    tags = {key for key, _, _ in guess.keys} - {"order", "time", "time_format"}
    if known is None or guess.role not in ("run", "machine") or len(guess.values) != 1 or tags:
        return
    guess.role = "reference"
    guess.why = f"a known value, {known:g}, stands above the readings"
    guess.keys = [key for key in guess.keys if key[0] != "order"]
    guess.keys.append(("reference", known, "stands above the table"))


def masters_across(cells: pd.DataFrame) -> Guess | None:
    """Recognise a sheet of linearity: a column for each master, what it truly is in the first row, trials below.

    Parameters
    ----------
    cells : pandas.DataFrame of str

    Returns
    -------
    Guess or None
        None where the first row does not say so, or columns lie far from their known values.
    """
    if cells.shape[1] < 3 or len(cells) < _FEWEST:
        return None
    label = str(cells.columns[0])
    first = [str(cell).strip() for cell in cells.iloc[0]]
    if "reference" not in named_alone(first[0]) and not says(first[0], "reference"):
        return None
    names = [
        str(name)
        for name, cell in zip(cells.columns[1:], first[1:], strict=True)
        if is_number(cell) and not is_total(str(name))
    ]
    below = cells.iloc[1:]
    known = numeric(cells[names].iloc[0].astype("string")) if names else np.empty(0)
    read = [numeric(below[name].astype("string").fillna("").str.strip()) for name in names]
    if len(names) < 2 or any(np.isfinite(each).sum() < _FEWEST - 1 for each in read):
        return None
    middles = np.array([np.nanmedian(each) for each in read])
    # Readings lie about their own known value and not about a neighbour's.
    apart = np.abs(np.subtract.outer(middles, known))
    if not np.isfinite(apart).all() or not (apart.argmin(axis=1) == np.arange(len(names))).all():
        return None
    guess = Guess("reference", f'"{first[0]}" stands above the readings of {len(names)} masters')
    told = f'"{first[0]}" in the first row below "{label}"'
    guess.keys.append(("skip_rows_after_header", 1, told))
    guess.keys.append(("across", ["part"], f"the columns {', '.join(names[:6])}"))
    values = {name: float(value) for name, value in zip(names, known, strict=True)}
    guess.keys.append(("reference", values, told))
    guess.values["value"] = {name: name for name in names}
    return guess


#: Fewest rows: the known values, and trials below.
_FEWEST = 4


def master_and_value(
    numbers: list[ColumnKind], named: list[ColumnKind]
) -> tuple[ColumnKind, ColumnKind] | None:
    """Find masters that are called 1, 2, 3, and the column of their known values beside them.

    Parameters
    ----------
    numbers : list of ColumnKind
        Columns of numbers.
    named : list of ColumnKind
        Those of them whose names say a master or a known value.

    Returns
    -------
    (ColumnKind, ColumnKind) or None
        The numbers of the masters, and their values: with decimals, and for each master the same in all its rows. None
        where no readings are left beside them.
    """
    for label in named:
        if not label.whole or label.distinct < 2 or label.repeated < 2:
            continue
        others = [c for c in numbers if c is not label and not c.whole]
        # What is called a known value comes first.
        for value in sorted(others, key=lambda c: c not in named):
            pairs = set(zip(label.numbers.tolist(), value.numbers.tolist(), strict=True))
            if len(pairs) == value.distinct == label.distinct and len(others) > 1:
                return label, value
    return None
