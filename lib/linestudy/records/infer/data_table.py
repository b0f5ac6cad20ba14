"""Infer the [[data]] table of a file that nobody has described yet, with the evidence for each line."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.text_table import TextTable
    from linestudy.study.model import Data

_SENTINELS = frozenset(
    [
        "NA",
        "N/A",
        "na",
        "n/a",
        "nan",
        "NaN",
        "null",
        "NULL",
        "none",
        "None",
        "-",
        "--",
        "---",
        "?",
        "ERR",
        "ERROR",
        "error",
        "#N/A",
        "#VALUE!",
        "OVER",
        "UNDER",
        "----",
        "***",
        "NO_READ",
        "noread",
    ]
)
_VERDICTS = frozenset(
    [
        "ok",
        "nok",
        "ng",
        "good",
        "bad",
        "pass",
        "fail",
        "passed",
        "failed",
        "accept",
        "accepted",
        "reject",
        "rejected",
        "io",
        "nio",
        "i.o.",
        "n.i.o.",
        "purged",
        "scrap",
        "gut",
        "schlecht",
        "go",
        "nogo",
    ]
)
_TIMES = (
    "ISO8601",
    "%d.%m.%Y %H:%M:%S",
    "%d.%m.%Y %H:%M",
    "%m/%d/%Y %H:%M:%S",
    "%d/%m/%Y %H:%M:%S",
    "%d.%m.%Y",
)
_COMMA = re.compile(
    r"\s*[-+]?(?:\d+|\d{1,3}(?:[.' \u00a0\u202f]\d{3})+),\d+\s*(?:[A-Za-zµμ]{1,4})?"
)
_GROUPS = {
    ".": re.compile(r"\s*[-+]?\d{1,3}(?:\.\d{3})+,\d+\s*(?:[A-Za-zµμ]{1,4})?"),
    ",": re.compile(r"\s*[-+]?\d{1,3}(?:,\d{3})+\.\d+\s*(?:[A-Za-zµμ]{1,4})?"),
    "'": re.compile(r"\s*[-+]?\d{1,3}(?:'\d{3})+[.,]?\d*\s*(?:[A-Za-zµμ]{1,4})?"),
    " ": re.compile(r"\s*[-+]?\d{1,3}(?:[ \u00a0\u202f]\d{3})+[.,]?\d*\s*(?:[A-Za-zµμ]{1,4})?"),
}


def infer_data_table(path: str | Path) -> str:
    """Infer a [[data]] table for an unknown file, with the evidence for each line.

    Parameters
    ----------
    path : str or pathlib.Path
        csv, tsv or text (also gz or zip), parquet, xlsx, or QIF.

    Returns
    -------
    str
        TOML, ready to paste and edit: proposals are guesses, and say why.

    Raises
    ------
    InputError
        The file cannot be read as a table.

    See Also
    --------
    linestudy.read : Read the files of a study once they are described.

    Notes
    -----
    Delimiter and header are those on which most of the first lines agree; a column of whole numbers that
    nearly always rise is the order; text that parses as times the clock; few different words with one of
    a verdict among them the verdict; repeated nines far from all others, and words for none, are marks of
    no reading. Common practice, no source. It misleads where a column happens to look like another
    (a counter that rises may be a batch number), so every line carries its evidence.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "log.csv"
    >>> _ = file.write_text("Part;Width\\n1;2,801\\n2;2,799\\n")
    >>> print(infer_data_table(file).splitlines()[3])
    decimal = ","   # 2 of 2 cells in "Width" have a comma
    """
    from linestudy.records.files import locate
    from linestudy.records.text_table import read_text_table
    from linestudy.study.model import Data

    file = Path(path)
    folder = file.parent
    # A proposal asks for no column by name; the model wants one, so it is taken out again.
    data = Data(role="run", file=file.name, columns={"x": "x"}).model_copy(update={"columns": {}})
    found = locate(folder, file.name)
    lines = ["[[data]]", f"file = {_toml('data/' + file.name)}"]
    written = _written(found, data)
    lines += written.lines
    table = read_text_table(found, written.data)
    if len(table.cells) == 0:
        raise InputError(file.name, "has a header but no rows", "give a file with data")
    lines += _numbers_written(table)
    lines += _meanings(table, written.data)
    return "\n".join(lines)


class _Written:
    """How a file is written: the settings found, and their lines with evidence."""

    def __init__(self, data: Data) -> None:
        self.data = data
        self.lines: list[str] = []


def _written(path: Path, data: Data) -> _Written:
    from linestudy.records.files import content
    from linestudy.records.formats.delimited import decoded, encoding_of

    result = _Written(data)
    raw, suffix = content(path, data)
    if suffix in (".parquet", ".qif", ".xml", ".xlsx", ".xlsm"):
        return result
    encoding = encoding_of(raw)
    if encoding != "utf-8-sig":
        why = "its bytes are no UTF-8" if encoding[:3] != "utf" else "byte-order mark or zero bytes"
        result.lines.append(f'encoding = "{encoding}"   # {why}')
    lines = decoded(raw, data).split("\n", 400)[:400]
    row, mark, fields = _shape(lines)
    if mark is not None:
        shown = "\\t" if mark == "\t" else mark
        result.lines.append(
            f'delimiter = "{shown}"   # gives {fields} fields in most of the first {len(lines)} lines'
        )
    if row:
        result.lines.append(
            f"header_row = {row + 1}   # the first line with {fields} fields and no number"
        )
    result.data = data.model_copy(update={"delimiter": mark, "header_row": row + 1})
    return result


def _shape(lines: list[str]) -> tuple[int, str | None, int]:
    """Header row, delimiter and number of fields that most lines agree on."""
    from linestudy.records.headers import DELIMITERS, split_line

    filled = [(i, line) for i, line in enumerate(lines) if line.strip()]
    best: tuple[int, int, str | None, int] = (0, 0, None, 1)
    for mark in DELIMITERS:
        counts = Counter(len(split_line(line, mark)) for _, line in filled)
        fields, times = max(counts.items(), key=lambda item: (item[0] > 1, item[1], item[0]))
        if fields > 1 and times * fields > best[0]:
            row = _header_among([(i, split_line(line, mark)) for i, line in filled], fields)
            best = (times * fields, row, mark, fields)
    row = best[1] if best[2] else (filled[0][0] if filled else 0)
    return row, best[2], best[3]


def _header_among(lines: list[tuple[int, list[str]]], fields: int) -> int:
    """The first line that names most columns; a title padded with delimiters names but one."""
    wide = [(i, cells) for i, cells in lines if len(cells) == fields]
    for i, cells in wide:
        if sum(1 for cell in cells if cell) > fields / 2:
            return i
    return wide[0][0] if wide else lines[-1][0]


def _toml(text: str) -> str:
    """A basic TOML string; text from a file may hold anything."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'


def _note(text: str) -> str:
    return "".join(c if c.isprintable() else "�" for c in text)[:160]


def _matching(cells: pd.Series, pattern: re.Pattern[str]) -> int:
    return sum(pattern.fullmatch(cell) is not None for cell in cells.head(5000).tolist())


def _numbers_written(table: TextTable) -> list[str]:
    lines = []
    cells = table.cells
    n = min(len(cells), 5000)
    comma = [(name, _matching(cells[name], _COMMA)) for name in cells]
    grouped = {
        mark: max(((_matching(cells[name], rule), name) for name in cells), key=lambda t: t[0])
        for mark, rule in _GROUPS.items()
    }
    counts = [item for item in comma if item[1]]
    if counts and not grouped[","][0]:
        name, count = max(counts, key=lambda item: item[1])
        lines.append(f'decimal = ","   # {count} of {n} cells in "{_note(str(name))}" have a comma')
    for mark, (count, name) in grouped.items():
        if count:
            lines.append(
                f'thousands = "{mark}"   # {count} of {n} cells in "{_note(str(name))}" group digits so'
            )
            break
    if table.units:
        units = sorted(set(table.units.values()))
        evidence = f"the row of units below the header: {', '.join(units)}"
        lines.append(f'unit = "{units[0]}"   # {evidence}')
    for reason, rows in table.set_aside.items():
        lines.append(f"# {rows} {reason}: counted in the ledger, not used")
    return lines


def _numeric(cells: pd.Series) -> pd.Series:
    """Cells as numbers whatever the decimal mark, without units; NaN for other text."""
    import pandas as pd

    plain = cells.str.strip().str.replace(r"\s*[A-Za-zµμ\"]{1,6}$", "", regex=True)
    plain = plain.str.replace(r"(?<=\d)['\s](?=\d{3})", "", regex=True)
    swapped = plain.str.replace(".", "", regex=False).str.replace(",", ".", regex=False)
    dotted = pd.to_numeric(plain.str.replace(r",(?=\d{3}\b.*\.)", "", regex=True), errors="coerce")
    return dotted.fillna(pd.to_numeric(swapped, errors="coerce"))


def _meanings(table: TextTable, data: Data) -> list[str]:
    """Which column is what: order, time, verdict, tags, values, sentinels."""
    import pandas as pd

    frame = table.cells.head(20_000)
    n = len(frame)
    cells = {str(name): frame[name] for name in frame}
    numbers = {name: _numeric(cells[name]) for name in cells}
    share = {name: float(numbers[name].notna().mean()) for name in cells}
    lines: list[str] = []
    taken: set[str] = set()
    if set(cells) >= {"characteristic", "actual", "status"} and data.file[-4:].lower() in (
        ".qif",
        ".xml",
    ):
        lines.append(
            'long = { characteristic = "characteristic", value = "actual" }   # QIF results'
        )
        return [*lines, 'role = "run"   # or crossed, nested, reference, drift, paired']
    for name in cells:
        values = numbers[name]
        if share[name] > 0.99 and n > 1:
            rising = float((values.diff().iloc[1:] > 0).mean())
            if rising > 0.95 and bool((values.dropna() % 1 == 0).all()):
                lines.append(
                    f"order = {_toml(name)}   # whole numbers, {rising:.0%} of them above the one before"
                )
                taken.add(name)
                break
    for name in cells:
        if name in taken or share[name] > 0.5:
            continue
        for layout in _TIMES:
            times = pd.to_datetime(cells[name], format=layout, errors="coerce", utc=True)
            if times.notna().mean() > 0.9:
                lines.append(
                    f"time = {_toml(name)}   # {times.notna().mean():.0%} of its cells are times"
                )
                if layout != "ISO8601":
                    lines.append(f'time_format = "{layout}"   # how they are written')
                taken.add(name)
                break
        if name in taken:
            continue
        entries = Counter(cells[name].str.strip().tolist())
        if 1 <= len(entries) <= 8:
            words = ", ".join(_note(word) for word in sorted(entries))
            if {word.lower() for word in entries} & _VERDICTS:
                lines.append(f"verdict = {_toml(name)}   # its entries: {words}")
            else:
                lines.append(
                    f"# station, coil or appraiser = {_toml(name)} ?   # its entries: {words}"
                )
            taken.add(name)
    columns = [name for name in cells if name not in taken and share[name] > 0.5]
    mapping = ", ".join(f"CHARACTERISTIC_{i + 1} = {_toml(name)}" for i, name in enumerate(columns))
    lines.append(f"columns = {{ {mapping} }}   # columns of numbers; put your characteristic ids")
    lines += _sentinels(cells, columns, numbers)
    lines.append('role = "run"   # or crossed, nested, reference, drift, paired, attribute, bins')
    return lines


def _sentinels(
    cells: dict[str, pd.Series], values: list[str], numbers: dict[str, pd.Series]
) -> list[str]:
    """Cells that look like "no reading": words, and repeated numbers of nines far from all others."""
    marks: Counter[str] = Counter()
    for name in values:
        text = cells[name].str.strip()
        odd = text[numbers[name].isna()]
        marks.update(mark for mark in odd if mark == "" or mark in _SENTINELS)
        middle = numbers[name].median()
        spread = float(numbers[name].quantile(0.9) - numbers[name].quantile(0.1))
        for mark, count in Counter(text.tolist()).items():
            digits = mark.lstrip("-").replace(".", "").replace(",", "").rstrip("0")
            nines = len(digits) >= 2 and set(digits) == {"9"}
            try:
                far = abs(float(mark.replace(",", ".")) - middle) > 20 * max(spread, 1e-12)
            except ValueError:
                far = False
            if far and (nines or (digits == "" and count > 2)):
                marks[mark] += count
    if not marks:
        return []
    shown = ", ".join(_toml(mark) for mark in sorted(marks))
    evidence = ", ".join(
        f"{_note(mark) or 'empty'} {count} times" for mark, count in sorted(marks.items())
    )
    return [f"missing = [{shown}]   # look like no reading: {evidence}"]
