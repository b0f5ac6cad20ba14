"""study.toml as typed objects: what contradicts itself is refused, and limits are written as they were given."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from linestudy.study.model import (
    NEEDED,
    ROLE_WORDS,
    Budget,
    Characteristic,
    Data,
    Position,
    StudyHead,
    Subgroup,
)


def of(**keys: Any) -> Characteristic:
    return Characteristic(id="w", name="Width", **keys)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"lower": 6.2, "upper": 6.1}, "lower limit 6.2 is not below upper limit 6.1"),
        ({"lower": 6.2, "upper": 6.2}, "is not below"),
        ({"lower": 6.25, "nominal": 6.2499999}, "nominal 6.2499999 is below lower limit 6.25"),
        ({"upper": 6.25, "nominal": 6.2500001}, "nominal 6.2500001 is above upper limit 6.25"),
        ({"plausible": (2.0, 2.0)}, "low below high"),
        ({"position": Position(), "lower": 0.0, "upper": 0.2}, "an upper limit only"),
        ({"position": Position()}, "an upper limit only"),
        ({"lower": float("inf")}, "finite"),
        ({"lowre": 1.0}, "Extra inputs"),
    ],
)
def test_a_characteristic_that_contradicts_itself(keys: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        of(**keys)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"lower": 6.1, "upper": 6.2, "unit": "mm"}, "6.1 to 6.2 mm"),
        ({"lower": 60.0, "unit": "N"}, "at least 60 N"),
        ({"upper": 0.00001}, "at most 0.00001"),
        ({"lower": -0.05, "upper": 0.05}, "−0.05 to 0.05"),
        # Seven digits are seven digits.
        ({"lower": 100.0005, "upper": 1250.0255, "unit": "µm"}, "100.0005 to 1,250.0255 µm"),
        ({"unit": "mm"}, "no limits"),
        ({"nominal": 1.0}, "no limits"),
        ({}, "judged"),
    ],
)
def test_limits_in_words(keys: dict[str, Any], said: str) -> None:
    assert of(**keys).measures() == said


@given(st.integers(-(10**9), 10**9), st.integers(0, 6))
def test_a_limit_loses_no_digit(whole: int, places: int) -> None:
    number = whole / 10**places
    said = of(lower=number).measures().removeprefix("at least ").replace("−", "-").replace(",", "")
    assert float(said) == number
    assert "e" not in said


def test_the_tolerance_needs_both_limits() -> None:
    assert of(lower=6.0, upper=6.25).tolerance == 0.25
    assert of(upper=6.25).tolerance is None
    assert (of().is_attribute, of(upper=1.0).is_attribute) == (True, False)


RUN: dict[str, Any] = {"role": "run", "file": "run.csv", "columns": {"w": "W"}}


@pytest.mark.parametrize(
    "file",
    ["../run.csv", "a/../../run.csv", "/etc/passwd", "C:\\run.csv", "a\\..\\..\\b", ".", "./"],
)
def test_a_data_file_lies_inside_the_study(file: str) -> None:
    with pytest.raises(ValidationError, match=r"inside the study folder|is a folder"):
        Data(**{**RUN, "file": file})


@pytest.mark.parametrize(
    "file", ["run.csv", "data/run 1.csv", "data\\run.csv", "a..b.csv", "..csv"]
)
def test_other_names_are_names(file: str) -> None:
    assert Data(**{**RUN, "file": file}).file == file


@pytest.mark.parametrize("sign", ["a", "7", '"', "'", "+", "-", ".", "\n", "é"])
def test_what_stands_inside_cells_separates_none(sign: str) -> None:
    with pytest.raises(ValidationError, match="cannot separate cells"):
        Data(**RUN, delimiter=sign)


def test_usual_signs_separate_cells() -> None:
    for sign in (",", ";", "\t", "|", " ", ":"):
        assert Data(**RUN, delimiter=sign).delimiter == sign


@pytest.mark.parametrize("role", sorted(NEEDED))
def test_each_role_says_which_key_it_needs(role: str) -> None:
    assert set(NEEDED) == set(ROLE_WORDS)
    if not NEEDED[role]:
        assert Data(**{**RUN, "role": role}).role == role
        return
    with pytest.raises(ValidationError, match=f'role "{role}" needs the key "{NEEDED[role][0]}"'):
        Data(**{**RUN, "role": role})


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"columns": {}}, 'needs "columns" or "long"'),
        ({"decimal": "both", "thousands": ","}, "neither comma nor point"),
        ({"block": "A", "blocks": "part"}, "write one of both"),
        ({"size": "S"}, "go together"),
        ({"size": "S", "size_of": "w"}, "belongs to destroyed parts"),
    ],
)
def test_keys_that_do_not_go_together(keys: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        Data(**{**RUN, **keys})


def test_small_things_that_must_be_whole() -> None:
    with pytest.raises(ValidationError, match="bonus needs both"):
        Position(size="d")
    assert Position(size="d", most_material=1.0).feature == "hole"
    with pytest.raises(ValidationError, match="subgroups overlap"):
        Subgroup(size=5, every=4)
    assert Subgroup(size=5, every=5).every == 5
    for keys in ({}, {"standard_uncertainty": 0.1, "half_width": 0.1}):
        with pytest.raises(ValidationError, match="needs either"):
            Budget(gauge="c", source="s", **keys)  # type: ignore[arg-type]


def test_a_revision_that_nobody_named_is_not_written() -> None:
    assert StudyHead(title="T", part="P-1").part_and_revision == "P-1"
    assert StudyHead(title="T", part="P-1", revision="B").part_and_revision == "P-1, revision B"


@pytest.mark.parametrize(
    ("keys", "below", "above"),
    [
        ({"upper": 0.08, "bound": 0.0}, 0.0, None),
        ({"lower": 60.0, "bound": 0.0}, 0.0, None),
        ({"lower": 2.0, "upper": 3.0, "bound": 1.9}, 1.9, None),
        # A share of at least 80 %, which no part can bring above 100.
        ({"lower": 80.0, "bound": 100.0}, None, 100.0),
        ({"lower": 80.0, "upper": 100.0, "bound": 100.0}, None, 100.0),
        ({"upper": 3.0}, None, None),
        # A bound at the lower limit itself is a floor.
        ({"lower": 0.0, "bound": 0.0}, 0.0, None),
    ],
)
def test_which_side_a_bound_closes(
    keys: dict[str, float], below: float | None, above: float | None
) -> None:
    item = of(**keys)
    assert (item.bound_below, item.bound_above) == (below, above)
