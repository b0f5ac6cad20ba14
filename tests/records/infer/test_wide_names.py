"""Names of columns that belong together."""

from __future__ import annotations

import pytest

from linestudy.records.infer.wide_names import by_quantity, by_station, nest, xy_pairs


@pytest.mark.parametrize(
    ("names", "source"),
    [
        (["A1", "A2", "B1", "B2"], {"A": ["A1", "A2"], "B": ["B1", "B2"]}),
        (
            ["Anna 1", "Anna 2", "Bert 1", "Bert 2"],
            {"Anna": ["Anna 1", "Anna 2"], "Bert": ["Bert 1", "Bert 2"]},
        ),
        (["B2", "A1", "A2", "B1"], {"B": ["B1", "B2"], "A": ["A1", "A2"]}),
        (["1", "2", "3"], ["1", "2", "3"]),
        (["x_1", "x_2"], ["x_1", "x_2"]),
        (["1. Messung", "2. Messung"], ["1. Messung", "2. Messung"]),
        (["Trial 1 [mm]", "Trial 2 [mm]"], ["Trial 1 [mm]", "Trial 2 [mm]"]),
        (
            ["L A1", "L A2", "L B1", "L B2", "R A1", "R A2", "R B1", "R B2"],
            {
                "L": {"A": ["L A1", "L A2"], "B": ["L B1", "L B2"]},
                "R": {"A": ["R A1", "R A2"], "B": ["R B1", "R B2"]},
            },
        ),
    ],
)
def test_columns_that_nest(names: list[str], source: object) -> None:
    found = nest(names)
    assert found is not None
    assert found.source == source


@pytest.mark.parametrize(
    "names",
    [
        ["A1"],
        ["Width", "Gap"],
        ["A1", "A2", "B1"],
        ["Point 3", "Point 7"],
        ["A1", "B1"],
        ["W1", "W2", "Gap"],
    ],
)
def test_columns_that_do_not(names: list[str]) -> None:
    assert nest(names) is None


def test_stations_at_the_ends_of_names() -> None:
    assert by_station(["Width_L", "Width_R"]) == {"Width": {"L": "Width_L", "R": "Width_R"}}
    assert by_station(["Gap left [mm]", "Gap right [mm]"]) == {
        "Gap": {"left": "Gap left [mm]", "right": "Gap right [mm]"}
    }
    assert by_station(["W cav1", "W cav2", "G cav1", "G cav2"]) is not None
    assert by_station(["Width_L", "Gap_R"]) is None
    assert by_station(["Width", "Gap"]) is None
    assert by_station(["Width max", "Width min"]) is None


def test_pairs_of_a_position() -> None:
    assert xy_pairs(["Pos X", "Pos Y", "Width"]) == {"pos": ("Pos X", "Pos Y")}
    assert xy_pairs(["x", "z"]) == {}


@pytest.mark.parametrize(
    "names",
    [
        ["Width A1", "Width A2", "Gap A1", "Gap A2"],
        ["Width A1", "Width A2", "Width B1", "Width B2", "Gap A1", "Gap A2", "Gap B1"],
        ["A1", "A2", "B1", "B2"],
        ["Width L", "Width R", "Gap L", "Gap R"],
        ["Width A1", "Width A1 [mm]", "Gap A1", "Gap A2"],
    ],
)
def test_what_is_no_sheet_of_several_quantities(names: list[str]) -> None:
    assert by_quantity(names) is None


def test_people_by_name_and_units_behind() -> None:
    names = [
        f"{q} {who} {t} [mm]"
        for q in ("Slot width", "Gap")
        for who in ("Anna", "Bo")
        for t in (1, 2)
    ]
    found = by_quantity(names)
    assert found is not None
    assert list(found) == ["Slot width", "Gap"]
    assert found["Gap"].source == {
        who: [f"Gap {who} {t} [mm]" for t in (1, 2)] for who in ("Anna", "Bo")
    }
