"""Occasions of a study made again and again, by the dates that their names begin with."""

from __future__ import annotations

import re


def dated(name: str) -> str:
    """Return the date a name begins with, in sortable form; empty where there is none.

    Parameters
    ----------
    name : str

    Returns
    -------
    str

    Examples
    --------
    >>> dated("31.03.2026, after maintenance"), dated("2026-03"), dated("first")
    ('2026-03-31', '2026-03-', '')
    """
    found = re.match(
        r"(\d{4})-(\d\d)(?:-(\d\d))?(?!\d)|(\d\d)\.(\d\d)\.(\d{4})(?!\d)", name.strip()
    )
    if found is None:
        return ""
    year, month, day, own_day, own_month, own_year = found.groups("")
    return f"{year or own_year}-{month or own_month}-{day or own_day}"
