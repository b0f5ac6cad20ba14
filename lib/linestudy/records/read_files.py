"""Read every file of a study into tables that the methods take, with an account of every row."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from linestudy.records.across.elsewhere import unread_tables
from linestudy.records.across.limits_said import limits_said
from linestudy.records.across.unread import unread_readings
from linestudy.records.counting.counters import note_on_file_order, number_subgroups_on, numbered_on
from linestudy.records.counting.event_places import with_places_of_events
from linestudy.records.counting.occasions import dated
from linestudy.records.exclusions import in_other_files
from linestudy.records.files import locate, sha256
from linestudy.records.formats.clock import AWAY_FROM_UTC
from linestudy.records.formats.stacked_tables import named_by_blocks
from linestudy.records.headers import columns_of_values
from linestudy.records.ledger import FileAccount, Ledger
from linestudy.records.roles import build
from linestudy.records.rows.chosen import chosen_rows, several_parts
from linestudy.records.screening import Screening, Seen
from linestudy.records.strokes import in_strokes
from linestudy.records.text_table import read_text_table
from linestudy.records.units import unit_in_head
from linestudy.results import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import pandas as pd

    from linestudy.records.text_table import TextTable
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Data, Subgroup


@dataclass(frozen=True)
class Source:
    """One file, read and screened.

    Attributes
    ----------
    data : linestudy.study.model.Data
        What study.toml says of it.
    frame : pandas.DataFrame
        The rows used; tags under their canonical names, one column per
        characteristic id (two, ``id␟first`` and ``id␟second``, for role paired).
    account : FileAccount
        Its account of rows.
    seen : tuple of Seen
        What screening noticed in it.
    """

    data: Data
    frame: pd.DataFrame = field(repr=False)
    account: FileAccount
    seen: tuple[Seen, ...] = ()


@dataclass(frozen=True)
class Records:
    """Everything a study's files hold.

    Attributes
    ----------
    study : Study
    sources : tuple of Source
        One per [[data]] table, in its order.
    """

    study: Study
    sources: tuple[Source, ...]
    _tables: dict[tuple[str, str | None, str | None], pd.DataFrame | None] = field(
        default_factory=dict, repr=False, compare=False
    )

    @property
    def ledger(self) -> Ledger:
        """Account of every row."""
        accounts = tuple(source.account for source in self.sources)
        cautions = tuple(
            f"{account.file}: {note}" for account in accounts for note in account.notes
        )
        return Ledger(accounts, cautions)

    @property
    def screening(self) -> Screening:
        """What was noticed in the files and left as it is, with its evidence."""
        seen = tuple((source.data.file, item) for source in self.sources for item in source.seen)
        return Screening(tuple(dict.fromkeys(seen)))

    def timed(self, study: Study) -> Study:
        """Return a study with the order numbers of its events, where they name a time of the run."""
        file = study.file.model_copy(update={"event": self.study.file.event})
        return replace(study, file=file)

    def inputs(self) -> list[dict[str, Any]]:
        """Give what results.json has under "inputs"."""
        return [source.account.record() for source in self.sources]

    def gauges(self, role: str, characteristic: str) -> tuple[str, ...]:
        """List the gauges with a table of this role for a characteristic.

        A table of a destructive or judged characteristic may name no gauge; it
        is listed under the empty string.
        """
        names = [_gauge_of(source.data) for source in self._of(role, characteristic)]
        return tuple(dict.fromkeys(names))

    def pairs(self, characteristic: str) -> tuple[tuple[str, str], ...]:
        """List the pairs of gauges that measured the same parts."""
        found = [source.data.gauges for source in self._of("paired", characteristic)]
        return tuple(dict.fromkeys(pair for pair in found if pair is not None))

    def subgroups(self, characteristic: str) -> Subgroup | None:
        """Tell how the study takes subgroups from the run, or None where it takes none."""
        from linestudy.study.model import Subgroup

        for source in self._of("run", characteristic):
            if isinstance(source.data.subgroup, Subgroup):
                return source.data.subgroup
        return None

    def table(
        self, role: str, characteristic: str | None = None, gauge: str | None = None
    ) -> pd.DataFrame | None:
        """Give the usable readings of one characteristic as a tidy table.

        Parameters
        ----------
        role : str
            A role of study.toml.
        characteristic : str, optional
            Characteristic id; None for role ``bins``.
        gauge : str, optional
            Gauge id (``"a~b"`` for role ``paired``); the first that has the role when absent.

        Returns
        -------
        pandas.DataFrame or None
            Column ``value`` in the characteristic's unit, without missing values
            (``first`` and ``second`` for paired, ``judgement`` for attribute),
            beside the tags of its role; None where the study has no such table.
            Several files of one role are put together in the order of study.toml.
        """
        key = (role, characteristic, gauge)
        if role == "crossed" and characteristic is not None:
            studies = self.occasions(characteristic, gauge)
            # Of a gauge that was studied again the last study holds.
            return list(studies.values())[-1] if studies else None
        if key not in self._tables:
            self._tables[key] = self._gathered(*key)
        table = self._tables[key]
        # Copy on write: whoever changes his table does not change the next one's.
        return None if table is None else table.copy(deep=False)

    def occasions(self, characteristic: str, gauge: str | None = None) -> dict[str, pd.DataFrame]:
        """Give the crossed studies of a gauge, one for each occasion that study.toml names.

        Parameters
        ----------
        characteristic : str
            Characteristic id.
        gauge : str, optional
            Gauge id; any when absent.

        Returns
        -------
        dict of str to pandas.DataFrame
            Occasion → its readings, in the order of study.toml, or of their dates where every name begins with
            one (2026-03, 2026-03-31, 31.03.2026); one without a name where no file names an occasion.
        """
        key = ("crossed", characteristic, gauge)
        if key not in self._tables:
            self._tables[key] = self._gathered(*key)
        table = self._tables[key]
        if table is None:
            return {}
        if "occasion" not in table:
            return {"": table.copy(deep=False)}
        found = {}
        for name, own in table.groupby(table["occasion"].fillna(""), sort=False):
            found[str(name)] = own.drop(columns="occasion").reset_index(drop=True)
            found[str(name)].attrs = dict(table.attrs)
        dates = [dated(name) for name in found]
        if "" in dates:
            return found
        return {name: found[name] for _, name in sorted(zip(dates, found, strict=True))}

    def _gathered(
        self, role: str, characteristic: str | None, gauge: str | None
    ) -> pd.DataFrame | None:
        import pandas as pd

        found = [
            _one_characteristic(self.study, source, characteristic)
            for source in self._of(role, characteristic)
            if gauge is None or _gauge_of(source.data) == gauge
        ]
        if not found:
            return None
        if role == "run":
            found = numbered_on(number_subgroups_on(found))
        table = found[0] if len(found) == 1 else pd.concat(found, ignore_index=True)
        if role == "run" and "order" in table and not table["order"].is_monotonic_increasing:
            parts = max(int(one.attrs["parts_per_stroke"]) for one in found)
            stream = table.get("station") if parts > 1 else None
            at = in_strokes(table["order"].to_numpy(), stream)
            table = table.iloc[at].reset_index(drop=True)
        table.attrs = dict(found[0].attrs)
        return table

    def _of(self, role: str, characteristic: str | None) -> Iterator[Source]:
        for source in self.sources:
            if source.data.role != role:
                continue
            if characteristic is None or characteristic in _characteristics_of(source):
                yield source

    def _repr_html_(self) -> str:
        return self.ledger._repr_html_()


def _with_turns(sources: list[Source]) -> list[Source]:
    """Note that files of a run follow the order of study.toml where nothing else orders them."""
    runs = [i for i, source in enumerate(sources) if source.data.role == "run"]
    files = Counter(name for i in runs for name in _characteristics_of(sources[i]))
    runs = [i for i in runs if any(files[name] > 1 for name in _characteristics_of(sources[i]))]
    named = [sources[i] for i in runs]
    noticed = note_on_file_order([one.frame for one in named], [one.data.file for one in named])
    if noticed:
        own = named[-1]
        seen = (*own.seen, Seen("files without a clock", "", len(runs), 0, noticed))
        account = replace(own.account, notes=(*own.account.notes, noticed))
        sources[runs[-1]] = replace(own, account=account, seen=seen)
    return sources


def _gauge_of(data: Data) -> str:
    return "~".join(data.gauges) if data.gauges else data.gauge or ""


def _characteristics_of(source: Source) -> set[str]:
    if source.data.role == "attribute":
        return {str(source.data.characteristic)}
    return {str(name).split("␟")[0] for name in source.frame.attrs["characteristics"]}


def _one_characteristic(study: Study, source: Source, characteristic: str | None) -> pd.DataFrame:
    """Return tags and values of one characteristic, without rows that have no value.

    A position has ``x`` and ``y`` beside its value, and ``size`` where study.toml names one: its value then is the
    deviation less the bonus of that part, which is what its limit is held against.
    """
    frame = source.frame
    if source.data.role in ("attribute", "bins", "layout"):
        return frame.copy()
    tags = frame.attrs["tags"]
    if source.data.role == "paired":
        names = {f"{characteristic}␟first": "first", f"{characteristic}␟second": "second"}
    else:
        names = {str(characteristic): "value"}
    table = frame[[*tags, *names]].rename(columns=names).dropna(subset=list(names.values()))
    own = f"{characteristic}␟set_aside"
    if "set_aside" in table and own in frame:
        table["set_aside"] = frame.loc[table.index, own]
    if f"{characteristic}␟x" in frame:
        for axis in "xy":
            table[axis] = frame.loc[table.index, f"{characteristic}␟{axis}"]
        item = study.characteristic(str(characteristic))
        if item.position is not None and item.position.size in frame:
            table["size"] = frame.loc[table.index, item.position.size]
            table["value"] = table["value"] - _bonus(item, table["size"])
    table = table.reset_index(drop=True)
    table.attrs = {
        "levels": frame.attrs.get("levels", ()),
        "parts_per_stroke": frame.attrs.get("parts_per_stroke", 1),
    }
    return table


def _bonus(item: Characteristic, size: pd.Series) -> pd.Series:
    """Compute how much wider each part's zone is (ISO 2692, ASME Y14.5); nothing where its size is unknown."""
    place = item.position
    assert place is not None
    assert place.most_material is not None
    if item.bound is not None:
        raise InputError(
            "study.toml",
            f'gives "{item.id}" a bound and a bonus',
            "leave out bound: a position less its bonus may fall below nought",
        )
    gained = size - place.most_material
    return (gained if place.feature == "hole" else -gained).clip(lower=0.0).fillna(0.0)


def read(study: Study) -> Records:
    """Read and screen every file of a study.

    Parameters
    ----------
    study : Study
        From :func:`linestudy.open_study`.

    Returns
    -------
    Records
        Its ``table(role, characteristic, gauge)`` are the readings that methods take, its ``ledger``
        the account of every row, its ``screening`` what was noticed and left as it is.

    Raises
    ------
    InputError
        A file is missing, empty, not a table, lacks a column, or has text where a
        number belongs: one line with the file, the line in it, and what to do.

    See Also
    --------
    linestudy.open_study : Read and check study.toml.
    linestudy.records.infer_data_table : Infer the [[data]] table of a file nobody has described.
    linestudy.evaluate : Read a study and take it through all packages.

    Notes
    -----
    Set aside by default is only what cannot be a measurement: sentinels for "no
    reading", values beyond a physical bound, the plausible range or the gauge's
    range given in study.toml, and rows repeated, in one file or the next. All else is the user's decision.

    Examples
    --------
    >>> from linestudy import open_study, start_study
    >>> import tempfile
    >>> records = read(open_study(start_study(tempfile.mkdtemp() + "/s")))
    >>> print(records.ledger)
    Data record
    240 rows read from 2 files, all of them used.
    <BLANKLINE>
      file              role     gauge   rows read  rows used  set aside  rows
      data/run.csv      run      camera  150        150
      data/crossed.csv  crossed  camera  90         90
    >>> records.table("run", "width").shape
    (150, 4)
    """
    sources = []
    for data in study.data:
        path = locate(study.folder, data.file, data.largest_mb)
        sources.append(read_source(study, data, path))
    sources = _with_turns(in_other_files(sources))
    runs = [source for source in sources if source.data.role == "run" and "time" in source.frame]
    away = any(seen.what == AWAY_FROM_UTC for source in runs for seen in source.seen)
    return Records(
        with_places_of_events(study, [source.frame for source in runs], away), tuple(sources)
    )


def read_source(study: Study, data: Data, path: Path, digest: str | None = None) -> Source:
    """Read and screen one file.

    Parameters
    ----------
    study : Study
        Its characteristics and gauges.
    data : linestudy.study.model.Data
        What its columns mean; ``data.file`` names it in messages.
    path : pathlib.Path
        Where it is, already known to be safe.
    digest : str, optional
        Its SHA-256, where that is known already.

    Returns
    -------
    Source
        The rows used, the account of all rows, what was noticed.
    """
    text = read_text_table(path, data)
    data = named_by_blocks(_with_unit_of_file(data, text))
    rows_read = text.rows_read
    cells, left = chosen_rows(text.cells, data) if data.only else (text.cells, {})
    noticed = [Seen(what, "", n, line, said) for what, n, line, said in several_parts(cells, data)]
    beside = cells if text.beyond is None else text.beyond.loc[cells.index]
    tables, outside = unread_tables(study, data, cells, text.elsewhere, text.sheet)
    noticed += [Seen(*one) for one in (*unread_readings(study, data, beside), *tables)]
    rows_read += sum(outside.values())
    noticed += [Seen(*one) for one in limits_said(study, data, replace(text, cells=cells))]
    text = replace(text, cells=cells, seen=[*text.seen, *noticed])
    frame, reasons, values, seen = build(study, data, text.cells)
    seen = [*text.seen, *seen]
    notes = [*text.notes, *(item.sentence for item in seen)]
    account = FileAccount(
        file=data.file,
        role=data.role,
        gauge=_gauge_of(data),
        sha256=digest or sha256(path),
        rows_read=rows_read,
        # A row of a wide file is one row, however many readings it holds.
        rows_used=len(text.cells) - sum(reasons.values()),
        set_aside={**text.set_aside, **left, **outside, **reasons},
        values=values,
        notes=tuple(notes),
        cells=frame.attrs.pop("cells", ()),
    )
    return Source(data, frame, account, tuple(seen))


def _with_unit_of_file(data: Data, text: TextTable) -> Data:
    """Take units from the file's row of units or its heads where study.toml names none."""
    if data.unit is not None:
        return data
    named = (data.long and data.long.value, data.reference, data.reference_uncertainty)
    wanted = columns_of_values(data) + [name for name in named if isinstance(name, str)]
    found = {name: text.units.get(name) or unit_in_head(name) for name in wanted}
    found = {name: unit for name, unit in found.items() if unit and name not in data.units}
    if not found:
        return data
    where = "row of units below the header" if set(found) & set(text.units) else "header"
    where = "document" if data.file.lower().endswith((".qif", ".xml")) else where
    for unit in dict.fromkeys(found.values()):
        mine = [f'"{name}"' for name in found if found[name] == unit]
        whose = "" if len(set(found.values())) == 1 else f" of {', '.join(mine)}"
        text.notes.append(f'The {where} says "{unit}"{whose}.')
    update: dict[str, Any] = {"units": {**data.units, **found}}
    if len(set(found.values())) == 1 and set(found) >= set(wanted):
        update["unit"] = next(iter(found.values()))
    return data.model_copy(update=update)
