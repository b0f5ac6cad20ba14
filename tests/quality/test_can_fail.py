"""Every test can fail: it asserts something, and not what holds whatever the code does.

Read from the source. What is seen: tests that assert nothing, neither themselves nor through a helper of their
file; an assertion of a constant; `abs(x) >= 0` and `len(x) >= 0`; `isinstance` with a choice of types as all that a test
asserts (that is what the function's annotation says); a tolerance as wide as the number it stands beside.
What is not seen: an expected value that was copied from the output, which is why a source stands beside each.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
#: Benchmarks measure and assert nothing, on purpose.
FILES = sorted(file for file in TESTS.rglob("test_*.py") if file.parent.name != "benchmarks")
#: Calls that fail by themselves: of pytest, of a schema, of a browser, of the kit where it is there to refuse.
RAISING = {"raises", "warns", "fail", "validate", "wait_for_selector", "refuse_wrong_unit"}


def _name(call: ast.expr) -> str:
    if isinstance(call, ast.Call):
        call = call.func
    if isinstance(call, ast.Attribute):
        return call.attr
    return call.id if isinstance(call, ast.Name) else ""


def _asserts(function: ast.AST, helpers: dict[str, ast.AST], seen: frozenset[str]) -> bool:
    """Whether a function can fail by its own lines or by those of a helper it calls."""
    for node in ast.walk(function):
        if isinstance(node, (ast.Assert, ast.Raise)):
            return True
        if isinstance(node, ast.Call):
            name = _name(node)
            if name in RAISING or name.startswith("assert_"):
                return True
            if (
                name in helpers
                and name not in seen
                and _asserts(helpers[name], helpers, seen | {name})
            ):
                return True
    return False


def _number(node: ast.expr | None) -> float | None:
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        inner = _number(node.operand)
        return None if inner is None else -inner
    if isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        return float(node.value)
    return None


def _holds_always(node: ast.Assert) -> str:
    """Why an assertion cannot fail; empty where it can."""
    test = node.test
    if isinstance(test, ast.Constant):
        return "asserts a constant"
    if (
        isinstance(test, ast.BoolOp)
        and isinstance(test.op, ast.Or)
        and any(isinstance(value, ast.Constant) and value.value for value in test.values)
    ):
        return "or a constant"
    if isinstance(test, ast.Compare) and len(test.ops) == 1:
        left, right = test.left, test.comparators[0]
        if (
            isinstance(test.ops[0], ast.GtE)
            and _name(left) in ("abs", "len")
            and _number(right) == 0
        ):
            return "what is never negative is not negative"
        if ast.dump(left) == ast.dump(right) and not any(
            isinstance(part, ast.Call) for part in ast.walk(left)
        ):
            return "compares a thing with itself"
    return ""


def _wide(function: ast.AST) -> Iterator[str]:
    """Approximations as wide as their number."""
    for node in ast.walk(function):
        if not (isinstance(node, ast.Call) and _name(node) == "approx" and node.args):
            continue
        given = {word.arg: _number(word.value) for word in node.keywords}
        expected, absolute, relative = _number(node.args[0]), given.get("abs"), given.get("rel")
        if relative is not None and relative >= 1:
            yield f"line {node.lineno}: relative tolerance {relative:g}"
        if expected and absolute is not None and absolute >= abs(expected):
            yield f"line {node.lineno}: {expected:g} within {absolute:g}"


def complaints(source: str) -> list[str]:
    """Tests of a file that cannot fail, and why."""
    tree = ast.parse(source)
    functions = {node.name: node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
    found = []
    for name, function in functions.items():
        if not name.startswith("test"):
            continue
        own = [node for node in ast.walk(function) if isinstance(node, ast.Assert)]
        if not _asserts(function, functions, frozenset({name})):
            found.append(f"{name}: asserts nothing")
        found += [f"{name}: {why}" for node in own if (why := _holds_always(node))]
        found += [f"{name}: {wide}" for wide in _wide(function)]
        types = [
            node
            for node in own
            if isinstance(node.test, ast.Call)
            and _name(node.test) == "isinstance"
            and len(node.test.args) == 2
            and isinstance(node.test.args[1], (ast.Tuple, ast.BinOp))
        ]
        if own and len(types) == len(own) and "raises" not in ast.dump(function):
            found.append(f"{name}: asserts only that the result is of one of its types")
    return found


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(TESTS)))
def test_every_test_of_a_file_can_fail(file: Path) -> None:
    assert complaints(file.read_text(encoding="utf-8")) == []


EMPTY = """
def helper(x):
    return x

def checks(x):
    assert x == 1

def test_nothing():
    helper(1)

def test_through_a_helper():
    checks(2)

def test_constant():
    assert 'always'

def test_never_negative(x):
    assert abs(x) >= 0

def test_type(x):
    assert isinstance(x, (Absent, dict))

def test_wide(x):
    assert x == pytest.approx(0.5, abs=0.5)

def test_itself(x):
    assert x == x

def test_refusal():
    with pytest.raises(ValueError):
        helper(2)
"""


def test_the_check_finds_what_cannot_fail() -> None:
    names = [line.split(":")[0] for line in complaints(EMPTY)]
    assert names == [
        "test_nothing",
        "test_constant",
        "test_never_negative",
        "test_type",
        "test_wide",
        "test_itself",
    ]
