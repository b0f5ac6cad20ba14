"""A form as people hand it in: quotes left out or curled, decimal commas, saved by another program in another encoding.

Only what is certain is mended: a line of the form whose value is no TOML is taken as text, a sentence that was wrapped is one line again, a
fault without its head gets one, and a line that a spreadsheet program put into quotes is taken out of them. All else stays as it is, and is reported where it cannot be read.
"""

from __future__ import annotations

import codecs
import json
import re
import tomllib

#: A line of the form that holds an answer.
_ANSWER = re.compile(
    r"\s*(student|decision|reason|kind|about|where|number|ask)\s*[=:]\s*(.*?)\s*", re.IGNORECASE
)
#: The head of a table, whatever its letters and however many brackets a fault got.
_HEAD = re.compile(
    r"\s*\[+\s*(?:(decision)\s*\.\s*(\w+)|(fault)s?)\s*\]*\s*(?:#.*)?", re.IGNORECASE
)
_FAULT = "[[fault]]"
#: Quotes of the languages that people write in.
_QUOTES = "\"'“”„‟«»‘’‚`"
#: An answer in quotes, with a comma or a remark behind it or none.
_QUOTED = re.compile(rf"[{_QUOTES}](.*?)[{_QUOTES}]\s*[,;]?\s*(?:#.*)?")
#: An answer whose quotes are not closed on its line, as where an editor has wrapped a sentence.
_OPEN = re.compile(rf"\s*reason\s*[=:]\s*[{_QUOTES}][^{_QUOTES}]*", re.IGNORECASE)
#: A remark behind an answer.
_REMARK = re.compile(r"(?:^|\s)#.*$")


def as_toml(raw: bytes) -> str:
    """Read a form that was handed in as the TOML that was meant.

    Parameters
    ----------
    raw : bytes
        The file.

    Returns
    -------
    str

    Examples
    --------
    >>> as_toml(b"decision = meets")
    'decision = "meets"'
    """
    lines = [_line(line) for line in _unwrapped(_decoded(raw).splitlines())]
    return "\n".join(_with_heads(lines))


def _unwrapped(lines: list[str]) -> list[str]:
    """Join the lines of a sentence that an editor had wrapped."""
    found: list[str] = []
    for line in lines:
        goes_on = bool(found) and _OPEN.fullmatch(found[-1]) is not None
        if goes_on and not (_ANSWER.fullmatch(line) or line.lstrip().startswith(("[", "#"))):
            found[-1] = f"{found[-1].rstrip()} {line.strip()}"
        else:
            found.append(line)
    return found


def _with_heads(lines: list[str]) -> list[str]:
    """Put a head before each fault that has none: it was copied without, or is a comment still."""
    found, expected = [], False
    for line in lines:
        if line.lstrip().startswith("["):
            expected = line == _FAULT
        elif line.split("=")[0].strip() == "kind":
            if not expected:
                found.append(_FAULT)
            expected = False
        found.append(line)
    return found


def _decoded(raw: bytes) -> str:
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        # An editor of a western Windows.
        return raw.decode("cp1252", errors="replace")


def _line(line: str) -> str:
    line = _out_of_its_cell(line)
    head = _HEAD.fullmatch(line)
    if head is not None:
        return f"[decision.{head[2].lower()}]" if head[1] else _FAULT
    found = _ANSWER.fullmatch(line)
    if found is None or (_is_toml(line) and line.strip().startswith(found[1].lower())):
        return line
    key, value = found[1].lower(), found[2]
    quoted = _QUOTED.fullmatch(value)
    value = quoted[1] if quoted else _REMARK.sub("", value)
    return f"{key} = {json.dumps(value.strip(_QUOTES + ' '), ensure_ascii=False)}"


def _out_of_its_cell(line: str) -> str:
    """Restore a line that a spreadsheet program saved as a cell: quotes doubled, blank cells behind it."""
    cell = line.strip().rstrip(";,\t")
    if len(cell) > 1 and cell[0] == cell[-1] == '"':
        return cell[1:-1].replace('""', '"')
    return cell if cell.startswith(("[", "#")) or not cell else line


def _is_toml(line: str) -> bool:
    try:
        tomllib.loads(line)
    except tomllib.TOMLDecodeError:
        return False
    return True
