"""Infer the [[data]] table of a file that nobody has described yet, with the evidence for each line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from linestudy.records.infer.table_description import Description


def infer_data_table(path: str | Path) -> str:
    """Infer the [[data]] tables of an unknown file, with the evidence for each line.

    Parameters
    ----------
    path : str or pathlib.Path
        csv, tsv or text (also gz or zip), JSON lines, parquet, a workbook, or QIF.

    Returns
    -------
    str
        TOML, ready to paste and edit: proposals are guesses, and say why. One table for each sheet and block; of
        a list of characteristics a [[characteristic]] table for each.

    Raises
    ------
    InputError
        The file cannot be read as a table.

    See Also
    --------
    linestudy.read : Read the files of a study once they are described.

    Notes
    -----
    Delimiter and header are those on which most of the first lines agree. The role is recognised by names of
    columns (in English, German, French, Chinese, Japanese), by what is in them and by how columns go together;
    a column of whole numbers that nearly always rise is the order; text that parses as times the clock; few
    different words with one of a verdict among them the verdict; repeated nines far from all others, and
    words for none, are marks of no reading. Common practice, no source. It misleads where a column happens to
    look like another (a counter that rises may be a batch number), so every line carries its evidence.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "log.csv"
    >>> _ = file.write_text("Part;Width\\n1;2,801\\n2;2,799\\n")
    >>> print(infer_data_table(file).splitlines()[3])
    decimal = ","   # 2 of 2 cells in "Width" have a comma
    """
    from linestudy.records.infer.table_description import describe

    described = describe(path)
    return "\n\n".join(data_table(item, Path(path)) for item in described)


def data_table(item: Description, path: Path) -> str:
    """Write one table of a file as TOML with its evidence.

    Parameters
    ----------
    item : Description
    path : pathlib.Path
        Of the file.

    Returns
    -------
    str
    """
    if item.role == "drawing":
        return _drawing(item, path)
    lines = [f"# {item.title}"] if item.title else []
    lines += ["[[data]]", f"file = {toml('data/' + item.file)}"]
    written = [key for key in item.keys if key[0] not in ("missing",)]
    lines += [f"{key} = {toml(value)}   # {note(why)}" for key, value, why in written]
    lines += [f"# {note(remark)}" for remark in item.remarks]
    if item.readings:
        columns = {f"CHARACTERISTIC_{i}": r.source for i, r in enumerate(item.readings, start=1)}
        lines.append(
            f"columns = {toml(columns)}   # columns of numbers; put your characteristic ids"
        )
    lines += [
        f"{key} = {toml(value)}   # {note(why)}"
        for key, value, why in item.keys
        if key == "missing"
    ]
    lines += [f"# {note(each)}" for each in item.open]
    if not item.readings and not {"long", "judgement", "layout", "accepted"} & {
        key for key, _, _ in item.keys
    }:
        lines.append(
            "# no column of readings was recognised: name it in columns, or give the file as csv or xlsx"
        )
    if item.role in ("attribute",):
        lines.append('characteristic = "CHARACTERISTIC_1"   # put its id')
    others = "or run, machine, crossed, nested, reference, drift, paired, attribute, bins, layout"
    lines.append(f"role = {toml(item.role)}   # {note(item.why)}; {others}")
    return "\n".join(lines)


def _drawing(item: Description, path: Path) -> str:
    from linestudy.records.infer.drawings.drawing import read_drawing

    lines = [f"# {item.file}: {item.why}"]
    taken: set[str] = set()
    for drawn in read_drawing(path, item.key("sheet")):
        own = identifier(drawn.name, taken)
        taken.add(own)
        lines += [
            "[[characteristic]]",
            f"id = {toml(own)}",
            f"name = {toml(drawn.name)}",
        ]
        numbers = {"nominal": drawn.nominal, "lower": drawn.lower, "upper": drawn.upper}
        if drawn.unit:
            lines.append(f"unit = {toml(drawn.unit)}")
        lines += [f"{key} = {number!r}" for key, number in numbers.items() if number is not None]
        if drawn.special:
            lines.append("special = true")
        beside = [f"gauge {note(drawn.gauge)}"] if drawn.gauge else []
        beside += [note(drawn.remark)] if drawn.remark else []
        lines.append(", ".join([f"# line {drawn.line}", *beside]))
    return "\n".join(lines)


#: Names of tags, which no characteristic may bear: a table would have two columns of one name.
_TAGS = frozenset([
    "order", "time", "station", "coil", "stop", "image", "reason", "part", "appraiser", "trial", "factor", "verdict",
    "accepted", "subgroup", "set_aside", "reference", "reference_uncertainty", "occasion",
])  # fmt: skip


def identifier(name: str, taken: set[str] | frozenset[str] = frozenset()) -> str:
    """Make an id of a name: a letter first, then letters, digits and underscores.

    Parameters
    ----------
    name : str
    taken : set of str
        Ids that are used already.

    Returns
    -------
    str
    """
    import re
    import unicodedata

    spelt = name.replace("ß", "ss").replace("µ", "u")
    plain = unicodedata.normalize("NFKD", spelt).encode("ascii", "ignore").decode()
    words = re.sub(r"[^A-Za-z0-9]+", "_", plain).strip("_").lower()
    base = (words if words[:1].isalpha() else f"c_{words}" if words else "characteristic")[:40]
    found, number = f"{base}_value" if base in _TAGS else base, 2
    while found in taken:
        found, number = f"{base}_{number}", number + 1
    return found


def toml(value: Any) -> str:
    """Write a value as TOML on one line; text from a file may hold anything.

    Parameters
    ----------
    value : str, number, bool, list or dict

    Returns
    -------
    str
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        inner = ", ".join(f"{_key(str(key))} = {toml(each)}" for key, each in value.items())
        return f"{{ {inner} }}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml(each) for each in value) + "]"
    if isinstance(value, int | float):
        return repr(value)
    text = str(value)
    if text == "\t":
        return '"\\t"'
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(_shown(c) for c in escaped) + '"'


def _shown(sign: str) -> str:
    if sign.isprintable():
        return sign
    return f"\\u{ord(sign):04x}" if ord(sign) < 0x10000 else f"\\U{ord(sign):08x}"


def _key(name: str) -> str:
    plain = name.isascii() and name.replace("_", "").replace("-", "").isalnum()
    return name if plain else toml(name)


def note(text: str) -> str:
    """Shorten text from a file to one printable line for a comment."""
    return "".join(c if c.isprintable() else "�" for c in text)[:160]
