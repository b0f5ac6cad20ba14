"""Printed numbers of a paper or report against recomputed ones.

The file, described in ``study/FORMAT.md``, is TOML: a list of ``[[printed]]`` tables with ``place`` (path in
results.json, keys joined by dots), ``value``, ``decimals`` as printed and ``where`` it is printed. A number that the
source computes another way may say so: ``convention`` in words, together with ``formula``, which must give the
printed number, or with ``last_digits``, by how many units of its last digit the print may be off. Words alone
explain nothing.
"""

from __future__ import annotations

import ast
import math
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linestudy.dossier.audit.conventions import explain
from linestudy.results import InputError

#: A double holds no more.
_MOST_DECIMALS = 15
_MOST_BYTES, _MOST_ENTRIES, _MOST_LINE = 2_000_000, 20_000, 4_000
#: A print that is off by more is no rounding any more.
_MOST_LAST_DIGITS = 5
_LARGEST = 1e300


@dataclass(frozen=True)
class Printed:
    """One printed number.

    Attributes
    ----------
    place : str
    value : float
    decimals : int
    where : str
    convention, formula : str
        Empty where the file says nothing.
    last_digits : int
    """

    place: str
    value: float
    decimals: int
    where: str
    convention: str = ""
    formula: str = ""
    last_digits: int = 0

    @property
    def text(self) -> str:
        """As printed."""
        return f"{self.value:.{self.decimals}f}"

    def is_rounded(self, number: float, units: float = 0.5) -> bool:
        """Check whether a number lies within so many units of the last printed digit.

        Parameters
        ----------
        number : float
        units : float
            A half: printed halves may have gone either way.

        Returns
        -------
        bool
        """
        slack = 1e-9 + 4e-16 * abs(self.value) * 10.0**self.decimals
        return abs(number - self.value) <= (units + slack) * 10.0**-self.decimals


def compare_printed(results: dict[str, Any], entries: list[Printed]) -> tuple[tuple[str, ...], int]:
    """Say for each printed number whether the recomputed one rounds to it.

    Parameters
    ----------
    results : dict
        Content of results.json.
    entries : list of Printed

    Returns
    -------
    lines : tuple of str
    unexplained : int
        How many neither round to the printed value nor are explained by a convention that gives it.

    Raises
    ------
    InputError
        A formula cannot be worked out.
    """
    lines, unexplained = [], 0
    for entry in entries:
        line, good = _one(entry, results)
        lines.append(line)
        unexplained += not good
    return tuple(lines), unexplained


def _one(entry: Printed, results: dict[str, Any]) -> tuple[str, bool]:
    found = _at(results, entry.place)
    if not isinstance(found, int | float) or isinstance(found, bool):
        why = f": {found['absent']}" if isinstance(found, dict) and "absent" in found else ""
        return f"no number: {entry.place}{why} ({entry.where} prints {entry.text})", False
    number = float(found)
    sentence = f"{entry.place} = {_as_far(number, entry)}, {entry.where} prints {entry.text}"
    author = f"; the file says: {entry.convention}" if entry.convention else ""
    if entry.is_rounded(number):
        return f"rounds to it: {sentence}", True
    tried = explain(number, entry.value, entry.decimals, entry.place, results)
    if tried is not None:
        return f"rounds to it by convention: {sentence}: {tried}{author}", True
    if entry.formula:
        value = worked_out(entry.formula, results)
        if entry.is_rounded(value) and not _hangs_on_data(entry, results):
            says = f"{entry.formula} gives it whatever was measured, so it does not explain it"
            return f"unexplained: {sentence}: {says}{author}", False
        if entry.is_rounded(value):
            return f"explained: {sentence}: {entry.formula} = {_as_far(value, entry)}{author}", True
        gives = f": {entry.formula} = {_as_far(value, entry)} does not explain it{author}"
        return f"unexplained: {sentence}{gives}", False
    if entry.last_digits and entry.is_rounded(number, 0.5 + entry.last_digits):
        return f"within {entry.last_digits} of the last digit: {sentence}{author}", True
    return f"unexplained: {sentence}{author}", False


def _as_far(number: float, entry: Printed) -> str:
    """Write a number with at least ten digits, and as many as show how it differs from the print."""
    for digits in range(10, 18):
        text = f"{number:.{digits}g}"
        if float(text) == number or abs(float(text) - number) < 1e-3 * abs(number - entry.value):
            return text
    return repr(number)


def read_printed(file: Path) -> list[Printed]:
    """Read a file of printed numbers.

    Parameters
    ----------
    file : pathlib.Path

    Returns
    -------
    list of Printed

    Raises
    ------
    InputError
        The file is missing or is not as described above: one line says where and what to do.
    """
    entries = _entries(file)
    found: list[Printed] = []
    for number, content in enumerate(entries, start=1):
        found.append(_checked(content, f"{file.name}, [[printed]] number {number}"))
        if any(
            (item.place, item.where) == (found[-1].place, found[-1].where) for item in found[:-1]
        ):
            raise InputError(
                f"{file.name}, [[printed]] number {number}",
                f"{found[-1].place[:200]} is given twice for the same source",
                "leave one of them out, or say where each is printed",
            )
    return found


def _entries(file: Path) -> list[Any]:
    try:
        if file.stat().st_size > _MOST_BYTES:
            raise InputError(file.name, "is too large for printed numbers", "split it")
        text = file.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise InputError(
            str(file), "there is no such file", "name the file of printed numbers"
        ) from None
    except UnicodeDecodeError:
        raise InputError(file.name, "is not UTF-8", "save it as UTF-8") from None
    for number, line in enumerate(text.split("\n"), start=1):
        # A key of ten thousand parts would keep the reader of TOML busy for minutes.
        if len(line) > _MOST_LINE:
            raise InputError(f"{file.name}, line {number}", "is too long", "shorten it")
    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        why = "a number is too long" if "4300" in str(error) else str(error).split("\n")[0][:200]
        raise InputError(file.name, f"is not TOML ({why})", "mend that line") from None
    if set(content) - {"printed"}:
        raise InputError(
            file.name,
            f'holds "{next(iter(set(content) - {"printed"}))[:60]}" beside [[printed]]',
            "leave it out",
        )
    entries = content.get("printed")
    if not isinstance(entries, list) or not entries:
        raise InputError(file.name, "has no [[printed]] table", "write one per printed number")
    if len(entries) > _MOST_ENTRIES:
        raise InputError(file.name, "holds too many numbers", "split it")
    return entries


_KEYS: dict[str, tuple[type, ...]] = {
    "place": (str,),
    "value": (int, float),
    "decimals": (int,),
    "where": (str,),
    "convention": (str,),
    "formula": (str,),
    "last_digits": (int,),
}
_NEEDED = ("place", "value", "decimals", "where")
_SEE = "see printed.toml in FORMAT.md"


def _checked(entry: Any, where: str) -> Printed:
    if not isinstance(entry, dict):
        raise InputError(where, "is no table", _SEE)
    for key in entry:
        if key not in _KEYS:
            raise InputError(where, f'the key "{key[:60]}" is not known', _SEE)
    for key, kinds in _KEYS.items():
        if key not in entry and key not in _NEEDED:
            continue
        value = entry.get(key)
        if not isinstance(value, kinds) or isinstance(value, bool):
            raise InputError(where, f'the key "{key}" is missing or of the wrong kind', _SEE)
        if isinstance(value, str) and not (value.strip() and value.isprintable()):
            raise InputError(where, f'the key "{key}" is empty or not one line', _SEE)
    value, decimals, units = entry["value"], entry["decimals"], entry.get("last_digits", 0)
    # A whole number of a thousand digits is compared as itself, not as a double.
    if not -_LARGEST < value < _LARGEST:
        raise InputError(where, 'the key "value" is no number that a source prints', _SEE)
    if not 0 <= decimals <= _MOST_DECIMALS:
        raise InputError(
            where, f'the key "decimals" must lie between 0 and {_MOST_DECIMALS}', "count them"
        )
    if not 0 <= units <= _MOST_LAST_DIGITS:
        raise InputError(
            where, f'the key "last_digits" must lie between 1 and {_MOST_LAST_DIGITS}', _SEE
        )
    if ("formula" in entry or units) and "convention" not in entry:
        raise InputError(where, "gives no convention in words", _SEE)
    made = Printed(**{**entry, "value": float(value)})
    if made.formula:
        _parsed(made.formula, where)
    return made


def _hangs_on_data(entry: Printed, results: dict[str, Any]) -> bool:
    """Check whether the formula's printed result would change with any number in it."""
    for place in _parsed(entry.formula, "formula")[1].values():
        # Twice as large, and one more, for what is nought.
        for factor, more in ((2.0, 0.0), (1.0, 1.0)):
            other = worked_out(entry.formula, results, {place: (factor, more)})
            if math.isfinite(other) and not entry.is_rounded(other):
                return True
    return False


def worked_out(
    formula: str, results: dict[str, Any], moved: dict[str, tuple[float, float]] | None = None
) -> float:
    """Work out a formula of numbers and of places in results.json.

    Parameters
    ----------
    formula : str
        Numbers, places in square brackets, ``+ - * / **``, parentheses, ``sqrt(…)`` and ``round(…, n)``. At
        least one place must occur in it.
    results : dict
    moved : dict, optional
        By place: a factor and a summand that its number is taken with.

    Returns
    -------
    float
        Not a number where it divides by nought or leaves the real numbers.

    Raises
    ------
    InputError
        A place holds no number.

    Examples
    --------
    >>> worked_out("2 * sqrt([a.b])", {"a": {"b": 9.0}})
    6.0
    """
    tree, places = _parsed(formula, "formula")
    named = {}
    for name, place in places.items():
        found = _at(results, place)
        if not isinstance(found, int | float) or isinstance(found, bool):
            raise InputError(f"formula {formula[:100]}", f"{place[:100]} is no number", "mend it")
        factor, more = (moved or {}).get(place, (1.0, 0.0))
        named[name] = float(found) * factor + more
    try:
        return float(_value(tree.body, named))
    except (ArithmeticError, ValueError, TypeError):
        return math.nan


def _parsed(formula: str, where: str) -> tuple[ast.Expression, dict[str, str]]:
    import re

    places: dict[str, str] = {}

    def named(match: re.Match[str]) -> str:
        name = f"p{len(places)}_"
        places[name] = match[1]
        return name

    text = re.sub(r"\[([^\[\]]+)\]", named, formula)
    try:
        tree = ast.parse(text.strip(), mode="eval")
        good = len(formula) <= 500 and bool(places) and all(_known(n) for n in ast.walk(tree))
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        good = False
    if not good:
        raise InputError(
            where,
            f"the formula {formula[:100]!r} cannot be read",
            "use numbers, [places of results.json], + - * / **, sqrt() and round()",
        )
    return tree, places


_OPERATORS = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow, ast.USub, ast.UAdd)


def _known(node: ast.AST) -> bool:
    if isinstance(node, ast.Constant):
        value = node.value
        return type(value) in (int, float) and isinstance(value, int | float) and value < _LARGEST
    if isinstance(node, ast.Call):
        named = isinstance(node.func, ast.Name) and node.func.id in ("sqrt", "round")
        return named and not node.keywords and len(node.args) in (1, 2)
    known = (ast.Expression, ast.BinOp, ast.UnaryOp, ast.Name, ast.Load, *_OPERATORS)
    return isinstance(node, known)


def _value(node: ast.AST, named: dict[str, float]) -> float:
    if isinstance(node, ast.Constant):
        assert isinstance(node.value, int | float)
        return float(node.value)
    if isinstance(node, ast.Name):
        return named[node.id]
    if isinstance(node, ast.UnaryOp):
        value = _value(node.operand, named)
        return -value if isinstance(node.op, ast.USub) else value
    if isinstance(node, ast.Call):
        assert isinstance(node.func, ast.Name)
        first, *rest = (_value(item, named) for item in node.args)
        if node.func.id == "sqrt":
            return math.sqrt(first)
        return round(first, int(rest[0]) if rest else 0)
    assert isinstance(node, ast.BinOp)
    left, right = _value(node.left, named), _value(node.right, named)
    if isinstance(node.op, ast.Add):
        return left + right
    if isinstance(node.op, ast.Sub):
        return left - right
    if isinstance(node.op, ast.Mult):
        return left * right
    return left / right if isinstance(node.op, ast.Div) else left**right


def _at(results: Any, place: str) -> Any:
    branch = results
    for key in place.split("."):
        if isinstance(branch, dict) and key in branch:
            branch = branch[key]
        elif isinstance(branch, list) and key.isdecimal() and len(key) < 9:
            branch = branch[int(key)] if int(key) < len(branch) else None
        elif isinstance(branch, list):
            # A row of a table may be named by its source or test.
            rows = [row for row in branch if isinstance(row, dict) and key in row.values()]
            branch = rows[0] if rows else None
        else:
            return None
    return branch
