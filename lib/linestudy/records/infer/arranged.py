"""What has to be said of a table before its columns are looked at: labels written once, records of several kinds."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from linestudy.records.formats.stacked_tables import is_number
from linestudy.records.infer.words import is_nameless, plain_name, says
from linestudy.records.rows.totals import sums_up, totals_of_groups

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.text_table import TextTable

Keys = list[tuple[str, Any, str]]
#: Names of a column that distinguishes kinds of record.
_KINDS = frozenset([
    "type", "kind", "record", "record type", "event", "event type", "msg", "message", "message type", "typ", "satzart",
    "art", "datensatz", "type d enregistrement", "类型", "记录类型", "種別", "種類",
])  # fmt: skip
_LABELS = ("coil", "station", "appraiser", "part", "job", "strip", "subgroup")
_MOST_KINDS, _LEAST_ROWS = 8, 5
#: Sheets that people fill in have few rows.
_SHEET_ROWS = 300


def arranged(table: TextTable) -> tuple[TextTable, Keys]:
    """Fill labels that are written once, and keep the kind of record that holds readings.

    Parameters
    ----------
    table : TextTable

    Returns
    -------
    table : TextTable
    keys : list of (str, object, str)
        Keys of study.toml that say the same, with evidence.
    """
    cells = _without_sums(table.cells)
    keys: Keys = []
    once = [str(name) for name in cells if _is_written_once(str(name), _texts(cells[name]))]
    if once:
        filled = {name: (cells[name] != "").sum() for name in once}
        listed = ", ".join(f'{n} of {len(cells)} cells of "{name}"' for name, n in filled.items())
        keys.append(("fill_down", once, f"{listed} are filled, each above blank ones"))
        written = {name: _texts(cells[name]) for name in once}
        below = {name: text.mask(text == "").ffill().fillna("") for name, text in written.items()}
        cells = cells.assign(**below)
    chosen = _kind_of_record(cells)
    if chosen is not None:
        name, entry, why = chosen
        keys.append(("only", {name: entry}, why))
        cells = cells[_texts(cells[name]) == entry]
        empty = [each for each in cells if (_texts(cells[each]) == "").all()]
        cells = cells.drop(columns=[name, *(each for each in empty if each != name)])
    return (table if cells is table.cells else replace(table, cells=cells)), keys


def _without_sums(cells: pd.DataFrame) -> pd.DataFrame:
    """Leave out averages and ranges between the readings of a sheet; reading counts them, once it knows the tags."""
    if len(cells) > _SHEET_ROWS:
        return cells
    labels = cells.iloc[:, :3]
    found = labels.map(sums_up).any(axis=1)
    for name in labels:
        found |= labels[name].isin(totals_of_groups(labels[name].unique().tolist()))
    return cells[~found] if found.any() and not found.all() else cells


def _texts(cells: pd.Series) -> pd.Series:
    return cells.astype("string").fillna("").str.strip().astype(object)


def _is_written_once(name: str, text: pd.Series) -> bool:
    """Check whether a label is written only once, above the rows it applies to."""
    filled = (text != "").to_numpy(dtype=bool)
    named = says(name, *_LABELS) or (is_nameless(name) and not any(map(is_number, text)))
    if not named or len(text) < 6 or not filled[0] or filled.mean() > 0.5:
        return False
    entries = text[filled].tolist()
    alone = not (filled[1:] & filled[:-1]).any()
    return len(entries) > 1 and alone and len(set(entries)) > 1


def _kind_of_record(cells: pd.DataFrame) -> tuple[str, str, str] | None:
    """Find the column of record kinds, the kind with most numbers, and the evidence in words."""
    for name in map(str, cells):
        if plain_name(name) not in _KINDS:
            continue
        kinds = _texts(cells[name])
        counts = kinds.value_counts()
        if not 2 <= len(counts) <= _MOST_KINDS or "" in counts or counts.iloc[0] < _LEAST_ROWS:
            continue
        held: dict[str, list[str]] = {}
        for other in cells:
            text = _texts(cells[other])
            some = text[text != ""].head(200).tolist()
            if other == name or not some or sum(map(is_number, some)) < 0.8 * len(some):
                continue
            of = kinds[text != ""].unique().tolist()
            if len(of) == 1:
                held.setdefault(str(of[0]), []).append(str(other))
        if not held:
            continue
        entry = max(held, key=lambda kind: int(counts[kind]) * len(held[kind]))
        others = ", ".join(str(kind) for kind in counts.index if kind != entry)
        named = ", ".join(f'"{each}"' for each in held[entry][:4])
        return name, entry, f"rows of the other kinds, {others}, hold nothing of {named}"
    return None
