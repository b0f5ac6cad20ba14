"""The customer's form as it came: is it harmless, where do its names point, and how it is filled.

What could act on the reader's machine or reach out of the file is refused: macros, links to other files, embedded
objects, queries. What is filled is written as numbers and as text that never is a formula; every other part of the
workbook keeps its bytes.
"""

from __future__ import annotations

import datetime
import difflib
import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from linestudy.dossier.content.sheet import BLANK
from linestudy.dossier.forms.customer.cells import Worksheet, position, reference_of
from linestudy.dossier.forms.customer.names import (
    DATES,
    OF_CHARACTERISTIC,
    OF_STUDY,
    PER_CENT,
    Value,
    as_name,
)
from linestudy.dossier.forms.printable_text import printable
from linestudy.results import InputError

if TYPE_CHECKING:
    from linestudy.study.load import Study

#: Unpacked bytes and parts of a form, at most.
_MOST_BYTES, _MOST_PARTS = 60_000_000, 2_000
#: Parts of a workbook that no form needs, and what they are.
_REFUSED = (
    (r"vbaProject|vbaData|macrosheets/|dialogsheets/", "holds macros"),
    (r"externalLinks/", "refers to other workbooks"),
    (r"embeddings/|activeX/|ctrlProps/", "holds embedded objects or controls"),
    (r"connections\.xml|queryTables/|model/|customData/|webextensions/", "fetches data by itself"),
    (r"customUI/", "changes the program that opens it"),
)
_CALLS = re.compile(rb"\b(WEBSERVICE|RTD|CALL|REGISTER\.ID|EXEC|IMAGE|DDE)\s*\(", re.IGNORECASE)
#: What a part of a workbook holds as a formula: of cells, names, rules of input and of colour, charts.
_FORMULA = re.compile(rb"<(?:\w+:)?(?:f|formula[12]?|definedName)(?:\s[^<>]*)?>([^<]*)<")
_QUOTED = re.compile(rb'"[^"]*"|&quot;.*?&quot;')
#: Another file in brackets before a sheet or name ("[1]Sheet!A1"), or a program before a bar ("cmd|' /c'!A1").
_ELSEWHERE = re.compile(rb"\[[^\[\]]+\][^\[\]!,;()+*/&<>=\"]*!|\w\|('[^']*'|\w+)!")
_PLACE = re.compile(
    r"(?:'((?:[^']|'')+)'|([^'!]+))!(\$?[A-Za-z]{1,3}\$?\d{1,7})(?::(\$?[A-Za-z]{1,3}\$?\d{1,7}))?"
)
#: What a number format shows literally: words in quotes, a sign after a backslash, colours and conditions.
_WORDS = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_ID = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_STRICT = "http://purl.oclc.org/ooxml/"


@dataclass(frozen=True)
class Target:
    """One cell of the form and what goes into it.

    Attributes
    ----------
    sheet : str
        Title of its worksheet.
    cell : (int, int)
        Row and column.
    name : str
        One of the names on offer, as it is spelt there.
    where : str
        What says so: the defined name, or the key in study.toml.
    """

    sheet: str
    cell: tuple[int, int]
    name: str
    where: str


class Template:
    """A form, read and found harmless.

    Parameters
    ----------
    study : Study
        Whose ``[form]`` names it.

    Raises
    ------
    InputError
        The form is not there, is hostile, or cannot be filled as it asks.
    """

    def __init__(self, study: Study) -> None:
        form = study.file.form
        assert form is not None
        self.file = form.file
        self._parts, self._order = _opened(study.folder / form.file, form.file)
        self.sheets = self._titles()
        ids = [item.id for item in study.characteristics]
        self.targets = tuple(self._targets(form.cells, _names_of(ids, self.file)))
        if not self.targets:
            raise InputError(
                self.file,
                "has no defined name that is on offer, and [form] lists no cells",
                "name its cells (linestudy help form lists the names) or list them in [form]",
            )
        self._percentages = self._styles("%", (9, 10))
        self._dates = self._styles("[dy]", (14, 15, 16, 17, 22))
        self._worksheets = {title: self._worksheet(title) for title in self._titles_used()}
        for target in self.targets:
            if self._worksheets[target.sheet].holds_formula(*target.cell):
                raise InputError(
                    f"{self.file}, {target.sheet}!{reference_of(*target.cell)}",
                    "holds a formula, which would be lost",
                    f"point {target.where} to an empty cell",
                )

    def _titles_used(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(target.sheet for target in self.targets))

    def _root(self, name: str) -> ElementTree.Element:
        if name not in self._parts:
            raise InputError(
                self.file, f"lacks {name}", "save it anew as a workbook (.xlsx) and try again"
            )
        try:
            return ElementTree.fromstring(self._parts[name])
        except ElementTree.ParseError as error:
            raise InputError(
                f"{self.file}, {name}", f"cannot be read ({error})", "save it anew"
            ) from None

    def _titles(self) -> dict[str, str]:
        """Map each worksheet's title to its part, in order."""
        related = {
            item.get("Id"): item.get("Target", "")
            for item in self._root("xl/_rels/workbook.xml.rels")
        }
        root = self._root("xl/workbook.xml")
        if not root.tag.startswith(_MAIN):
            raise InputError(
                self.file,
                "is written in another variant of the format",
                "save it as an ordinary workbook (.xlsx)",
            )
        found = {}
        for item in root.iterfind(f"{_MAIN}sheets/{_MAIN}sheet"):
            target = related.get(item.get(_ID), "")
            part = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
            if part in self._parts and "worksheets/" in part:
                found[item.get("name", "")] = part
        return found

    def _styles(self, signs: str, known: Iterable[int]) -> set[int]:
        """Find the styles whose number format contains certain signs or is a known built-in one."""
        if "xl/styles.xml" not in self._parts:
            return set()
        root = self._root("xl/styles.xml")
        codes = {
            item.get("numFmtId")
            for item in root.iterfind(f"{_MAIN}numFmts/{_MAIN}numFmt")
            if re.search(signs, _WORDS.sub("", item.get("formatCode", "")), re.IGNORECASE)
        }
        codes |= {str(number) for number in known}
        formats = root.iterfind(f"{_MAIN}cellXfs/{_MAIN}xf")
        return {at for at, item in enumerate(formats) if item.get("numFmtId") in codes}

    def _day(self, text: str) -> Value:
        """Turn a date written as 2026-03-31 into this workbook's day number; keep other texts."""
        try:
            day = datetime.date.fromisoformat(text.strip())
        except ValueError:
            return text
        settings = self._root("xl/workbook.xml").find(f"{_MAIN}workbookPr")
        late = settings is not None and settings.get("date1904") in ("1", "true")
        first = datetime.date(1904, 1, 1) if late else datetime.date(1899, 12, 30)
        return float((day - first).days)

    def _targets(self, cells: Mapping[str, str], known: Mapping[str, str]) -> Iterator[Target]:
        """Yield the cells that defined names point to, then those that study.toml lists."""
        prefixes = {name.partition(".")[0] for name in known}
        for item in self._root("xl/workbook.xml").iterfind(
            f"{_MAIN}definedNames/{_MAIN}definedName"
        ):
            asked = item.get("name", "")
            if asked.lower().partition(".")[0] not in prefixes or "." not in asked:
                continue
            where = f'the name "{asked}"'
            name = _on_offer(asked, known, f"{self.file}, {where}")
            place = _PLACE.fullmatch((item.text or "").strip())
            if place is None:
                raise InputError(
                    f"{self.file}, {where}", "points to no single cell", "let it name one cell"
                )
            title = (place[1] or place[2]).replace("''", "'")
            yield self._target(title, place[3], place[4] or place[3], name, where)
        for key, asked in cells.items():
            where = f'"{key}" in [form]'
            title, _, cell = key.rpartition("!")
            title = title or next(iter(self.sheets), "")
            name = _on_offer(asked, known, f"study.toml, {where}")
            yield self._target(title.strip("'"), cell, cell, name, where)

    def _target(self, title: str, first: str, last: str, name: str, where: str) -> Target:
        if title not in self.sheets:
            close = difflib.get_close_matches(title, self.sheets, n=1, cutoff=0.4)
            raise InputError(
                f"{self.file}, {where}",
                f'there is no sheet "{title[:60]}"',
                f'did you mean "{close[0]}"?' if close else "name one of its sheets",
            )
        try:
            ends = position(first), position(last)
            cell = self._worksheet(title).anchor(*ends)
        except ValueError as error:
            raise InputError(f"{self.file}, {where}", str(error), "mend it") from None
        return Target(title, cell, name, where)

    def _worksheet(self, title: str) -> Worksheet:
        part = self.sheets[title]
        try:
            return Worksheet(self._parts[part])
        except ValueError as error:
            raise InputError(
                f'{self.file}, sheet "{title}"', str(error), "save the form anew"
            ) from None

    def fill(self, values: Mapping[str, Value], out: Path) -> None:
        """Write the form with its cells filled; what the study does not know stays as it came.

        Parameters
        ----------
        values : mapping of str to str or float
            Names on offer with their values; an empty text fills nothing.
        out : pathlib.Path
        """
        by_sheet: dict[str, dict[tuple[int, int], Value]] = {}
        for target in self.targets:
            value = values[target.name]
            style = self._worksheets[target.sheet].style_of(*target.cell)
            if isinstance(value, float) and target.name.rpartition(".")[2] in PER_CENT:
                value = value / 100 if style in self._percentages else value
            if isinstance(value, str) and target.name in DATES and style in self._dates:
                value = self._day(value)
            if value != "":
                shown = value if isinstance(value, float) or value == BLANK else printable(value)
                by_sheet.setdefault(target.sheet, {})[target.cell] = shown
        parts = dict(self._parts)
        for title, cells in by_sheet.items():
            parts[self.sheets[title]] = self._worksheets[title].filled(cells)
        parts["xl/workbook.xml"] = _computed_when_opened(parts["xl/workbook.xml"])
        with zipfile.ZipFile(out, "w") as book:
            for name in self._order:
                # A fixed date and system: the same content gives the same bytes.
                info = zipfile.ZipInfo(name)
                info.compress_type, info.create_system = zipfile.ZIP_DEFLATED, 3
                book.writestr(info, parts[name])


def _opened(path: Path, name: str) -> tuple[dict[str, bytes], list[str]]:
    """Read every part of a harmless workbook, and their order."""
    if not path.is_file():
        raise InputError(name, "there is no such file", "put the customer's form into the folder")
    try:
        with zipfile.ZipFile(path) as book:
            members = [item for item in book.infolist() if not item.is_dir()]
            _harmless(name, members)
            parts = {item.filename: book.read(item) for item in members}
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError) as error:
        # A workbook with a password is no zip; one whose members have one is a RuntimeError.
        raise InputError(
            name,
            f"cannot be read as a workbook ({type(error).__name__})",
            "save it as .xlsx without a password",
        ) from None
    _reaches_nowhere(name, parts)
    return parts, list(parts)


def _harmless(name: str, members: Iterable[zipfile.ZipInfo]) -> None:
    seen: set[str] = set()
    listed = list(members)
    if len(listed) > _MOST_PARTS or sum(item.file_size for item in listed) > _MOST_BYTES:
        raise InputError(name, "is too large to be a form", "give the form without other data")
    for item in listed:
        for pattern, why in _REFUSED:
            if re.search(pattern, item.filename, re.IGNORECASE):
                raise _hostile(name, why)
        path = PurePosixPath(item.filename)
        if item.filename.lower() in seen or path.is_absolute() or ".." in path.parts:
            raise _hostile(name, "holds parts in a way that no program writes")
        seen.add(item.filename.lower())


def _reaches_nowhere(name: str, parts: Mapping[str, bytes]) -> None:
    """Refuse what the list of parts does not show: their kinds, their relations, what formulas call."""
    for part, content in parts.items():
        if not part.endswith((".xml", ".rels")):
            continue
        if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
            raise _hostile(name, "declares a document type")
        if part == "[Content_Types].xml" and re.search(rb"macroEnabled|vba", content, re.I):
            raise _hostile(name, "holds macros")
        if part.endswith(".rels"):
            for tag in re.findall(rb"<[^<>]*Relationship\s[^<>]*>", content):
                outside = re.search(rb"TargetMode\s*=\s*[\"']External", tag, re.I)
                if outside and not re.search(rb"/hyperlink[\"']", tag):
                    raise _hostile(name, "refers to other files")
        if part.startswith("xl/") and b"<f" in content and _CALLS.search(content):
            raise _hostile(name, "has formulas that fetch or run something")
        if part.startswith("xl/"):
            formulas = (_QUOTED.sub(b"", found) for found in _FORMULA.findall(content))
            if any(_ELSEWHERE.search(formula) for formula in formulas):
                raise _hostile(name, "has formulas that refer to other files or programs")


def _hostile(name: str, why: str) -> InputError:
    return InputError(
        name, f"{why}, so it is not filled", "ask the customer for a form without that"
    )


def _names_of(ids: Iterable[str], file: str) -> dict[str, str]:
    """Map every name on offer in lower case to itself, because spreadsheets ignore letter case."""
    found: dict[str, str] = {}
    names = [f"study.{name}" for name in OF_STUDY]
    names += [f"{as_name(key)}.{name}" for key in ids for name in OF_CHARACTERISTIC]
    for name in names:
        if found.setdefault(name.lower(), name) != name or names.count(name) > 1:
            raise InputError(
                file,
                f'the name "{name}" would stand for two characteristics',
                "give ids that differ by more than letter case and hyphens",
            )
    return found


def _on_offer(asked: str, known: Mapping[str, str], where: str) -> str:
    found = known.get(asked.strip().lower()) or known.get(as_name(asked.strip().lower()))
    if found is None:
        close = difflib.get_close_matches(asked.lower(), known, n=1, cutoff=0.5)
        raise InputError(
            where,
            f'nothing is on offer under "{asked[:60]}"',
            f'did you mean "{known[close[0]]}"?' if close else "see linestudy help form",
        )
    return found


def _computed_when_opened(workbook: bytes) -> bytes:
    """Ask the program that opens the form to compute its own formulas anew."""
    tag = re.search(
        rb"<(?P<p>\w+:)?calcPr\b(?:[^<>\"']|\"[^\"]*\"|'[^']*')*?(?P<end>/?>)", workbook
    )
    if tag is not None:
        if b"fullCalcOnLoad" in tag[0]:
            new = re.sub(rb"fullCalcOnLoad\s*=\s*[\"'][^\"']*[\"']", b'fullCalcOnLoad="1"', tag[0])
        else:
            new = tag[0][: -len(tag["end"])].rstrip() + b' fullCalcOnLoad="1"' + tag["end"]
        return workbook[: tag.start()] + new + workbook[tag.end() :]
    ends = list(re.finditer(rb"</(\w+:)?(?:definedNames|sheets)>", workbook))
    if not ends:
        return workbook
    last = ends[-1]
    new = b"<" + (last[1] or b"") + b'calcPr fullCalcOnLoad="1"/>'
    return workbook[: last.end()] + new + workbook[last.end() :]
