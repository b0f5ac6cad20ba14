"""Where in the text of a study.toml a key is, so that an error can name the line."""

from __future__ import annotations

import itertools


def where_in(location: tuple[int | str, ...], text: str) -> str:
    """Name the line and the table that a complaint is about.

    Parameters
    ----------
    location : tuple of (int or str)
        Table, number in it, key, as the checker of the model gives it.
    text : str
        Of study.toml.

    Returns
    -------
    str
    """
    table = str(location[0]) if location else ""
    index = next((part for part in location if isinstance(part, int)), None)
    key = next((str(part) for part in reversed(location) if isinstance(part, str)), "")
    line = _line_of(text, table, index, key)
    name = f"[[{table}]] number {index + 1}" if index is not None else ""
    if not name and len(location) > 1:
        name = f"[{table}]"
    place = f"study.toml line {line}" if line else "study.toml"
    return f"{place}, {name}" if name else place


def _line_of(text: str, table: str, index: int | None, key: str) -> int | None:
    """Find the line of a key by its table's header: TOML readers do not keep line numbers."""
    lines = text.splitlines()
    start = 0
    headers = [n for n, line in enumerate(lines) if line.strip() in (f"[[{table}]]", f"[{table}]")]
    if headers:
        start = headers[min(index or 0, len(headers) - 1)]
    for number in range(start, len(lines)):
        line = lines[number].strip()
        if number > start and line.startswith("["):
            break
        # Several keys may share a line.
        words = line.replace("{", " ").replace(",", " ").replace("=", " = ").split()
        if any(
            word.strip('"') == key and after == "=" for word, after in itertools.pairwise(words)
        ):
            return number + 1
    return start + 1 if headers else None
