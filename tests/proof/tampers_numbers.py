"""Single changes of workbook and results.json."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Callable
from random import Random
from typing import Any

from tampers import BOOK, RESULTS, Files, change


def _parts(files: Files) -> list[tuple[zipfile.ZipInfo, bytes]]:
    with zipfile.ZipFile(io.BytesIO(files[BOOK])) as book:
        return [(item, book.read(item)) for item in book.infolist()]


def _pack(files: Files, parts: list[tuple[zipfile.ZipInfo | str, bytes]]) -> None:
    import warnings

    stream = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as book:
        warnings.simplefilter("ignore")
        for item, data in parts:
            name = item if isinstance(item, str) else item.filename
            info = zipfile.ZipInfo(name, (1980, 1, 31, 0, 0, 0))
            info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, 2172649472
            book.writestr(info, data)
    files[BOOK] = stream.getvalue()


def _sheet(
    files: Files, rng: Random, pattern: bytes, replace: Callable[[re.Match[bytes]], bytes]
) -> str:
    parts = _parts(files)
    fitting = [
        (i, m)
        for i, (item, data) in enumerate(parts)
        if item.filename.startswith("xl/worksheets/sheet")
        for m in re.finditer(pattern, data)
    ]
    i, spot = rng.choice(fitting)
    item, data = parts[i]
    parts[i] = (item, data[: spot.start()] + replace(spot) + data[spot.end() :])
    _pack(files, parts)
    return f"{item.filename}: {spot[0][:60]!r}"


@change("workbook")
def a_value(files: Files, rng: Random) -> str:
    return _sheet(
        files,
        rng,
        rb"<v>([^<]+)</v>",
        lambda m: (
            b"<v>%s</v>" % (m[1] + b"1" if b"." in m[1] else m[1] + b"9")
            if len(m[1]) < 12
            else b"<v>%.17g</v>" % (float(m[1]) * 1.001)
        ),
    )


@change("workbook")
def a_formula(files: Files, rng: Random) -> str:
    how = rng.randrange(4)

    def other(match: re.Match[bytes]) -> bytes:
        inside = match[1]
        return [
            b"<f>%s+1</f>" % inside,
            b"<f>%s*1</f>" % inside,
            b"<f>%s</f>" % re.sub(rb"\d+(?=[^\d]*$)", lambda m: b"%d" % (int(m[0]) + 1), inside),
            b"",
        ][how]

    return _sheet(files, rng, rb"<f>([^<]*\d[^<]*)</f>", other)


@change("workbook")
def looks_of_a_sheet(files: Files, rng: Random) -> str:
    how = rng.randrange(5)
    if how == 0:
        return _sheet(files, rng, rb"<cols>", lambda m: b'<cols><col min="1" max="9" hidden="1"/>')
    if how == 1:
        return _sheet(files, rng, rb'<row r="\d+"', lambda m: m[0] + b' hidden="1"')
    if how == 2:
        return _sheet(
            files,
            rng,
            rb"</sheetData>",
            lambda m: m[0] + b'<mergeCells count="1"><mergeCell ref="A1:B2"/></mergeCells>',
        )
    if how == 3:
        return _sheet(files, rng, rb'(<c r="[A-Z]+\d+")', lambda m: m[0] + b' s="2"')
    return _sheet(
        files, rng, rb'<c r="([A-Z]+)(\d+)"', lambda m: b'<c r="%s%d"' % (m[1], int(m[2]) + 1)
    )


@change("workbook")
def words(files: Files, rng: Random) -> str:
    parts = _parts(files)
    at = next(i for i, (item, _) in enumerate(parts) if item.filename == "xl/sharedStrings.xml")
    item, data = parts[at]
    spot = rng.choice(list(re.finditer(rb">([^<>]+)</t>", data)))
    parts[at] = (item, data[: spot.start(1)] + spot[1] + b"." + data[spot.end(1) :])
    _pack(files, parts)
    return repr(spot[1][:40])


@change("workbook")
def a_part_more_or_less(files: Files, rng: Random) -> str:
    parts: list[Any] = _parts(files)
    how = rng.randrange(4)
    at = rng.randrange(len(parts))
    if how == 0:
        parts.pop(at)
    elif how == 1:
        name = rng.choice(
            [
                "xl/vbaProject.bin",
                "xl/comments1.xml",
                "customXml/item1.xml",
                "x.txt",
                "xl/externalLinks/externalLink1.xml",
            ]
        )
        parts.insert(at, (name, b"<x/>"))
    elif how == 2:
        # The false one first or last: programs differ in which they read.
        item, data = parts[at]
        parts.insert(rng.choice([0, len(parts)]), (item.filename, data.replace(b"1", b"2")))
    else:
        a, b = rng.sample(range(len(parts)), 2)
        parts[a], parts[b] = parts[b], parts[a]
    _pack(files, parts)
    return f"kind {how}, part {at}"


@change("workbook")
def any_byte_of_a_part(files: Files, rng: Random) -> str:
    parts = _parts(files)
    at = rng.randrange(len(parts))
    item, data = parts[at]
    here = rng.randrange(len(data))
    parts[at] = (item, data[:here] + bytes([data[here] ^ 2]) + data[here + 1 :])
    # A last digit of the seventeen that a double is written with is none that a program can tell.
    _pack(files, parts)
    number = re.search(rb"\d+\.\d{10,}$", data[:here])
    if number:
        return any_byte_of_a_part(files, rng)
    return f"{item.filename} byte {here}"


@change("workbook")
def what_a_zip_carries_beside(files: Files, rng: Random) -> str:
    how = rng.randrange(4)
    data = files[BOOK]
    if how == 0:
        stream = io.BytesIO(data)
        with zipfile.ZipFile(stream, "a") as book:
            book.comment = b"meets"
        files[BOOK] = stream.getvalue()
    elif how == 1:
        files[BOOK] = b"meets" + data
    elif how == 2:
        files[BOOK] = data + b"meets"
    else:
        files[BOOK] = data[: -rng.randrange(1, 200)]
    return str(how)


def _leaves(tree: Any, path: tuple = ()) -> list[tuple]:
    if isinstance(tree, dict):
        return [leaf for key, value in tree.items() for leaf in _leaves(value, (*path, key))]
    if isinstance(tree, list):
        return [leaf for i, value in enumerate(tree) for leaf in _leaves(value, (*path, i))]
    return [path]


def _dump(files: Files, tree: Any) -> None:
    text = json.dumps(tree, sort_keys=True, indent=1, ensure_ascii=False) + "\n"
    files[RESULTS] = text.encode()


def _inner(files: Files, rng: Random) -> tuple[Any, Any, Any]:
    """The whole tree, a table in it and one of its keys."""
    tree = json.loads(files[RESULTS])
    place = rng.choice(list(_leaves(tree)))
    branch = tree
    for key in place[:-1]:
        branch = branch[key]
    return tree, branch, place[-1]


@change("results")
def a_number(files: Files, rng: Random) -> str:
    while True:
        tree, branch, key = _inner(files, rng)
        value = branch[key]
        # What is nought but for rounding has a tolerance of its own, in which nobody sees a change.
        seen = isinstance(value, int) or (isinstance(value, float) and not 0 < abs(value) < 1e-9)
        if seen and not isinstance(value, bool):
            break
    by = rng.choice([1e-5, 1e-3, 0.02, -0.5])
    branch[key] = value + 1 if isinstance(value, int) else (value * (1 + by) if value else 0.001)
    _dump(files, tree)
    return f"{key}: {value!r} becomes {branch[key]!r}"


@change("results")
def a_word(files: Files, rng: Random) -> str:
    while True:
        tree, branch, key = _inner(files, rng)
        if isinstance(branch[key], str | bool | None.__class__):
            break
    value = branch[key]
    branch[key] = (not value) if isinstance(value, bool) else f"{value or ''}."
    _dump(files, tree)
    return f"{key}: {str(value)[:40]!r}"


@change("results")
def a_digit_in_words(files: Files, rng: Random) -> str:
    while True:
        tree, branch, key = _inner(files, rng)
        if isinstance(branch[key], str) and re.search(r"\d", branch[key]):
            break
    text = branch[key]
    at = rng.choice([m.start() for m in re.finditer(r"\d", text)])
    branch[key] = text[:at] + str((int(text[at]) + 1) % 10) + text[at + 1 :]
    _dump(files, tree)
    return f"{key}: {text[:60]!r}"


@change("results")
def a_key_more_less_other(files: Files, rng: Random) -> str:
    tree, branch, key = _inner(files, rng)
    how = rng.randrange(3)
    if isinstance(branch, list):
        if how == 0:
            branch.append(branch[key])
        elif how == 1:
            branch.pop(key)
        else:
            branch[key] = [branch[key]]
    elif how == 0:
        branch["approved"] = rng.choice([True, "by the customer", 1.0])
    elif how == 1:
        del branch[key]
    else:
        branch[f"{key}_"] = branch.pop(key)
    _dump(files, tree)
    return f"kind {how} at {key}"


@change("results")
def a_key_twice(files: Files, rng: Random) -> str:
    lines = files[RESULTS].decode().split("\n")
    spots = [i for i, line in enumerate(lines) if re.fullmatch(r' +"[^"]+": [^\[{]+,', line)]
    at = rng.choice(spots)
    false = re.sub(r": .*,", ": 9.99,", lines[at])
    lines.insert(at + rng.randrange(2), false)
    files[RESULTS] = "\n".join(lines).encode()
    return false.strip()


@change("results")
def the_same_written_otherwise(files: Files, rng: Random) -> str:
    tree = json.loads(files[RESULTS])
    how = rng.randrange(6)
    text = files[RESULTS].decode()
    if how == 0:
        text = json.dumps(tree)
    elif how == 1:
        text = json.dumps(dict(reversed(tree.items())), indent=1, ensure_ascii=False) + "\n"
    elif how == 2:
        spot = rng.choice(list(re.finditer(r": (\d+\.\d+)", text)))
        text = text[: spot.end()] + "0" + text[spot.end() :]
    elif how == 3:
        text = "\ufeff" + text
    elif how == 4:
        text = text + " " * rng.randrange(1, 9)
    else:
        spot = rng.choice(list(re.finditer(r'"[a-z]{3,}"', text)))
        text = (
            text[: spot.start() + 1]
            + f"\\u{ord(text[spot.start() + 1]):04x}"
            + text[spot.start() + 2 :]
        )
    files[RESULTS] = text.encode()
    return str(how)


@change("results")
def another_kind_of_value(files: Files, rng: Random) -> str:
    tree, branch, key = _inner(files, rng)
    value = branch[key]
    branch[key] = {
        int: lambda: float(value),
        float: lambda: str(value),
        str: lambda: None,
        bool: lambda: int(value),
        type(None): lambda: False,
    }[type(value)]()
    _dump(files, tree)
    return f"{key}: {value!r} becomes {branch[key]!r}"[:120]


@change("results")
def tolerances_widened(files: Files, rng: Random) -> str:
    tree = json.loads(files[RESULTS])
    tree["tolerances"]["searched"]["relative"] = 0.5
    capability = tree["characteristics"]["width"]["capability"]
    by = 1 + rng.uniform(0.001, 0.2)
    capability["Ppk"]["estimate"] *= by
    _dump(files, tree)
    return f"and Ppk times {by:.3f}"
