"""The ledger: every row that was read is either used or set aside for a stated reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import Finding, counted
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class ValueCount:
    """How many readings of one characteristic a file holds, counted over the rows used.

    Attributes
    ----------
    read, used : int
        Cells that were looked at, and readings that are used. Formula:
        ``read == used + sum(set_aside.values())``.
    set_aside : mapping of str to int
        Reason → readings.
    columns : int
        How many columns of the file hold it: a row of a wide sheet holds as many readings.
    """

    read: int
    used: int
    set_aside: Mapping[str, int]
    columns: int = 1

    def __add__(self, other: ValueCount) -> ValueCount:
        reasons = dict.fromkeys((*self.set_aside, *other.set_aside))
        together = {
            reason: self.set_aside.get(reason, 0) + other.set_aside.get(reason, 0)
            for reason in reasons
        }
        return ValueCount(
            self.read + other.read,
            self.used + other.used,
            together,
            self.columns + other.columns,
        )

    def record(self) -> dict[str, Any]:
        """Give the form that results.json has."""
        return {
            "read": self.read,
            "used": self.used,
            "set_aside": _listed(self.set_aside, "values"),
        }


#: Most cells of a file that are named one by one; all are counted.
MOST_CELLS = 100


@dataclass(frozen=True, slots=True)
class CellSetAside:
    """One cell of a file that is not used, though its row is.

    Attributes
    ----------
    line : int
        Line of the file, or row of the sheet.
    column : str
        What the file calls it.
    entry : str
        What is there.
    reason : str
    """

    line: int
    column: str
    entry: str
    reason: str


#: Beyond this share what is left out for one reason is said wherever results are (common practice).
LARGE_SHARE = 0.01

#: Rows that hold no part of the study, by how their reasons begin: a sheet of ten parts has its row of averages.
NO_DATA = ("row of ", "row below the header", "blank row", "belongs to other parts")

_WHAT_TO_DO = {
    "order number used again": (
        "where a stroke makes several parts, name the column of their streams with station; where the counter "
        'begins anew, write order = ["column of the job", "column of the counter"]'
    ),
    "more parts of one stroke": (
        "where the tool makes more parts, say so (parts_per_stroke); where one stream has two names, write them alike"
    ),
    "no reading": "see that missing in study.toml names only marks of no reading, and why parts are not read",
}


@dataclass(frozen=True, slots=True)
class LargeShare:
    """What is left out of a file for one reason, where it is more than one in a hundred.

    Attributes
    ----------
    file : str
    characteristic : str
        Its id; empty where whole rows are left out.
    reason : str
    count : int
        Rows, or readings of the characteristic.
    share : float
        Of the rows read, or of the readings looked at.
    """

    file: str
    characteristic: str
    reason: str
    count: int
    share: float

    @property
    def sentence(self) -> str:
        """What is left out, how much of it, and what to do."""
        what = f"readings of {self.characteristic}" if self.characteristic else "rows"
        text = f"{self.file}: {self.share:.1%} of the {what} ({self.count:,}) are set aside: {self.reason}"
        todo = next((do for start, do in _WHAT_TO_DO.items() if self.reason.startswith(start)), "")
        return f"{text}; {todo}." if todo else f"{text}."


@dataclass(frozen=True)
class FileAccount:
    """One file's account.

    Attributes
    ----------
    file, role, gauge, sha256 : str
        Which file it is; gauge is empty where none is named.
    rows_read, rows_used : int
        ``rows_read == rows_used + sum(set_aside.values())`` always.
    set_aside : dict of str to int
        Reason → rows.
    values : dict of str to ValueCount
        Characteristic id → its readings.
    notes : tuple of str
        What was noticed and left as it is.
    cells : tuple of CellSetAside
        Single cells set aside in rows that are used, the first hundred of them.
    """

    file: str
    role: str
    gauge: str
    sha256: str
    rows_read: int
    rows_used: int
    set_aside: dict[str, int] = field(default_factory=dict)
    values: dict[str, ValueCount] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    cells: tuple[CellSetAside, ...] = ()

    def __post_init__(self) -> None:
        if self.rows_read != self.rows_used + sum(self.set_aside.values()):
            raise AssertionError(f"the ledger of {self.file} does not add up")

    def record(self) -> dict[str, Any]:
        """Give the form that results.json has under "inputs"."""
        return {
            "file": self.file,
            "role": self.role,
            "gauge": self.gauge,
            "sha256": self.sha256,
            "rows_read": self.rows_read,
            "rows_used": self.rows_used,
            "set_aside": _listed(self.set_aside, "rows"),
            "values": {key: counts.record() for key, counts in self.values.items()},
            "notes": list(self.notes),
            "cells": [asdict(cell) for cell in self.cells],
        }


def _listed(reasons: Mapping[str, int], what: str) -> list[dict[str, Any]]:
    return [{"reason": reason, what: count} for reason, count in sorted(reasons.items())]


@dataclass(frozen=True)
class Ledger(Finding):
    """The accounts of all files.

    Attributes
    ----------
    accounts : tuple of FileAccount
    """

    accounts: tuple[FileAccount, ...]
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Data record"

    @property
    def statement(self) -> str:
        # A file that several tables of study.toml read is counted once.
        read: dict[str, int] = {}
        used: dict[str, int] = {}
        for account in self.accounts:
            read[account.file] = max(account.rows_read, read.get(account.file, 0))
            used[account.file] = max(account.rows_used, used.get(account.file, 0))
        rows, kept = sum(read.values()), sum(used.values())
        text = f"{counted(rows, 'row')} read from {counted(len(read), 'file')}, "
        if rows == kept:
            return f"{text}all of them used."
        return f"{text}{kept:,} used, {rows - kept:,} excluded, each with its reason in the data record."

    def _rows(self) -> Rows:
        rows: list[dict[str, Any]] = []
        for account in self.accounts:
            names = {"file": account.file, "role": account.role, "gauge": account.gauge}
            read = {"rows read": account.rows_read, "rows used": account.rows_used}
            rows.append({**names, **read, "set aside": "", "rows": None})
            rows += [
                {
                    **dict.fromkeys(names, ""),
                    **dict.fromkeys(read),
                    "set aside": reason,
                    "rows": count,
                }
                for reason, count in sorted(account.set_aside.items())
            ]
        return rows

    def large_shares(self) -> tuple[LargeShare, ...]:
        """List what is left out for one reason and is more than one row, or reading, in a hundred."""
        found = []
        for account in self.accounts:
            groups: list[tuple[str, int, Mapping[str, int]]] = [
                ("", account.rows_read, account.set_aside)
            ]
            groups += [(key, own.read, own.set_aside) for key, own in account.values.items()]
            for key, read, reasons in groups:
                for reason, count in reasons.items():
                    if read and count > LARGE_SHARE * read and not reason.startswith(NO_DATA):
                        found.append(LargeShare(account.file, key, reason, count, count / read))
        return tuple(found)

    def values(self) -> pd.DataFrame:
        """Count single values set aside within the rows used, by characteristic and reason.

        Returns
        -------
        pandas.DataFrame
            Columns ``file, characteristic, values read, values used, reason, values``; a characteristic of
            which nothing is set aside has one line that says so.
        """
        import pandas as pd

        rows = [
            {
                "file": account.file,
                "characteristic": key,
                "values read": counts.read,
                "values used": counts.used,
                "reason": reason,
                "values": number,
            }
            for account in self.accounts
            for key, counts in account.values.items()
            for reason, number in (sorted(counts.set_aside.items()) or [("none set aside", 0)])
        ]
        return pd.DataFrame(
            rows,
            columns=["file", "characteristic", "values read", "values used", "reason", "values"],
        )

    def cells(self) -> pd.DataFrame:
        """Name single cells set aside within the rows used, by line and column.

        Returns
        -------
        pandas.DataFrame
            Columns ``file, line, column, entry, reason``; of each file the first hundred.
        """
        import pandas as pd

        rows = [{"file": a.file, **asdict(cell)} for a in self.accounts for cell in a.cells]
        return pd.DataFrame(rows, columns=["file", "line", "column", "entry", "reason"])
