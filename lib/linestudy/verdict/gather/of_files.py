"""What a person chose to read of the files, and what whoever opens them does not see."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.records.across.limits_said import NARROWER, WIDER
from linestudy.records.across.rows_noticed import REJECTED_FOR, REJECTED_UNREAD
from linestudy.records.across.unread import NAMESAKE, UNREAD_NUMBERS, UNREAD_STREAM, WORKED_OUT
from linestudy.records.exclusions import CHOSEN, OTHER_KIND, OTHER_PARTS
from linestudy.records.rows.chosen import SEVERAL_PARTS
from linestudy.records.text_table import HIDDEN_COLUMN, HIDDEN_ROWS, HIDDEN_SHEET, STRUCK
from linestudy.results import counted
from linestudy.verdict.facts import Doubt

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from linestudy.records import Records
    from linestudy.records.read_files import Source
    from linestudy.records.screening import Seen


def unseen(sources: list[Source]) -> list[str]:
    """Tell what whoever reads the numbers of a file does not see: bad parts vanish in hidden rows, or are struck through and count.

    Parameters
    ----------
    sources : list of Source

    Returns
    -------
    list of str
    """
    kinds = (HIDDEN_ROWS, HIDDEN_COLUMN, HIDDEN_SHEET, STRUCK, SEVERAL_PARTS)
    # What the author should write is reported to the author, by check.
    return [
        f"{item.evidence.partition('; where one is meant')[0]} ({s.data.file})"
        for s in sources
        for item in s.seen
        if item.what in kinds
    ]


def _seen(sources: Sequence[Source], key: str, *kinds: str) -> Iterator[tuple[Source, Seen]]:
    """List what was noticed of a characteristic, of some kinds, with the file it was noticed in."""
    for source in sources:
        for item in source.seen:
            if item.what in kinds and item.characteristic == key:
                yield source, item


def _with_its_file(source: Source, item: Seen) -> str:
    return f"{item.evidence} ({source.data.file})"


def unread_numbers(sources: Sequence[Source], key: str) -> list[str]:
    """Tell of columns that hold numbers like a characteristic's readings and that no one reads.

    Parameters
    ----------
    sources : sequence of Source
    key : str
        Characteristic id.

    Returns
    -------
    list of str
    """
    return [_with_its_file(*one) for one in _seen(sources, key, UNREAD_NUMBERS)]


def worked_out(sources: list[Source], key: str) -> tuple[Doubt, ...]:
    """Tell of readings that were worked out of a column that spreads more; they follow from it exactly, so that chance has no part in it.

    Parameters
    ----------
    sources : list of Source
    key : str
        Characteristic id.

    Returns
    -------
    tuple of Doubt
    """
    return tuple(
        Doubt("readings worked out", 0.0, _with_its_file(*one))
        for one in _seen(sources, key, WORKED_OUT)
    )


def limits_of_files(sources: list[Source], key: str) -> tuple[tuple[str, ...], list[str]]:
    """Tell of limits that a file says and study.toml does not, and of a column of the characteristic's name that is not read.

    Parameters
    ----------
    sources : list of Source
    key : str
        Characteristic id.

    Returns
    -------
    otherwise, narrower : tuple of str, list of str
        Where study.toml allows more than the file or reads another column, and where it allows less.
    """
    return (
        tuple(item.evidence for _, item in _seen(sources, key, WIDER, NAMESAKE)),
        [item.evidence for _, item in _seen(sources, key, NARROWER)],
    )


def rejected_without(sources: list[Source], key: str) -> tuple[int, list[str]]:
    """Count rejected parts of which a characteristic has no reading although the accepted ones have theirs.

    Parameters
    ----------
    sources : list of Source
    key : str
        Characteristic id.

    Returns
    -------
    n : int
        Those for which the file gives no reason.
    sentences : list of str
        Of all of them.
    """
    found = list(_seen(sources, key, REJECTED_UNREAD, REJECTED_FOR))
    return (
        sum(item.count for _, item in found if item.what == REJECTED_UNREAD),
        [_with_its_file(*one) for one in found],
    )


def unread_stream(records: Records, key: str) -> str:
    """Say which columns hold readings of another stream of a run and are not read; empty where there is none.

    Parameters
    ----------
    records : Records
    key : str
        Characteristic id.

    Returns
    -------
    str
    """
    said = [
        f"{item.evidence[0].lower()}{item.evidence[1:]} ({s.data.file})"
        for s in records.sources
        for item in s.seen
        if s.data.role == "run" and item.what == UNREAD_STREAM and item.characteristic == key
    ]
    return "; ".join(said)


def chosen_of(records: Records, key: str) -> tuple[int, tuple[str, ...]]:
    """Tell what a person chose to read of the files of a characteristic, gauge studies among them.

    Parameters
    ----------
    records : Records
    key : str
        Characteristic id.

    Returns
    -------
    n : int
        Readings left out by such a choice that are not of other parts.
    sentences : tuple of str
    """
    n, said = 0, []
    for source in records.sources:
        data, account = source.data, source.account
        if key not in account.values and data.characteristic != key:
            continue
        own = account.values.get(key)
        wide = own.columns if own else 1
        for reason, rows in account.set_aside.items():
            kind, _, what = reason.partition(": ")
            if kind == OTHER_PARTS:
                said.append(
                    f"of {data.file} {counted(rows, 'row')} of other parts are not read ({what})"
                )
            elif kind == CHOSEN:
                n += rows * wide
                said.append(
                    f"of {data.file} {counted(rows, 'row')} are left out by choice ({what})"
                )
            elif kind == OTHER_KIND:
                said.append(
                    f"of {data.file} {counted(rows, 'row')} without a reading are not read ({what})"
                )
    return n, tuple(said)
