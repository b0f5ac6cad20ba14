"""Printed numbers: what explains one, and files that are refused in one line."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.cli import main
from linestudy.dossier.audit.printed import Printed, compare_printed, read_printed, worked_out
from linestudy.results import InputError

RESULTS = {"a": {"b": 0.21663656, "n": 16, "c": {"absent": "one-sided bound"}}}
GOOD = '[[printed]]\nplace = "a.b"\nvalue = 0.2166\ndecimals = 4\nwhere = "page 1"\n'


def entry(**changes: object) -> Printed:
    return Printed(**{"place": "a.b", "value": 0.2166, "decimals": 4, "where": "page 1", **changes})


def one(**changes: object) -> tuple[str, int]:
    (line,), unexplained = compare_printed(RESULTS, [entry(**changes)])
    return line, unexplained


def test_words_alone_explain_nothing() -> None:
    line, unexplained = one(value=999.0, decimals=0, convention="the book counts otherwise")
    assert unexplained == 1
    assert line.startswith("unexplained: a.b = 0.21663656, page 1 prints 999; the file says: ")


def test_a_formula_must_give_the_printed_number() -> None:
    convention = "four times"
    line, unexplained = one(value=0.8665, convention=convention, formula="4 * [a.b]")
    assert (line[:9], unexplained) == ("explained", 0)
    line, unexplained = one(value=999.0, convention=convention, formula="4 * [a.b]")
    assert unexplained == 1
    assert "does not explain it" in line


@pytest.mark.parametrize(
    "formula",
    [
        "999 + 0 * [a.b]",
        "999 + [a.b] / 1000000",
        "999 * [a.b] ** 0",
        "999 + [a.b] - [a.b]",
        "999 + 0 / ([a.n] - 17)",
        "round(999 + [a.b], -3) - 1",
    ],
)
def test_a_formula_that_gives_it_whatever_was_measured_explains_nothing(formula: str) -> None:
    line, unexplained = one(value=999.0, decimals=0, convention="x", formula=formula)
    assert unexplained == 1
    assert "whatever was measured" in line


def test_last_digits_reach_no_further_than_said() -> None:
    assert one(value=0.2167, convention="misprint", last_digits=1)[1] == 0
    assert one(value=0.2169, convention="misprint", last_digits=1)[1] == 1


def test_a_difference_is_seen_in_the_line() -> None:
    line, unexplained = one(value=0.216636561, decimals=9)
    assert unexplained == 1
    shown = line.split("= ")[1].split(",")[0]
    assert abs(float(shown) - 0.216636561) > 0.9e-9


def test_why_there_is_no_number() -> None:
    assert one(place="a.c")[0].startswith("no number: a.c: one-sided bound")
    assert one(place="a.nothing")[1] == 1


def test_formulas() -> None:
    assert worked_out("round(2 * sqrt([a.n]) / 3, 2)", RESULTS) == 2.67
    assert worked_out("-[a.n] ** 2", RESULTS) == -256
    for nonsense in ("1 / ([a.n] - 16)", "sqrt(-[a.n])", "9 ** [a.n] ** [a.n]"):
        assert not worked_out(nonsense, RESULTS) < 1e300
    with pytest.raises(InputError, match="no number"):
        worked_out("[a.c]", RESULTS)


@pytest.mark.parametrize(
    "formula",
    [
        "999",
        "__import__('os')",
        "[a.b].real",
        "abs([a.b])",
        "[a.b] if 1 else 2",
        "(",
        "[a.b] + 'x'",
        "[a.b]" + " + 1" * 400,
        "[a.b] + " + "9" * 400,
    ],
)
def test_formulas_that_are_refused(formula: str, tmp_path: Path) -> None:
    file = tmp_path / "printed.toml"
    file.write_text(GOOD + f'convention = "x"\nformula = "{formula}"\n')
    with pytest.raises(InputError):
        read_printed(file)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "printed = 1",
        "[[printed]]",
        "[printed]\nplace = 1",
        GOOD + "x = 1",
        "x = 1\n" + GOOD,
        GOOD + GOOD,
        GOOD.replace("decimals = 4", "decimals = -1"),
        GOOD.replace("decimals = 4", "decimals = 1000000000"),
        GOOD.replace("decimals = 4", "decimals = true"),
        GOOD.replace("decimals = 4", "decimals = 4.0"),
        GOOD.replace("0.2166", "9" * 400),
        GOOD.replace("0.2166", "9" * 4990),
        GOOD.replace("0.2166", "nan"),
        GOOD.replace("0.2166", "inf"),
        GOOD.replace("0.2166", "true"),
        GOOD.replace("0.2166", '"0.2166"'),
        GOOD.replace("value = 0.2166\n", ""),
        GOOD.replace('where = "page 1"\n', ""),
        GOOD.replace("page 1", ""),
        GOOD.replace("page 1", "page\\n1"),
        GOOD + 'formula = "[a.b]"',
        GOOD + "last_digits = 1",
        GOOD + 'convention = "x"\nlast_digits = 6',
        GOOD + 'convention = "x"\nlast_digits = -1',
        GOOD + ".".join("a" * 50_000) + " = 1",
        GOOD + "y = " + "[" * 3000,
    ],
)
def test_bad_files_are_refused_in_one_line(
    text: str, published: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "printed.toml"
    file.write_text(text)
    assert main(["recompute", str(published / "aiag_bias"), "--against", str(file)]) == 2
    said = capsys.readouterr()
    assert said.err.count("\n") == 1
    assert len(said.err) < 500
    assert said.out == ""


def test_no_text_at_all(published: Path, tmp_path: Path) -> None:
    file = tmp_path / "printed.toml"
    file.write_bytes(b"\xff\xfe\x00")
    assert main(["recompute", str(published / "aiag_bias"), "--against", str(file)]) == 2
    assert main(["recompute", str(published / "aiag_bias"), "--against", str(tmp_path)]) == 2
