"""How names of columns nest, and what the levels are where nobody says so."""

from __future__ import annotations

import pytest

from linestudy.study.layout import laid_out, places, usual_levels
from linestudy.study.model import Data

SHEET = {"A": ["A1", "A2"], "B": ["B1", "B2"]}


def data(role: str = "crossed", **keys: object) -> Data:
    keys = {"columns": {"w": SHEET}, "gauge": "g", "part": "P", **keys}
    return Data(role=role, file="f.csv", **keys)


def test_places_keep_the_order_of_the_sheet() -> None:
    assert [(place.column, place.labels) for place in places(SHEET)] == [
        ("A1", ("A", "1")),
        ("A2", ("A", "2")),
        ("B1", ("B", "1")),
        ("B2", ("B", "2")),
    ]
    assert places("W")[0].labels == ()
    pairs = places({"L": ["x1", "y1"], "R": ["x2", "y2"]}, pair=True)
    assert [place.column for place in pairs] == [("x1", "y1"), ("x2", "y2")]


@pytest.mark.parametrize(
    ("source", "told"),
    [
        ({"A": ["A1"], "B": "B1"}, "unevenly"),
        (["A1", "A1"], "named twice"),
        ({}, "is not a name"),
        ([], "is not a name"),
        (3, "is not a name"),
        ({"A": {"B": {"C": {"D": {"E": {"F": "x"}}}}}}, "too deeply"),
    ],
)
def test_names_that_are_none(source: object, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        places(source)


@pytest.mark.parametrize(
    ("role", "source", "levels", "expected"),
    [
        ("crossed", ["a", "b"], None, ("trial",)),
        ("crossed", {"A": "a", "B": "b"}, None, ("appraiser",)),
        ("crossed", SHEET, None, ("appraiser", "trial")),
        ("crossed", {"L": SHEET}, None, ("station", "appraiser", "trial")),
        ("attribute", SHEET, None, ("appraiser", "trial")),
        ("run", {"L": "l", "R": "r"}, None, ("station",)),
        ("run", ["x1", "x2"], None, ("order",)),
        ("run", {"L": ["x1", "x2"], "R": ["x3", "x4"]}, None, ("station", "order")),
        ("reference", {"M1": ["a", "b"]}, None, ("part", "trial")),
        ("reference", {"M1": "a"}, None, ("part",)),
        ("nested", {"coil 1": "a", "coil 2": "b"}, ("coil",), ("coil",)),
        ("nested", {"1": ["a", "b"]}, ("coil",), ("coil", "specimen")),
        ("nested", ["a", "b"], ("coil",), ("specimen",)),
        ("nested", {"s1": ["a", "b"]}, ("coil", "strip"), ("strip", "specimen")),
        ("drift", ["a", "b"], None, ("trial",)),
    ],
)
def test_usual_levels(role: str, source: object, levels: object, expected: tuple[str, ...]) -> None:
    depth = len(places(source)[0].labels)
    assert usual_levels(role, source, depth, levels) == expected


def test_levels_are_filled_in_only_where_names_nest() -> None:
    assert laid_out(data(), set()).across == ("appraiser", "trial")
    plain = data(columns={"w": "W"})
    assert laid_out(plain, set()) is plain
    assert laid_out(data("run", columns={"w": ["x", "y"]}), {"w"}).across is None
    assert laid_out(data("run", columns={"w": ["x", "y"]}), set()).across == ("order",)


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"across": ("trial",)}, "nest 2 deep and across names 1"),
        ({"across": ("appraiser", "coil")}, "cannot lie across"),
        ({"across": ("trial", "trial")}, "twice"),
        ({"appraiser": "Who"}, "named as a column of its own"),
        ({"columns": {"w": "W"}, "across": ("trial",)}, "no names of columns nest"),
        ({"columns": {"w": SHEET, "v": "V"}}, "nest deeper"),
    ],
)
def test_what_cannot_be(keys: dict[str, object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        laid_out(data(**keys), set())


def test_two_columns_of_a_position_are_no_two_trials() -> None:
    """A gauge study would take x and y for two readings of one thing."""
    told: dict[str, object] = {"role": "crossed", "file": "a.csv", "gauge": "g", "part": "P"}
    two = Data(**told, columns={"hole": ["x", "y"]})
    with pytest.raises(ValueError, match="one column, the diameter"):
        laid_out(two, {"hole"})
    assert laid_out(two, set()).across == ("trial",)
    said = Data(**told, columns={"hole": ["first", "second"]}, across=["trial"])
    assert laid_out(said, {"hole"}).across == ("trial",)
    deep = Data(**told, columns={"hole": {"A": ["x", "y"], "B": ["u", "v"]}})
    with pytest.raises(ValueError, match="one column, the diameter"):
        laid_out(deep, {"hole"})
