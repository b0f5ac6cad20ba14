"""What the engineer judges, written into study.toml where it is read: causes, actions, exclusions, a distribution.

Nothing in study.toml is changed but the one key that is asked for; its comments and its order stay.
Before the file is replaced the new one is opened as any study is, so that what cannot be read is never written.
"""

from __future__ import annotations

import datetime
import html
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError
from linestudy.results.errors import did_you_mean
from linestudy.study.families import FAMILY_NAMES
from linestudy.study.load import Study, open_study, parsed_study

if TYPE_CHECKING:
    from collections.abc import Callable

    from tomlkit import TOMLDocument

    from linestudy.study.model import StudyFile


@dataclass(frozen=True)
class Recorded:
    """What was written into study.toml, or why nothing was.

    Attributes
    ----------
    text : str
        One sentence.
    lines : str
        The lines as study.toml has them; empty where nothing was written.
    """

    text: str
    lines: str = ""

    def __repr__(self) -> str:
        return f"{self.text}\n\n{self.lines}".rstrip()

    def _repr_html_(self) -> str:
        below = f"<pre>{html.escape(self.lines)}</pre>" if self.lines else ""
        return f"<p>{html.escape(self.text)}</p>{below}"


def record_cause(
    study: Study | str | Path,
    cause: str,
    action: str,
    *,
    by: str,
    date: str | datetime.date,
    at: float | None = None,
    first: float | None = None,
    last: float | None = None,
    characteristic: str | None = None,
) -> Recorded:
    """Record why points lay out of control, what was done about it, by whom and when.

    Parameters
    ----------
    study : Study, str or pathlib.Path
        An opened study, or its folder.
    cause, action : str
        In words; an action that was not taken is no action.
    by : str
        Who answers for it.
    date : str or datetime.date
        As year, month, day: ``"2026-05-03"``.
    at : float, optional
        Stroke number of the point's first part, as the table of points gives it.
    first, last : float, optional
        A stretch of strokes instead.
    characteristic : str, optional
        Its id; the cause holds for all of them when absent.

    Returns
    -------
    Recorded
        Nothing is written, and it says so, while one of the words is empty.

    Raises
    ------
    InputError
        The date is none, the study has no such characteristic, or no point or stretch is named.

    See Also
    --------
    record_action : What is done about any other finding.

    Notes
    -----
    It becomes a ``[[cause]]``. The rule of stability reads it: where each point out of control has a cause with
    an action, the process is "not in control, causes named and acted upon", which the customer approves.

    Examples
    --------
    >>> from linestudy import start_study
    >>> import tempfile
    >>> folder = start_study(tempfile.mkdtemp() + "/study")
    >>> record_cause(folder, "", "", by="", date="", at=1)
    Nothing was recorded: cause, action, by, date are still empty.
    """
    keys = {"cause": cause, "action": action, "by": by, "date": date}
    where = {"at": at, "first": first, "last": last, "characteristic": characteristic}
    written = _recorded(study, keys, lambda document, said: _append(document, "cause", said, where))
    return _looked_up(
        written, study, lambda file: [c for c in file.cause if c.cause == _words(cause)]
    )


def record_action(
    study: Study | str | Path,
    action: str,
    *,
    by: str,
    date: str | datetime.date,
    done: bool = False,
    characteristic: str | None = None,
) -> Recorded:
    """Record what is done about a finding, by whom and until when.

    Parameters
    ----------
    study : Study, str or pathlib.Path
        An opened study, or its folder.
    action : str
        In words.
    by : str
        Who answers for it.
    date : str or datetime.date
        Until when, or when it was done.
    done : bool
        Whether it has been done.
    characteristic : str, optional
        Its id; all of them when absent.

    Returns
    -------
    Recorded
        Nothing is written, and it says so, while one of the words is empty.

    Raises
    ------
    InputError
        The date is none, or the study has no such characteristic.

    See Also
    --------
    record_cause : Why points lay out of control.

    Notes
    -----
    It becomes an ``[[action]]``, which the document lists on its first pages.

    Examples
    --------
    >>> record_action("no/folder/yet", "", by="A. Person", date="2026-05-03")
    Nothing was recorded: action is still empty.
    """
    keys = {"action": action, "by": by, "date": date}
    where = {"characteristic": characteristic}
    return _recorded(
        study, keys, lambda document, said: _append_action(document, said, where, done)
    )


def accept_family(
    study: Study | str | Path,
    characteristic: str,
    family: str,
    *,
    reason: str,
    by: str,
    date: str | datetime.date,
) -> Recorded:
    """Name the distribution of a characteristic, with the reason, the person and the date.

    Parameters
    ----------
    study : Study, str or pathlib.Path
        An opened study, or its folder.
    characteristic : str
        Its id.
    family : str
        As the finding names it, for example ``"gamma"``; ``"auto"`` takes the name back.
    reason : str
        Why this one: what is known of the process, not which index is larger.
    by : str
        Who answers for it.
    date : str or datetime.date
        When it was decided.

    Returns
    -------
    Recorded
        Nothing is written, and it says so, while one of the words is empty.

    Raises
    ------
    InputError
        The date is none, the study has no such characteristic, or no distribution is called so.

    See Also
    --------
    exclude : Take a stretch of the run out, with its reason.

    Notes
    -----
    It sets the key ``family`` and adds an ``[[action]]`` that says why and by whom. A distribution that is named
    is a condition the document states; it does not silence what the readings say against it.

    Examples
    --------
    >>> accept_family("no/folder/yet", "width", "", reason="", by="", date="")
    Nothing was recorded: family, reason, by, date are still empty.
    """
    keys = {"family": family, "reason": reason, "by": by, "date": date}

    def write(document: TOMLDocument, said: dict[str, str]) -> list[str]:
        import tomlkit

        found = next(
            (t for t in document.get("characteristic", []) if t.get("id") == characteristic), None
        )
        if found is None:
            raise InputError(
                "study.toml", f'has no characteristic "{characteristic}"', "use one of its ids"
            )
        if said["family"].casefold() not in {name.casefold() for name in FAMILY_NAMES}:
            raise InputError(
                "family",
                f'no distribution is called "{said["family"]}"',
                did_you_mean(said["family"], FAMILY_NAMES).strip(" ;?")
                or f"use one of {', '.join(FAMILY_NAMES)}",
            )
        if str(found.get("family", "auto")) != said["family"]:
            found["family"] = tomlkit.item(said["family"])
        action = f"Distribution {said['family']} accepted: {said['reason']}"
        entry = {"action": action, "by": said["by"], "date": said["date"]}
        lines = _append_action(document, entry, {"characteristic": characteristic}, True)
        return [f'family = "{said["family"]}"', *lines]

    return _recorded(study, keys, write)


def exclude(
    study: Study | str | Path,
    reason: str,
    *,
    by: str,
    date: str | datetime.date,
    first: float | None = None,
    last: float | None = None,
    begin: str | None = None,
    end: str | None = None,
    characteristic: str | None = None,
) -> Recorded:
    """Take a stretch of the run out on purpose, with the reason, the person and the date.

    Parameters
    ----------
    study : Study, str or pathlib.Path
        An opened study, or its folder.
    reason : str
        What happened at the line, not what the readings look like.
    by : str
        Who answers for it.
    date : str or datetime.date
        When it was decided.
    first, last : float, optional
        Order numbers of the stretch.
    begin, end : str, optional
        Or its times.
    characteristic : str, optional
        Its id; all of them when absent.

    Returns
    -------
    Recorded
        Nothing is written, and it says so, while one of the words is empty.

    Raises
    ------
    InputError
        The date is none, the study has no such characteristic, or no stretch is named.

    See Also
    --------
    record_cause : Name the cause and leave the readings where they are, which is usually better.

    Notes
    -----
    It becomes a ``[[set_aside]]`` and an ``[[action]]`` with person and date. The document shows the results with
    and without the stretch.

    Examples
    --------
    >>> exclude("no/folder/yet", "", by="", date="2026-05-03", first=1, last=9)
    Nothing was recorded: reason, by are still empty.
    """
    keys = {"reason": reason, "by": by, "date": date}
    where = {
        "first": first,
        "last": last,
        "begin": begin,
        "end": end,
        "characteristic": characteristic,
    }

    def write(document: TOMLDocument, said: dict[str, str]) -> list[str]:
        lines = _append(document, "set_aside", {"reason": said["reason"]}, where)
        entry = {"action": f"Set aside: {said['reason']}", "by": said["by"], "date": said["date"]}
        about = {"characteristic": characteristic}
        return [*lines, *_append_action(document, entry, about, True)]

    return _looked_up(
        _recorded(study, keys, write),
        study,
        lambda file: [s for s in file.set_aside if s.reason == _words(reason)],
    )


def _looked_up(
    written: Recorded,
    study: Study | str | Path,
    entries: Callable[[StudyFile], list[Any]],
) -> Recorded:
    """Say beside the entry that was written, the last of these, that the run has no reading there, where it has none."""
    if not written.lines:
        return written
    from linestudy.intake.places_in_the_run import without_readings
    from linestudy.records import read

    opened = open_study(study.folder if isinstance(study, Study) else study)
    try:
        found = without_readings(read(opened), entries(opened.file)[-1])
    except InputError:
        # What is wrong with the files is reported where they are read for their own sake.
        return written
    return Recorded(f"{written.text} Look at this: {found}", written.lines) if found else written


def _recorded(
    study: Study | str | Path,
    keys: dict[str, Any],
    write: Callable[[TOMLDocument, dict[str, str]], list[str]],
) -> Recorded:
    """Put words into study.toml, unless some are missing or all of them are there already."""
    said = {key: _words(value) for key, value in keys.items()}
    empty = [key for key, value in said.items() if not value]
    if empty:
        verb = "is" if len(empty) == 1 else "are"
        return Recorded(f"Nothing was recorded: {', '.join(empty)} {verb} still empty.")
    try:
        said["date"] = datetime.date.fromisoformat(said["date"]).isoformat()
    except ValueError:
        raise InputError(
            "date", f'"{said["date"]}" is not a date', 'write it as "2026-05-03"'
        ) from None
    import tomlkit

    from linestudy.intake.writing import as_spelled

    folder = (study if isinstance(study, Study) else open_study(study)).folder
    file = folder / "study.toml"
    before = file.read_text(encoding="utf-8-sig")
    # A last line without an end would take what is added behind it.
    before += "" if before.endswith("\n") else "\n"
    document = tomlkit.parse(before)
    lines = write(document, said)
    after = tomlkit.dumps(document)
    if after == before:
        return Recorded("It stands in study.toml already; nothing was changed.")
    try:
        parsed_study(folder, after)
    except InputError as error:
        # What was wrong already is said as it is; what the new words made wrong is no fault of study.toml.
        parsed_study(folder, before)
        todo = "say it in the call" if error.todo == "mend study.toml" else error.todo
        raise InputError("nothing was written", error.what, todo) from None
    rough = file.with_name(".study.toml.new")
    rough.write_bytes(as_spelled(after, file.read_bytes()))
    rough.replace(file)
    return Recorded("Written into study.toml:", "\n".join(lines).strip())


def _words(value: Any) -> str:
    if isinstance(value, datetime.date):
        return value.isoformat()[:10]
    return " ".join(str(value).split())


def _append(
    document: TOMLDocument, name: str, said: dict[str, str], where: dict[str, Any]
) -> list[str]:
    """Add a table of a kind, unless the same one is there; return its lines."""
    import tomlkit
    from tomlkit.items import AoT

    from linestudy.intake.writing import add_table

    keys = {**said, **{key: _whole(value) for key, value in where.items() if value is not None}}
    there: Any = document.get(name, [])
    if any(table.unwrap() == keys for table in there):
        return []
    table = tomlkit.table()
    for key, value in keys.items():
        table.add(key, value)
    lines = [f"[[{name}]]", *tomlkit.dumps(table).strip().splitlines(), ""]
    if isinstance(there, AoT) and len(there):
        # One blank line between two of a kind, and before what follows them.
        if not tomlkit.dumps(there[-1]).endswith("\n\n"):
            there[-1].add(tomlkit.nl())
        elif not tomlkit.dumps(document).endswith("\n\n"):
            table.add(tomlkit.nl())
    add_table(document, name, table)
    return lines


def _append_action(
    document: TOMLDocument, said: dict[str, str], where: dict[str, Any], done: bool
) -> list[str]:
    entry = {**said, **({"done": said["date"]} if done else {})}
    return _append(document, "action", entry, where)


def _whole(value: Any) -> Any:
    """Write a stroke number as it is counted, whatever library handed it over."""
    if isinstance(value, str):
        return value
    number = float(value)
    return int(number) if number.is_integer() else number
