"""Printed numbers of a paper or report against recomputed ones.

The file is TOML: a list of ``[[printed]]`` tables with ``place`` (path in results.json, keys joined
by dots), ``value``, ``decimals`` as printed, ``where`` it is printed, and optionally ``convention``,
a sentence that explains a number which differs because the source computes it another way.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from linestudy.dossier.conventions import explain
from linestudy.results import InputError


def compare_printed(results: dict[str, Any], file: Path) -> tuple[tuple[str, ...], int]:
    """Say for each printed number whether the recomputed one rounds to it.

    Parameters
    ----------
    results : dict
        Content of results.json.
    file : pathlib.Path
        The printed numbers.

    Returns
    -------
    lines : tuple of str
    unexplained : int
        How many neither round to the printed value nor have a convention that explains them.

    Raises
    ------
    InputError
        The file is missing or is not as described above.
    """
    entries = _entries(file)
    lines, unexplained = [], 0
    for number, entry in enumerate(entries, start=1):
        _check(entry, number, file)
        found = _at(results, str(entry["place"]))
        printed, decimals = float(entry["value"]), int(entry["decimals"])
        text = f"{printed:.{decimals}f}"
        if not isinstance(found, int | float) or isinstance(found, bool):
            lines.append(f"no number: {entry['place']} ({entry['where']} prints {text})")
            unexplained += 1
            continue
        # Half a unit of the last printed digit; printed halves may have gone either way.
        if abs(found - printed) <= 0.5 * 10.0**-decimals * (1 + 1e-9):
            lines.append(
                f"rounds to it: {entry['place']} = {found:.10g}, {entry['where']} prints {text}"
            )
        elif (
            tried := explain(float(found), printed, decimals, str(entry["place"]), results)
        ) is not None:
            author = f"; the file says: {entry['convention']}" if entry.get("convention") else ""
            lines.append(
                f"rounds to it by convention: {entry['place']} = {found:.10g}, {entry['where']} prints {text}: "
                f"{tried}{author}"
            )
        elif entry.get("convention"):
            lines.append(
                f"explained: {entry['place']} = {found:.10g}, {entry['where']} prints {text}: "
                f"{entry['convention']}"
            )
        else:
            lines.append(
                f"unexplained: {entry['place']} = {found:.10g}, {entry['where']} prints {text}"
            )
            unexplained += 1
    return tuple(lines), unexplained


def _entries(file: Path) -> list[dict[str, Any]]:
    try:
        content = tomllib.loads(file.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise InputError(
            str(file), "there is no such file", "name the file of printed numbers"
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(file.name, f"is not TOML ({error})", "mend that line") from None
    entries = content.get("printed")
    if not isinstance(entries, list) or not entries:
        raise InputError(file.name, "has no [[printed]] table", "write one per printed number")
    return entries


def _check(entry: Any, number: int, file: Path) -> None:
    for key, kind in (("place", str), ("value", (int, float)), ("decimals", int), ("where", str)):
        if not isinstance(entry, dict) or not isinstance(entry.get(key), kind):
            raise InputError(
                f"{file.name}, [[printed]] number {number}",
                f'the key "{key}" is missing or of the wrong kind',
                "see the description in linestudy.dossier.printed",
            )


def _at(results: Any, place: str) -> Any:
    branch = results
    for key in place.split("."):
        if isinstance(branch, dict) and key in branch:
            branch = branch[key]
        elif isinstance(branch, list) and key.isdigit() and int(key) < len(branch):
            branch = branch[int(key)]
        elif isinstance(branch, list):
            # A row of a table may be named by its source or test.
            named = [row for row in branch if isinstance(row, dict) and key in row.values()]
            branch = named[0] if named else None
        else:
            return None
    return branch
