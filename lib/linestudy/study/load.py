"""Open a study folder: read study.toml, check it, and say in one line what is wrong."""

from __future__ import annotations

import difflib
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from linestudy.results import InputError
from linestudy.study.bounds import (
    check_against_each_other,
    check_text,
    check_values,
    dates_as_text,
    too_deep,
)
from linestudy.study.layout import laid_out
from linestudy.study.lines import where_in

if TYPE_CHECKING:
    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

    from linestudy.study.events import Event, SetAside
    from linestudy.study.model import (
        Budget,
        Characteristic,
        Criteria,
        Data,
        Gauge,
        StudyFile,
        StudyHead,
    )

    _Named = TypeVar("_Named", Characteristic, Gauge)

#: A study.toml is written by hand; anything larger is a mistake or an attack.
_LARGEST_BYTES = 1_000_000


@dataclass(frozen=True)
class Study:
    """A study folder whose study.toml has been read and checked.

    Attributes
    ----------
    folder : pathlib.Path
        The study folder.
    file : StudyFile
        All of study.toml as typed objects.
    """

    folder: Path
    file: StudyFile

    @property
    def head(self) -> StudyHead:
        """Title, part, revision and the settings that hold throughout."""
        return self.file.study

    @property
    def criteria(self) -> Criteria:
        """Thresholds as written in study.toml; keys left out are None."""
        return self.file.criteria

    @property
    def characteristics(self) -> tuple[Characteristic, ...]:
        """All characteristics, in the order of study.toml."""
        return self.file.characteristic

    @property
    def gauges(self) -> tuple[Gauge, ...]:
        """All measuring systems."""
        return self.file.gauge

    @property
    def data(self) -> tuple[Data, ...]:
        """All data files and what their columns mean; planned ones once they are there."""
        return tuple(data for data in self.file.data if not self._awaited(data))

    @property
    def planned(self) -> tuple[Data, ...]:
        """Data files that study.toml plans and that are not in the folder yet."""
        return tuple(data for data in self.file.data if self._awaited(data))

    def _awaited(self, data: Data) -> bool:
        return data.planned and not (self.folder / data.file.replace("\\", "/")).exists()

    @property
    def set_aside(self) -> tuple[SetAside, ...]:
        """Periods taken out on purpose."""
        return self.file.set_aside

    @property
    def events(self) -> tuple[Event, ...]:
        """What happened during the run."""
        return self.file.event

    @property
    def budget(self) -> tuple[Budget, ...]:
        """Entries for the uncertainty budget that no study gives."""
        return self.file.budget

    @property
    def confidence(self) -> float:
        """Confidence of every interval."""
        return self.file.study.confidence

    @property
    def seed(self) -> int:
        """Seed from which every random step derives."""
        return self.file.study.seed

    @property
    def line_rate(self) -> float | None:
        """Strokes per minute, or None."""
        return self.file.study.line_rate

    @property
    def parts_per_stroke(self) -> int | None:
        """Parts that one stroke of the tool makes, or None where study.toml does not say."""
        return self.file.tool.parts_per_stroke

    def characteristic(self, characteristic_id: str) -> Characteristic:
        """Give the characteristic with this id.

        Raises
        ------
        KeyError
            When the study has none; the message names the nearest id.
        """
        return _named(self.characteristics, characteristic_id, "characteristic")

    def gauge(self, gauge_id: str) -> Gauge:
        """Give the gauge with this id.

        Raises
        ------
        KeyError
            When the study has none; the message names the nearest id.
        """
        return _named(self.gauges, gauge_id, "gauge")

    def _repr_html_(self) -> str:
        import html

        import pandas as pd

        from linestudy.results.finding import table_html

        table = pd.DataFrame(
            {
                "id": [c.id for c in self.characteristics],
                "name": [c.name for c in self.characteristics],
                "limits": [c.measures() for c in self.characteristics],
                "special": [c.special for c in self.characteristics],
            }
        )
        head = f"{self.head.title}: {self.head.part_and_revision}"
        return f"<h4>{html.escape(head)}</h4>{table_html(table)}"


def _named(items: tuple[_Named, ...], wanted: str, kind: str) -> _Named:
    for item in items:
        if item.id == wanted:
            return item
    raise KeyError(f"no {kind} {wanted!r}{_nearest(wanted, [item.id for item in items])}")


def open_study(path: str | Path) -> Study:
    """Read and check a study folder's study.toml.

    Parameters
    ----------
    path : str or pathlib.Path
        The study folder, or the study.toml inside it.

    Returns
    -------
    Study
        Characteristics, gauges, data files and settings as typed objects; no file of data is read yet.

    Raises
    ------
    InputError
        The folder or file is missing, is not TOML, or says something that
        cannot be: one line with the line number, the key and what to do.

    See Also
    --------
    linestudy.start_study : Write a commented starter study.
    linestudy.read : Read and screen the files of a study.

    Examples
    --------
    >>> open_study("no/such/folder")
    Traceback (most recent call last):
    linestudy.results.errors.InputError: no/such/folder: there is no such folder; ...
    """
    folder = Path(path)
    if folder.name == "study.toml" and not folder.is_dir():
        folder = folder.parent
    if not folder.is_dir():
        raise InputError(
            str(path), "there is no such folder", "give the folder that holds study.toml"
        )
    return parsed_study(folder, _read(folder / "study.toml"))


def parsed_study(folder: Path, text: str) -> Study:
    """Check the text of a study.toml, whether it has been written yet or not.

    Parameters
    ----------
    folder : pathlib.Path
        Where it is, or is to be written.
    text : str

    Returns
    -------
    Study

    Raises
    ------
    InputError
        As :func:`open_study`.
    """
    check_text(text)
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError("study.toml", f"is not valid TOML ({error})", "mend that line") from None
    except RecursionError:
        raise too_deep() from None
    except (ValueError, OverflowError):
        # Python refuses to read whole numbers of thousands of digits, and dates that are none.
        raise InputError(
            "study.toml", "holds a number or date that cannot be read", "mend it"
        ) from None
    check_values(content)
    content = dates_as_text(content)
    return Study(folder, _checked(content, text))


def _read(file: Path) -> str:
    if not file.is_file():
        raise InputError(
            "study.toml",
            "is not in the folder",
            "write one, or start with `linestudy new FOLDER`",
        )
    if file.stat().st_size > _LARGEST_BYTES:
        raise InputError("study.toml", "is larger than 1 MB", "keep data in files of their own")
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            "study.toml", f"is not UTF-8 text (byte {error.start})", "save it as UTF-8"
        ) from None


def _checked(content: dict[str, Any], text: str) -> StudyFile:
    from pydantic import ValidationError

    from linestudy.study.model import StudyFile

    if content.get("format", 1) != 1:
        raise InputError(
            "study.toml", f"has format {content['format']!r}", "this version reads format = 1"
        )
    try:
        file = StudyFile.model_validate(content)
    except ValidationError as error:
        raise _explained(error, text) from None
    _check_references(file, text)
    check_against_each_other(file)
    return _with_levels(file, text)


def _with_levels(file: StudyFile, text: str) -> StudyFile:
    """Fill in what lies across the columns of wide files."""
    positions = {item.id for item in file.characteristic if item.position is not None}
    tables = []
    for index, data in enumerate(file.data):
        try:
            tables.append(laid_out(data, positions))
        except ValueError as error:
            key = "judgement" if data.judgement is not None else "columns"
            what, _, todo = str(error).partition("; ")
            where = where_in(("data", index, key), text)
            raise InputError(where, what, todo or "see FORMAT.md") from None
    return file.model_copy(update={"data": tuple(tables)})


def _explained(error: ValidationError, text: str) -> InputError:
    """Turn the first of pydantic's complaints into one plain line."""
    details = error.errors(include_url=False)
    # An unknown key explains a missing one better than the other way round.
    first = min(details, key=lambda item: item["type"] != "extra_forbidden")
    location = tuple(first["loc"])
    what, todo = _complaint(first, location)
    return InputError(where_in(location, text), what, todo)


def _complaint(item: ErrorDetails, location: tuple[int | str, ...]) -> tuple[str, str]:
    key = next((str(part) for part in reversed(location) if isinstance(part, str)), "")
    kind = item["type"]
    if kind == "extra_forbidden":
        close = _nearest(key, _keys_of(location))
        return f'unknown key "{key}"', close.strip(" ,;") or "remove it, or see FORMAT.md"
    if kind == "missing":
        return f'the key "{key}" is missing', "add it (FORMAT.md tells what it means)"
    if kind == "value_error":
        return item["msg"].removeprefix("Value error, "), "mend study.toml"
    given = repr(item.get("input"))
    given = given if len(given) <= 60 else given[:57] + "…"
    return f"{key} = {given} cannot be used", item["msg"][:1].lower() + item["msg"][1:]


def _keys_of(location: tuple[int | str, ...]) -> list[str]:
    """List known keys of the table that holds an unknown key."""
    from linestudy.study import events, model, submission

    tables: dict[str, Any] = {
        name: field.annotation for name, field in model.StudyFile.model_fields.items()
    }
    owners: dict[str, Any] = {
        "study": model.StudyHead,
        "tool": model.Tool,
        "criteria": model.Criteria,
        "characteristic": model.Characteristic,
        "gauge": model.Gauge,
        "data": model.Data,
        "set_aside": events.SetAside,
        "event": events.Event,
        "cause": events.Cause,
        "budget": model.Budget,
        "identification": submission.Identification,
        "line": submission.Line,
        "master": submission.Master,
        "appraiser": submission.Appraiser,
        "action": submission.Action,
        "control": submission.Control,
        "attachment": submission.Attachment,
        "form": submission.Form,
    }
    if len(location) == 1:
        return list(tables)
    if "subgroup" in location[1:-1]:
        return list(model.Subgroup.model_fields)
    if "long" in location[1:-1]:
        return list(model.Long.model_fields)
    owner = owners.get(str(location[0]))
    return list(owner.model_fields) if owner else []


def _nearest(wanted: str, known: list[str]) -> str:
    close = difflib.get_close_matches(wanted, known, n=1, cutoff=0.5)
    if close:
        return f', did you mean "{close[0]}"?'
    return f", known: {', '.join(known)}" if 0 < len(known) <= 12 else ""


def _check_references(file: StudyFile, text: str) -> None:
    """Check names that refer to other tables, which pydantic cannot see."""
    characteristics = [c.id for c in file.characteristic]
    gauges = [g.id for g in file.gauge]
    for kind, ids in (("characteristic", characteristics), ("gauge", gauges)):
        for index, name in enumerate(ids):
            if name in ids[:index]:
                raise InputError(
                    where_in((kind, index, "id"), text),
                    f'the id "{name}" is used twice',
                    "rename one",
                )
    for index, data in enumerate(file.data):
        _check_data(data, index, characteristics, gauges, text)
    for index, item in enumerate(file.characteristic):
        if item.position is not None:
            where = ("characteristic", index, "position")
            _known(item.position.size, characteristics, where, text)
    tables: tuple[tuple[str, tuple[Any, ...]], ...] = (
        ("set_aside", file.set_aside),
        ("event", file.event),
        ("cause", file.cause),
        ("budget", file.budget),
        ("master", file.master),
        ("action", file.action),
        ("control", file.control),
    )
    for kind, entries in tables:
        for index, entry in enumerate(entries):
            named = entry.characteristic
            for name in named if isinstance(named, tuple) else (named,):
                _known(name, characteristics, (kind, index, "characteristic"), text)
            # The control plan may name any gauge, also one that no study is about.
            if kind != "control":
                _known(getattr(entry, "gauge", None), gauges, (kind, index, "gauge"), text)


def _check_data(
    data: Data,
    index: int,
    characteristics: list[str],
    gauges: list[str],
    text: str,
) -> None:
    for gauge in (data.gauge, *(data.gauges or ())):
        _known(gauge, gauges, ("data", index, "gauge" if data.gauge else "gauges"), text)
    _known(data.characteristic, characteristics, ("data", index, "characteristic"), text)
    _known(data.size_of, characteristics, ("data", index, "size_of"), text)
    _known(data.size_gauge, gauges, ("data", index, "size_gauge"), text)
    for name in data.columns:
        _known(name, characteristics, ("data", index, "columns"), text)


def _known(name: str | None, known: list[str], location: tuple[int | str, ...], text: str) -> None:
    if name is not None and name not in known:
        kind = "gauge" if "gauge" in str(location[-1]) else "characteristic"
        close = _nearest(name, known).strip(" ,;")
        raise InputError(
            where_in(location, text),
            f'there is no {kind} "{name}"',
            close or f"describe it in a [[{kind}]] table",
        )
