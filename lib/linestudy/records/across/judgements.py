"""Judgements of parts, one a row or several across the columns of a row."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.records import exclusions
from linestudy.records.across.slots import interleaved, labelled
from linestudy.records.conversions import most_odd, to_judgements, to_numbers
from linestudy.records.files import column
from linestudy.records.ledger import MOST_CELLS, CellSetAside, ValueCount
from linestudy.study.layout import places

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

NO_JUDGEMENT = "no judgement"


def judged(
    data: Data, text: pd.DataFrame, frame: pd.DataFrame, rows: exclusions.Reasons
) -> tuple[pd.DataFrame, dict[str, int], dict[str, ValueCount]]:
    """Make the table of an attribute study.

    Parameters
    ----------
    data : linestudy.study.model.Data
    text : pandas.DataFrame of str
        The file as it came.
    frame : pandas.DataFrame
        Tags of its rows.
    rows : Reasons
        Why rows are set aside so far.

    Returns
    -------
    frame : pandas.DataFrame
        One row for each judgement used.
    reasons : dict of str to int
        Rows set aside, by reason.
    values : dict of str to ValueCount
        Judgements across the columns, where a row holds several.
    """
    marks = [mark.strip() for mark in (*data.missing, "")]
    judgements = places(data.judgement)
    wide = bool(judgements[0].labels)
    cells = {place: column(text, str(place.column), data).str.strip() for place in judgements}
    reasons = {}
    for place, entries in cells.items():
        why = exclusions.Reasons(len(text))
        why.give(entries.isin(marks).to_numpy(dtype=bool), NO_JUDGEMENT)
        why.give(odd_judgements(entries, data), exclusions.ODD_JUDGEMENT)
        reasons[place] = why
    usable = np.logical_or.reduce([why.unset for why in reasons.values()])
    for reason in (NO_JUDGEMENT, exclusions.ODD_JUDGEMENT):
        alone = np.logical_or.reduce([why.are(reason) for why in reasons.values()])
        rows.give(~usable & alone, reason)
    if isinstance(data.reference, str):
        known = column(text, data.reference, data).str.strip()
        rows.give(known.isin(marks).to_numpy(dtype=bool), "no reference judgement")
        rows.give(odd_judgements(known, data), exclusions.ODD_JUDGEMENT)
    used = rows.unset
    found, pieces, held = frame[used].copy(), [], []
    if isinstance(data.reference, str):
        found["reference"] = to_judgements(known[used], data)
        if data.grades is not None:
            found["reference_grade"] = known[used].map(data.grades.index).astype(int)
    if data.measured is not None:
        measured = to_numbers(column(text, data.measured, data)[used], data).values
        found["measured"] = np.where(exclusions.beyond_any(measured), np.nan, measured)
    for place, entries in cells.items():
        good = reasons[place].unset[used]
        # What is no judgement is taken out below.
        filled = entries[used].where(good, (data.accept or ("",))[0])
        piece = found.assign(judgement=to_judgements(filled, data))
        if data.grades is not None:
            piece["grade"] = filled.map(data.grades.index).astype(int)
        pieces.append(labelled(piece, data, place.labels))
        held.append(piece[[]].assign(good=good))
    table = interleaved(pieces)[interleaved(held)["good"].to_numpy()].reset_index(drop=True)
    counts: dict[str, ValueCount] = {}
    set_aside: list[CellSetAside] = []
    if wide:
        for place, why in reasons.items():
            off = why.counted(used)
            read = int(used.sum())
            one = ValueCount(read, read - sum(off.values()), off, 1)
            key = str(data.characteristic)
            counts[key] = one if key not in counts else counts[key] + one
            for row in np.flatnonzero(~why.unset & used)[:MOST_CELLS]:
                entry = str(cells[place].iloc[row])[:40]
                line = int(text.index[row])
                set_aside.append(CellSetAside(line, place.named, entry, why.of(int(row))))
    table.attrs = {
        "characteristics": [data.characteristic],
        "tags": list(table),
        "cells": tuple(sorted(set_aside, key=lambda cell: cell.line)[:MOST_CELLS]),
    }
    return table, rows.counted(), counts


def odd_judgements(cells: pd.Series, data: Data) -> NDArray[np.bool_]:
    """Tell which cells hold a word that study.toml lists neither under accept nor under reject.

    Parameters
    ----------
    cells : pandas.Series of str, shape (n,)
    data : linestudy.study.model.Data

    Returns
    -------
    numpy.ndarray of bool, shape (n,)
        True for the few such cells that a slip of the hand explains.

    Raises
    ------
    InputError
        There are more of them: a word that study.toml has to know.
    """
    none = np.zeros(len(cells), dtype=bool)
    if data.reject is None:
        return none
    words = {*(data.accept or ()), *data.reject, *(data.purge or ()), *data.set_aside_verdict}
    blank = cells.isin([mark.strip() for mark in (*data.missing, "")]) & ~cells.isin(list(words))
    odd = (~cells.isin(list(words)) & ~blank).to_numpy(dtype=bool)
    if int(odd.sum()) > most_odd(int((~blank).sum())):
        # Names the first of them, with its line.
        to_judgements(cells[~blank.to_numpy(dtype=bool)], data)
    return odd


def verdicts_of(text: pd.DataFrame, data: Data) -> pd.Series:
    """Give the line's verdict on each row: what its column says, or of several columns the first that does not accept.

    Parameters
    ----------
    text : pandas.DataFrame of str
    data : linestudy.study.model.Data
        Its ``verdict``, one column or several, and the words of its judgements.

    Returns
    -------
    pandas.Series of str, shape (n,)
        A rejection in one column outweighs a blank cell in another.

    Raises
    ------
    InputError
        No such column.
    """
    names = (data.verdict,) if isinstance(data.verdict, str) else data.verdict or ()
    first, *others = (column(text, name, data).str.strip() for name in names)
    accept, reject = list(data.accept or ()), list(data.reject or ())
    for cells in others:
        stays = first.isin(reject) | (~first.isin(accept) & ~cells.isin(reject))
        first = first.where(stays, cells)
    return first


def no_verdict(cells: pd.Series, data: Data) -> NDArray[np.bool_]:
    """Find where a verdict is wanted and missing: blank, or a mark of none, and no word of study.toml.

    Parameters
    ----------
    cells : pandas.Series of str, shape (n,)
    data : linestudy.study.model.Data

    Returns
    -------
    numpy.ndarray of bool, shape (n,)
    """
    if not data.accept or data.reject is None:
        return np.zeros(len(cells), dtype=bool)
    words = {*data.accept, *data.reject, *(data.purge or ()), *data.set_aside_verdict}
    marks = {mark.strip() for mark in (*data.missing, "")} - words
    return cells.isin(list(marks)).to_numpy(dtype=bool)
