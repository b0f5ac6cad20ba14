"""Draw a sample of mutants of a room with cosmic-ray's operators; first step of a mutation run.

Runs in an environment of its own (cosmic-ray is not among the project's pins):

    python tests/mutation/mutants.py gauges 200 > gauges.json

A place is one operator symbol or number in the code; places are drawn without replacement,
then one of the operators that apply there, so that an arithmetic sign with five possible
replacements does not count five times. Left out, because they say nothing about the tests:
shifts, bit operators and modulo in place of arithmetic (an error of type, always found),
``is`` in place of ``==`` (the same for small values), removed decorators, exceptions
replaced, and everything within annotations, which never run.
"""

from __future__ import annotations

import ast
import json
import random
import sys
from pathlib import Path

from cosmic_ray.ast import ast_nodes, get_ast_from_path
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator, operator_names

ROOT = Path(__file__).resolve().parents[2]
_ARITHMETIC = {"Add", "Sub", "Mul", "Div", "Pow"}
_ORDER = {"Eq", "NotEq", "Lt", "LtE", "Gt", "GtE"}
_OTHERS = {
    "AddNot",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "NumberReplacer",
    "ZeroIterationForLoop",
    "ReplaceUnaryOperator_USub_UAdd",
    "ReplaceUnaryOperator_Delete_USub",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceComparisonOperator_Is_IsNot",
    "ReplaceComparisonOperator_IsNot_Is",
}


def telling(name: str) -> bool:
    """Whether an operator's mutants are worth a test."""
    kind = name.split("/")[1]
    if kind in _OTHERS:
        return True
    head, *pair = kind.split("_")
    if head == "ReplaceBinaryOperator":
        return set(pair) <= _ARITHMETIC
    return head == "ReplaceComparisonOperator" and set(pair) <= _ORDER


def never_run(text: str) -> set[int]:
    """Lines of annotations and of blocks that only type checkers see."""
    lines: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        parts: list[ast.AST | None] = []
        if isinstance(node, ast.AnnAssign):
            parts = [node.annotation]
            if isinstance(node.target, ast.Name) and node.value is None:
                parts.append(node)
        elif isinstance(node, ast.arg):
            parts = [node.annotation]
        elif isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            parts = [node]
        for part in parts:
            if part is not None:
                lines.update(range(part.lineno, part.end_lineno + 1))
    return lines


#: Arguments that change no number: guards against a mistake that is not there, and how things print.
_WITHOUT_EFFECT = {"strict", "frozen", "repr", "compare"}


def without_effect(text: str) -> set[tuple[int, int]]:
    """Where the values of such arguments begin."""
    return {
        (word.value.lineno, word.value.col_offset)
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Call)
        for word in node.keywords
        if word.arg in _WITHOUT_EFFECT
    }


def places(path: Path) -> dict[tuple[tuple[int, int], str], list[tuple[str, int]]]:
    """Operators and their occurrences at every place of a module."""
    found: dict[tuple[tuple[int, int], str], list[tuple[str, int]]] = {}
    text = path.read_text(encoding="utf-8")
    silent, idle = never_run(text), without_effect(text)
    tree = get_ast_from_path(path)
    for name in operator_names():
        if not telling(name):
            continue
        operator = get_operator(name)()
        spots = (spot for node in ast_nodes(tree) for spot in operator.mutation_positions(node))
        for occurrence, (begin, _end) in enumerate(spots):
            if begin[0] not in silent and begin not in idle:
                family = name.split("_")[0]
                found.setdefault((begin, family), []).append((name, occurrence))
    return found


def main() -> None:
    room, wanted = sys.argv[1], int(sys.argv[2])
    # A third word draws another sample.
    draw = random.Random(" ".join(["linestudy", room, *sys.argv[3:]]))
    every = []
    for path in sorted((ROOT / "lib" / "linestudy" / room).rglob("*.py")):
        for (begin, _family), choices in sorted(places(path).items()):
            every.append((path, begin, choices))
    sample = draw.sample(every, min(wanted, len(every)))
    mutants = []
    for path, begin, choices in sample:
        name, occurrence = draw.choice(choices)
        code = path.read_text(encoding="utf-8")
        changed = mutate_code(code, get_operator(name)(), occurrence)
        if changed is None or changed == code:
            continue
        mutants.append(
            {
                "file": path.relative_to(ROOT).as_posix(),
                "line": begin[0],
                "operator": name.split("/")[1],
                "code": changed,
            }
        )
    json.dump({"room": room, "places": len(every), "mutants": mutants}, sys.stdout)


if __name__ == "__main__":
    main()
