"""Nominals and limits given above a table, below its readings, or in a legend beside them.

Maximum and minimum below readings, or above them, are those of the readings, and no limits.
"""

from __future__ import annotations

import itertools
import re
from typing import TYPE_CHECKING

from linestudy.records.across.specs import spec_of
from linestudy.records.cells.limit_words import said_of_limits
from linestudy.records.formats.stacked_tables import is_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

#: What a word alone may say of limits, and the key that is meant.
_KEYS = {"nominal": "nominal", "lower limit": "lower", "upper limit": "upper"}
#: What is said of the known value of a master, and of nothing on a drawing.
_KNOWN = frozenset([
    "reference", "reference value", "ref value", "ref. value", "master value", "true value", "certified value", "xm", "xref", "referenz", "referenzwert",
    "istwert des normals", "normalwert", "kalibrierwert", "valeur de référence", "valeur étalon", "valor de referencia", "valor de referência",
    "valore di riferimento", "referenční hodnota", "wartość odniesienia", "referenciaérték", "referanswaarde", "referentiewaarde", "基准值", "标准值",
    "参考值", "基準値", "真値", "参照値", "기준값",
])  # fmt: skip
#: Words that say an extreme of the readings as well as a limit.
_EXTREMES = re.compile(
    r"(?:min|max|m\u00edn|m\u00e1x)(?:i|\.|imum|imo|imal\w*)?|mindest\w*|h\u00f6chst\w*",
    re.IGNORECASE,
)
#: A legend has few lines, in a table of many rows.
_FEW, _SHARE = 10, 0.2

Limits = dict[str, float]


def limits_below(rows: pd.DataFrame) -> dict[str, dict[str, str]]:
    """Find nominals and limits among the rows below the readings.

    Parameters
    ----------
    rows : pandas.DataFrame of str
        The rows of a footer.

    Returns
    -------
    dict of str to dict
        What a row says, as :func:`linestudy.records.cells.limit_words.said_of_limits` does → column → cell.
    """
    found: dict[str, dict[str, str]] = {}
    for cells in rows.astype(str).to_dict("records"):
        filled = {str(name): cell.strip() for name, cell in cells.items() if cell.strip()}
        if len(filled) < 2:
            continue
        (_, head), *others = filled.items()
        said = _said(head)
        if said and said not in found:
            found[said] = dict(others)
    return found


def limits_in_pairs(rows: Iterable[list[str]]) -> Limits:
    """Find nominals and limits in lines such as "USL; 2.85" or "Tolerance: 2.80 ±0.05" above a table.

    Parameters
    ----------
    rows : iterable of list of str

    Returns
    -------
    dict of str to float
        ``nominal``, ``lower``, ``upper``, and ``reference`` for the known value of a master, as far as they are said;
        nothing where one is said twice.
    """
    found: list[tuple[str, float]] = []
    for row in rows:
        cells = [part.strip() for cell in row for part in re.split(r":\s+|:$|\s*=\s*", cell)]
        for label, cell in itertools.pairwise(cells):
            said = _said(label)
            if label.strip(" .:").casefold() in _KNOWN and is_number(cell):
                found.append(("reference", _number(cell)))
            elif said in _KEYS and is_number(cell):
                found.append((_KEYS[said], _number(cell)))
            elif said in ("specification", "tolerance"):
                spec = spec_of(cell)
                if spec is not None and spec.limited:
                    whole = {"nominal": spec.nominal, "lower": spec.lower, "upper": spec.upper}
                    found += [(key, value) for key, value in whole.items() if value is not None]
    keys = [key for key, _ in found]
    return dict(found) if len(set(keys)) == len(keys) else {}


def limits_over(rows: list[list[str]], names: list[str]) -> dict[str, dict[str, str]]:
    """Find nominals and limits in rows above the names of the columns, each number above the column it is of.

    Parameters
    ----------
    rows : list of list of str
        The rows above the header.
    names : list of str
        Cells of the header.

    Returns
    -------
    dict of str to dict
        What a row says, as :func:`linestudy.records.cells.limit_words.said_of_limits` does → column → cell. Nothing where no
        number stands above a name, or no row has one of its own for two columns and none says a limit of one column
        in its place.
    """
    found: dict[str, dict[str, str]] = {}
    for row in rows:
        filled = [(at, cell.strip()) for at, cell in enumerate(row) if cell.strip()]
        said = _said(filled[0][1]) if len(filled) > 1 else ""
        own = {
            " ".join(names[at].split()): cell
            for at, cell in filled[1:]
            if at < len(names) and names[at].strip()
        }
        if not said or said in found or not all(is_number(cell) for _, cell in filled[1:]):
            continue
        # "USL; 2.85" alone is a pair, whatever stands below its number.
        if len(own) == len(filled) - 1 and (len(own) > 1 or filled[1][0] > filled[0][0] + 1):
            found[said] = own
    return found


def legend_beside(cells: pd.DataFrame) -> tuple[Limits, list[str]]:
    """Find a legend at the side of a table: few lines of a word and a number each, of which one says a limit.

    Parameters
    ----------
    cells : pandas.DataFrame of str

    Returns
    -------
    limits : dict of str to float
    columns : list of str
        Names of its two columns; empty where there is none.
    """
    names = [str(name) for name in cells]
    for left, right in itertools.pairwise(names):
        few = [_filled(cells[name]) for name in (left, right)]
        if max(map(len, few)) > min(_FEW, _SHARE * len(cells)):
            continue
        rows = cells[[left, right]].loc[sorted({*few[0], *few[1]})].astype(str).to_numpy().tolist()
        found = limits_in_pairs([[left, right], *rows])
        if found:
            return found, [left, right]
    return {}, []


def _filled(cells: pd.Series) -> list[int]:
    text = cells.astype("string").fillna("").str.strip()
    return [int(at) for at in text.index[(text != "").to_numpy(dtype=bool)]]


def _said(label: str) -> str:
    bare = label.strip(" .:")
    return "" if len(bare) < 2 or _EXTREMES.fullmatch(bare) else said_of_limits(bare)


def _number(cell: str) -> float:
    bare = re.sub(r"[^\d.,+-]", "", cell)
    return float(
        bare.replace(",", ".")
        if bare.count(",") == 1 and "." not in bare
        else bare.replace(",", "")
    )


def complete(limits: Mapping[str, float]) -> tuple[float | None, float | None, float | None]:
    """Give nominal, lower and upper limit."""
    return limits.get("nominal"), limits.get("lower"), limits.get("upper")
