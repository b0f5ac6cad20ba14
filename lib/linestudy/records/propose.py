"""Look into a file that nobody has described yet and propose its [[data]] table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.core import InputError

if TYPE_CHECKING:
    import pandas as pd

_SENTINELS = ("", "NA", "N/A", "null", "none", "-", "--", "?", "9999", "-9999", "99.999", "999.999")


def propose(path: str | Path) -> str:
    """A [[data]] table for an unknown file, with the evidence for each line.

    Parameters
    ----------
    path : str or pathlib.Path
        csv, csv.gz, tsv or parquet.

    Returns
    -------
    str
        TOML, ready to paste and edit: proposals are guesses, and say why.

    Raises
    ------
    InputError
        The file cannot be read as a table.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "log.csv"
    >>> _ = file.write_text("Part;Width\\n1;2,801\\n2;2,799\\n")
    >>> print(propose(file).splitlines()[3])
    decimal = ","          # 2 of 2 values in "Width" have a comma
    """
    from linestudy.records.files import _delimiter, locate, read_text_table
    from linestudy.study.model import Data

    file = Path(path)
    data = Data(role="run", file=file.name, columns={"x": "x"})
    table = read_text_table(locate(file.parent, file.name), data)
    if len(table) == 0:
        raise InputError(file.name, "has a header but no rows", "give a file with data")
    lines = ["[[data]]", f'file = "data/{file.name}"']
    if file.suffix != ".parquet":
        header = _header_line(file)
        mark = _delimiter(header)
        shown = "\\t" if mark == "\t" else mark
        lines.append(
            f'delimiter = "{shown}"         # stands {header.count(mark)} times in the header'
        )
    numeric = {name: _numeric_share(table[name]) for name in table.columns}
    commas = [name for name in table if _with_comma(table[name]) > 0]
    if commas:
        lines.append(
            f'decimal = ","          # {_with_comma(table[commas[0]])} of {len(table)} values '
            f'in "{commas[0]}" have a comma'
        )
    lines += _roles(table, numeric)
    return "\n".join(lines)


def _header_line(file: Path) -> str:
    import gzip

    opener = gzip.open if file.suffix == ".gz" else open
    with opener(file, "rb") as stream:
        raw = stream.readline(1_000_000)
    for encoding in ("utf-8-sig", "utf-16", "cp1252"):
        try:
            return str(raw.decode(encoding))
        except UnicodeDecodeError:
            continue
    return ""


def _with_comma(cells: pd.Series) -> int:
    return int(cells.str.fullmatch(r"\s*[-+]?\d+,\d+\s*").sum())


def _numeric_share(cells: pd.Series) -> float:
    import pandas as pd

    numbers = pd.to_numeric(cells.str.replace(",", ".", regex=False), errors="coerce")
    return float(numbers.notna().mean())


def _roles(table: pd.DataFrame, numeric: dict[str, float]) -> list[str]:
    import pandas as pd

    lines, taken = [], set()
    for name in table:
        cells = table[name]
        if numeric[name] > 0.99:
            numbers = pd.to_numeric(cells, errors="coerce")
            whole = bool((numbers.dropna() % 1 == 0).all())
            if whole and numbers.nunique() > 0.9 * len(table) and numbers.is_monotonic_increasing:
                lines.append(f'order = "{name}"   # whole numbers that rise from row to row')
                taken.add(name)
                break
    for name in table:
        cells = table[name]
        if name in taken or numeric[name] > 0.5:
            continue
        times = pd.to_datetime(cells, format="ISO8601", errors="coerce")
        if times.notna().mean() > 0.9:
            lines.append(
                f'time = "{name}"   # {times.notna().mean():.0%} of its cells read as times'
            )
            taken.add(name)
        elif 2 <= cells.nunique() <= 6:
            words = ", ".join(sorted(cells.unique())[:6])
            lines.append(f'# verdict, station or appraiser = "{name}"? its entries: {words}')
            taken.add(name)
    values = [name for name in table if name not in taken and numeric[name] > 0.5]
    mapping = ", ".join(f'CHARACTERISTIC_{i + 1} = "{name}"' for i, name in enumerate(values))
    lines.append(f"columns = {{ {mapping} }}   # columns of numbers; put your characteristic ids")
    found = {
        mark for name in values for mark in _SENTINELS if (table[name].str.strip() == mark).any()
    }
    if found:
        marks = ", ".join(f'"{mark}"' for mark in sorted(found))
        lines.append(f"missing = [{marks}]   # cells that look like no reading")
    lines.append('role = "run"   # or crossed, nested, reference, drift, paired, attribute, bins')
    return lines
