"""Marks of no reading: words, signs, and numbers that a gauge or a control writes where it has none."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linestudy.records.infer.column_kinds import ColumnKind
    from linestudy.records.text_table import TextTable

#: Words for "no reading" met in exports, in lower case.
_SENTINELS = frozenset([
    "na", "n/a", "n.a.", "nan", "null", "none", "err", "err.", "error", "#n/a", "#nv", "#value!", "#wert!", "#div/0!", "#ref!", "#num!",
    "#name?", "#bezug!", "#zahl!", "over", "under", "overflow", "underflow", "ovr", "ol", "o.l.", "+ol", "-ol", "no_read", "noread",
    "no read", "no part", "kein teil", "not measured", "nicht gemessen", "non mesuré", "não medido", "no medido", "missing", "fehlt",
    "leer", "invalid", "ungültig", "k.a.", "n.v.", "无", "无读数", "なし", "未測定", "未测", "미측정", "없음",
])  # fmt: skip


#: The largest and smallest whole numbers of two and four bytes, which a control writes where it has no reading.
_ENDS_OF_COUNTERS = frozenset(["32767", "32768", "65535", "2147483647", "2147483648", "4294967295"])


def _far_from_all(mark: str, numbers: NDArray[np.float64]) -> bool:
    """Check whether a number lies twenty times the range of eight in ten others beyond their median."""
    try:
        number = float(mark.replace(",", "."))
    except ValueError:
        return False
    others = numbers[numbers != number]
    if others.size < 5:
        return False
    low, middle, high = np.quantile(others, (0.1, 0.5, 0.9))
    return bool(abs(number - middle) > 20 * max(float(high - low), 1e-12))


def _says_nothing(mark: str) -> bool:
    """Check whether a cell is blank, a word for no reading, or only signs: ---, ####, **."""
    return mark.casefold() in _SENTINELS or not any(sign.isalnum() for sign in mark)


def marks_of_no_reading(table: TextTable, columns: list[ColumnKind]) -> dict[str, int]:
    """Find the cells that look like "no reading": words, and numbers of nines, noughts or full bytes far from all others.

    Parameters
    ----------
    table : TextTable
    columns : list of ColumnKind
        Those of numbers.

    Returns
    -------
    dict of str to int
        How often each is there.
    """
    marks: Counter[str] = Counter()
    for column in columns:
        text = (
            table.cells[column.name]
            .head(len(column.numbers))
            .astype("string")
            .fillna("")
            .str.strip()
        )
        odd = text[np.isnan(column.numbers)]
        marks.update(mark for mark in odd if _says_nothing(mark))
        there = column.numbers[np.isfinite(column.numbers)]
        if there.size < 5:
            continue
        for mark, count in Counter(text.tolist()).items():
            digits = mark.lstrip("-").replace(".", "").replace(",", "").rstrip("0")
            nines = len(digits) >= 2 and set(digits) == {"9"}
            ends = (nines or mark.lstrip("-").partition(".")[0] in _ENDS_OF_COUNTERS) and count > 1
            if (ends or nines or (digits == "" and count > 2)) and _far_from_all(mark, there):
                marks[mark] += count
    return dict(marks)
