"""From result objects to the plain values of results.json."""

from __future__ import annotations

import dataclasses
import enum
import math
from collections.abc import Mapping
from typing import Any

from linestudy.results.interval import Absent, Interval


def plain(value: Any) -> Any:
    """Turn a result into JSON-ready values, in full precision.

    Parameters
    ----------
    value : object
        Numbers, text, intervals, absent values, dataclasses, mappings,
        sequences, arrays, or tables (a table becomes a list of rows).

    Returns
    -------
    object
        Only dict, list, str, int, float, bool and None. A number that is not
        finite becomes ``{"absent": ...}``: no NaN ever reaches a report.

    Raises
    ------
    TypeError
        For anything that has no plain form.
    """
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, Interval | Absent):
        return value.record()
    if isinstance(value, enum.Enum):
        return plain(value.value)
    if hasattr(value, "record") and callable(value.record):
        return plain(value.record())
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if hasattr(value, "to_dict") and hasattr(value, "columns"):
        return [plain(row) for row in value.to_dict(orient="records")]
    if isinstance(value, list | tuple | set | frozenset):
        items = sorted(value) if isinstance(value, set | frozenset) else value
        return [plain(item) for item in items]
    return _plain_number(value)


def _plain_number(value: Any) -> Any:
    if hasattr(value, "tolist"):  # NumPy scalars and arrays, pandas Series
        listed = value.tolist()
        return plain(listed) if type(listed) is not type(value) else listed
    if isinstance(value, int):
        return int(value)
    if isinstance(value, float):
        if math.isfinite(value):
            return float(value)
        return Absent("not determined by the data").record()
    if hasattr(value, "isoformat"):
        return value.isoformat()
    raise TypeError(f"no plain form for {type(value).__name__}")
