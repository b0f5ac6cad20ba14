"""Which rows of a file are read: one part number of several, one kind of record of several, as ``only`` says.

What a person leaves out so is counted with its reason, and stated with the decision; a choice by anything but the part
a row is of is reported as an exclusion, whatever the column is called.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.exclusions import CHOSEN, OTHER_KIND, OTHER_PARTS
from linestudy.records.files import column
from linestudy.records.headers import columns_of_values, named_columns, names_within
from linestudy.results import InputError, counted

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Entries of a column that may name the parts in a file: few, and each on many rows.
_MOST_PARTS, _LEAST_ROWS = 12, 5
#: Entries that are listed in a reason.
_SHOWN = 6
_PRODUCT = re.compile(
    r"p ?n|part ?(?:no|nr|num|number|id|code)|part|sku|article(?: ?(?:no|number))?|item(?: ?(?:no|number))?|product(?: ?(?:no|number))?|"
    r"material(?: ?(?:no|number))|model|variant|artikel(?: ?(?:nr|nummer))?|teile? ?(?:nr|nummer)|sach ?(?:nr|nummer)|"
    r"material ?(?:nr|nummer)|ident ?(?:nr|nummer)|zeichnungs ?(?:nr|nummer)|drawing(?: ?(?:no|number))?|produkt|variante|réf(?:érence)?(?: article)?|désignation|produit|"
    r"零件号|产品|产品号|品号|料号|品番|品名|型番|図番"
)


def names_a_product(name: str) -> bool:
    """Check whether a column's name means part or drawing numbers.

    Parameters
    ----------
    name : str

    Returns
    -------
    bool

    Examples
    --------
    >>> names_a_product("PartNumber"), names_a_product("Teile-Nr."), names_a_product("Result")
    (True, True, False)
    """
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    plain = " ".join(re.sub(r"[\W_]+", " ", spaced.casefold()).split())
    return _PRODUCT.fullmatch(plain) is not None


def chosen_rows(cells: pd.DataFrame, data: Data) -> tuple[pd.DataFrame, dict[str, int]]:
    """Keep the rows that ``only`` of study.toml asks for, and count the others.

    Rows without any reading are of another kind (a camera's log holds its state too); where a column tells which
    part a row is of, the others belong to other parts; all else is readings that a person left out.

    Parameters
    ----------
    cells : pandas.DataFrame of str
    data : linestudy.study.model.Data

    Returns
    -------
    kept : pandas.DataFrame
    reasons : dict of str to int
        Rows left out, by reason.

    Raises
    ------
    InputError
        No such column, or no such row.
    """
    reasons: dict[str, int] = {}
    tags = set(named_columns(data.model_copy(update={"only": {}})))
    values = columns_of_values(data) + ([data.long.value] if data.long else [])
    values += names_within(data.judgement or [])
    marks = {mark.strip() for mark in data.missing} | {""}
    for name, wanted in data.only.items():
        entries = column(cells, name, data).astype("string").fillna("").str.strip()
        words = [wanted] if isinstance(wanted, str) else list(wanted)
        mine = entries.isin([word.strip() for word in words]).to_numpy(dtype=bool)
        if not mine.any():
            there = ", ".join(dict.fromkeys(entries.head(2000).tolist()))[:80]
            raise InputError(
                data.file,
                f"has no row with {name} = {' or '.join(words)}",
                f"its entries are {there}",
            )
        others = cells[~mine]
        read = np.zeros(len(others), dtype=bool)
        for each in values:
            if each in others:
                text = others[each].astype("string").fillna("").str.strip()
                read |= ~text.isin(list(marks)).to_numpy(dtype=bool)
        # A serial number says which part a row is of too, and not of which drawing.
        numbered = int(mine.sum()) < _LEAST_ROWS * len(set(entries[mine]))
        product = names_a_product(name) and name not in tags and not numbered
        begin = OTHER_PARTS if product else CHOSEN
        more = f" or {len(words) - _SHOWN:,} more" if len(words) > _SHOWN else ""
        choice = f"{name} is not {' or '.join(words[:_SHOWN])}{more}"
        for where, kind in ((read, begin), (~read, OTHER_KIND)):
            if where.any():
                reasons[f"{kind}: {choice}"] = int(where.sum())
        cells = cells[mine]
    return cells, reasons


def parts_named(entries: dict[str, int]) -> bool:
    """Check whether a column's entries may be several part numbers: few, and each on many rows.

    Parameters
    ----------
    entries : dict of str to int
        Entry → rows.

    Returns
    -------
    bool
    """
    return 2 <= len(entries) <= _MOST_PARTS and min(entries.values()) >= _LEAST_ROWS


def several_parts(cells: pd.DataFrame, data: Data) -> list[tuple[str, int, int, str]]:
    """Notice that a run holds several part numbers and study.toml chooses none.

    Parameters
    ----------
    cells : pandas.DataFrame of str
    data : linestudy.study.model.Data

    Returns
    -------
    list of (str, int, int, str)
        What, how many part numbers, no line, and a sentence.
    """
    if data.role not in ("run", "machine"):
        return []
    named = set(named_columns(data))
    found = []
    for name in cells.columns:
        if name in named or not names_a_product(str(name)):
            continue
        counts = cells[name].astype("string").fillna("").str.strip().value_counts()
        entries = {str(entry): int(n) for entry, n in counts.items() if entry}
        if parts_named(entries):
            first = next(iter(entries))
            listed = ", ".join(
                f"{entry} {counted(n, 'row')}" for entry, n in list(entries.items())[:6]
            )
            sentence = (
                f'"{name}" names {len(entries)} part numbers ({listed}), and all are read as one; where one is '
                f'meant, write only = {{ "{name}" = "{first}" }}'
            )
            found.append((SEVERAL_PARTS, len(entries), 0, sentence))
    return found


#: What is noticed where a run holds several part numbers.
SEVERAL_PARTS = "several part numbers"
