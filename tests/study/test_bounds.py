"""Sizes, depths and magnitudes that no study has: one line, at once."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from linestudy.results import InputError
from linestudy.study import open_study

GOOD = """format = 1
[study]
title = "Study"
part = "P-1"
[[characteristic]]
id = "throat"
name = "Throat"
unit = "mm"
nominal = 0.55
lower = 0.5
upper = 0.6
[[gauge]]
id = "camera"
name = "Camera"
resolution = 0.001
[[data]]
role = "run"
gauge = "camera"
file = "run.csv"
columns = { throat = "T" }
"""
PART = 'part = "P-1"'
FILE = 'file = "run.csv"'
CASES = {
    "whole number of 5,000 digits": ("0.55", "9" * 5000, "cannot be read"),
    "hexadecimal of 900,000": ("0.55", "0x" + "f" * 900_000, "digits"),
    "double of 5,000 digits": ("upper = 0.6", f"upper = {'9' * 5000}.0", "finite"),
    "largest double": ("upper = 0.6", "upper = 1e308", "beyond what is measured"),
    "least double": ("0.55", "1e-320", "beyond what is measured"),
    "not a number": ("upper = 0.6", "upper = nan", "finite"),
    "confidence of nought": (PART, f"{PART}\nconfidence = 1e-7", "0.5"),
    "confidence of one": (PART, f"{PART}\nconfidence = 0.9999999999999999", "0.9999"),
    "level of nought": (PART, f"{PART}\n[criteria]\nbias_alpha = 1e-9", "0.000001"),
    "resolution in another unit": (
        "resolution = 0.001",
        "resolution = 1e5",
        "cannot be in the unit",
    ),
    "limits that are one": ("upper = 0.6", "upper = 0.50000000000000011", "is above upper limit"),
    "limits that are nearly one": (
        "nominal = 0.55\nlower = 0.5\nupper = 0.6",
        "lower = 0.5\nupper = 0.5000000000000001",
        "too close",
    ),
    "delimiter of nothing": (FILE, FILE + '\ndelimiter = "\\u0000"', "cannot separate"),
    "delimiter that is a digit": (FILE, FILE + '\ndelimiter = "5"', "cannot separate"),
    "a folder for a file": (FILE, 'file = "."', "is a folder"),
    "no writing of text": (FILE, FILE + '\nencoding = "punycode"', "no encoding"),
    "key of 50,000 parts": ("title =", f"a{'.a' * 50_000} = 1\ntitle =", "parts"),
    "the same in quotes": ("title =", '"a"' + '."a"' * 50_000 + " = 1\ntitle =", "parts"),
    "the same, spaced": ("title =", "a" + " . a" * 50_000 + " = 1\ntitle =", "parts"),
    "head of 50,000 parts": ("[[gauge]]", f"[a{'.a' * 50_000}]\n[[gauge]]", "parts"),
    "tables in tables": ("title =", "x = " + "{a=" * 20 + "1" + "}" * 20 + "\ntitle =", "deeply"),
    "lists in lists": ("title =", "x = " + "[" * 300_000 + "\ntitle =", "deeply"),
    "word of a megabyte": ("title =", "a" * 900_000 + " = 1\ntitle =", "unknown key"),
}


@pytest.mark.parametrize("case", CASES)
def test_refused_in_one_line_and_at_once(case: str, tmp_path: Path) -> None:
    old, new, words = CASES[case]
    assert old in GOOD
    (tmp_path / "study.toml").write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    begin = time.process_time()
    with pytest.raises(InputError) as refused:
        open_study(tmp_path)
    assert time.process_time() - begin < 10
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 1300


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"Study"', '"See 4.2.1.3.a of www.x.example.com and 1.2.3"'),
        ("resolution = 0.001", 'resolution = 1e5\nunit = "nm"'),
        (PART, f"{PART}\nconfidence = 0.5"),
        (PART, f"{PART}\nconfidence = 0.9999"),
        (FILE, FILE + '\ndelimiter = "\\t"'),
        (FILE, FILE + '\nencoding = "cp1252"'),
        (FILE, FILE + '\nencoding = "utf-16"'),
    ],
)
def test_what_a_study_may_say_is_read(old: str, new: str, tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    assert open_study(tmp_path).head.part == "P-1"
