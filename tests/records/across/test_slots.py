"""Columns of wide sheets of every role: whose reading each holds."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from wide_sheets import CROSSED, HEADER, records, sheet

from linestudy.results import InputError


def test_a_crossed_sheet(tmp_path: Path) -> None:
    text, values = sheet(HEADER)
    found = records(tmp_path, text, CROSSED)
    table = found.table("crossed", "w")
    assert len(table) == 60
    seen = table.pivot_table(index="part", columns=["appraiser", "trial"], values="value")
    seen = seen.loc[[str(i) for i in range(1, 11)]]
    np.testing.assert_allclose(seen.to_numpy(), values)
    account = found.ledger.accounts[2]
    assert (account.rows_read, account.rows_used) == (10, 10)
    assert (account.values["w"].read, account.values["w"].used) == (60, 60)
    assert account.values["w"].columns == 6


def test_a_crossed_sheet_without_appraisers_and_with_streams(tmp_path: Path) -> None:
    text, _ = sheet("Part,A1,A2,A3,B1,B2,B3")
    alone = CROSSED.replace('{ A = ["A1", "A2", "A3"], B = ["B1", "B2", "B3"] }', '["A1", "A2"]')
    table = records(tmp_path, text, alone).table("crossed", "w")
    assert "appraiser" not in table
    assert sorted(set(table["trial"])) == ["1", "2"]
    deep = CROSSED.replace(
        '{ A = ["A1", "A2", "A3"], B = ["B1", "B2", "B3"] }',
        '{ L = { A = ["A1"], B = ["A2"] }, R = { A = ["B1"], B = ["B2"] } }',
    )
    table = records(tmp_path, text, deep).table("crossed", "w")
    assert set(zip(table["station"], table["appraiser"], table["trial"], strict=True)) == {
        (s, a, "1") for s in "LR" for a in "AB"
    }


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_two_header_rows(tmp_path: Path, mark: str) -> None:
    text, values = sheet(HEADER)
    body = text.split("\n", 1)[1].replace(",", mark)
    head = mark.join(["Part", "Anna", "", "", "Bert", "", ""])
    below = mark.join(["", "1", "2", "3", "1", "2", "3"])
    keys = CROSSED.replace('"A1", "A2", "A3"', '"Anna 1", "Anna 2", "Anna 3"').replace(
        '"B1", "B2", "B3"', '"Bert 1", "Bert 2", "Bert 3"'
    )
    found = records(tmp_path, f"Line 4\n{head}\n{below}\n{body}", keys)
    assert found.table("crossed", "w")["value"].tolist() == pytest.approx(values.ravel().tolist())
    assert found.ledger.accounts[2].rows_read == 10


def test_a_run_by_station(tmp_path: Path) -> None:
    text, values = sheet("Stroke,WL,WR,c,d,e,f")
    keys = 'role = "run"\norder = "Stroke"\ncolumns = { w = { L = "WL", R = "WR" } }\n'
    table = records(tmp_path, text, keys).table("run", "w")
    assert table["order"].tolist() == [i for i in range(1, 11) for _ in range(2)]
    assert table["station"].tolist() == ["L", "R"] * 10
    assert table["value"].tolist() == pytest.approx(values[:, :2].ravel().tolist())


@pytest.mark.parametrize(
    ("order", "numbers"), [("", range(1, 61)), ('order = "No"\n', range(1, 61))]
)
def test_a_row_of_neighbours_is_a_subgroup(tmp_path: Path, order: str, numbers: range) -> None:
    text, values = sheet("No,a,b,c,d,e,f")
    keys = f'role = "run"\n{order}columns = {{ w = ["a", "b", "c", "d", "e", "f"] }}\n'
    found = records(tmp_path, text, keys)
    table = found.table("run", "w")
    assert table["order"].tolist() == list(numbers)
    assert table["subgroup"].tolist() == [i for i in range(10) for _ in range(6)]
    assert table["value"].tolist() == pytest.approx(values.ravel().tolist())
    told = any("numbered through" in item.evidence for item in found.sources[2].seen)
    assert told == bool(order)


def test_strokes_far_enough_apart_are_kept(tmp_path: Path) -> None:
    keys = 'role = "run"\norder = "No"\ncolumns = { w = ["a", "b"] }\n'
    table = records(tmp_path, "No,a,b\n1,3,4\n251,5,6\n501,7,8\n", keys).table("run", "w")
    assert table["order"].tolist() == [1, 2, 251, 252, 501, 502]
    assert table["subgroup"].tolist() == [0, 0, 1, 1, 2, 2]


def test_positions_and_pairs(tmp_path: Path) -> None:
    keys = 'role = "run"\ncolumns = { pos = { L = ["a", "b"], R = ["c", "d"] } }\n'
    table = records(tmp_path, "a,b,c,d\n3,4,0,1\n", keys).table("run", "pos")
    assert table["value"].tolist()[-2:] == [10.0, 2.0]
    keys = 'role = "paired"\ngauges = ["g", "h"]\npart = "P"\n'
    keys += 'columns = { w = { L = ["a", "b"], R = ["c", "d"] } }\n'
    table = records(tmp_path, "P,a,b,c,d\n1,3,4,5,6\n", keys).table("paired", "w")
    assert table[["first", "second"]].to_numpy().tolist() == [[3, 4], [5, 6]]
    assert table["station"].tolist() == ["L", "R"]


def test_coils_across(tmp_path: Path) -> None:
    text, values = sheet("No,c1,c2,c3,d,e,f")
    keys = 'role = "nested"\nlevels = ["coil"]\n'
    keys += 'columns = { w = { "coil 1" = "c1", "coil 2" = "c2", "coil 3" = "c3" } }\n'
    table = records(tmp_path, text, keys).table("nested", "w")
    assert table.attrs["levels"] == ("coil",)
    means = table.groupby("coil")["value"].mean()
    assert means.to_numpy() == pytest.approx(values[:, :3].mean(axis=0))


def test_specimens_across(tmp_path: Path) -> None:
    keys = 'role = "nested"\nlevels = ["coil"]\ncolumns = { w = ["p1", "p2"] }\n'
    table = records(tmp_path, "coil,p1,p2\na,3,4\nb,5,6\n", keys).table("nested", "w")
    assert table["value"].groupby(table["coil"]).sum().tolist() == [7, 11]
    assert "specimen" not in table


def test_masters_across_and_by_name(tmp_path: Path) -> None:
    keys = 'role = "reference"\ngauge = "g"\n'
    wide = keys + 'columns = { w = { M1 = "a", M2 = "b" } }\nreference = { M1 = 3.0, M2 = 4.0 }\n'
    table = records(tmp_path, "a,b\n3.1,4.1\n3.2,4.2\n", wide).table("reference", "w")
    assert (table["value"] - table["reference"]).tolist() == pytest.approx([0.1, 0.1, 0.2, 0.2])
    with pytest.raises(InputError, match='no reference of "M2"'):
        records(tmp_path, "a,b\n3.1,4.1\n", wide.replace(", M2 = 4.0", ""))
    long = keys + 'part = "P"\ncolumns = { w = ["a", "b"] }\nreference = { M1 = 3.0, M2 = 4.0 }\n'
    found = records(tmp_path, "P,a,b\nM1,3.1,3.2\nM2,4.1,4.2\nM3,1,1\n", long)
    assert found.table("reference", "w")["reference"].tolist() == [3, 3, 4, 4]
    assert found.ledger.accounts[2].set_aside == {"no reference given": 1}


def test_each_column_has_its_own_unit(tmp_path: Path) -> None:
    keys = 'role = "reference"\ngauge = "g"\nreference = "Master [mm]"\ncolumns = { w = "Camera [in]" }\n'
    text = "Master [mm],Camera [in]\n2.54,0.1\n5.08,0.2\n"
    found = records(tmp_path, text, keys)
    table = found.table("reference", "w")
    assert table["value"].tolist() == pytest.approx([2.54, 5.08])
    assert table["reference"].tolist() == pytest.approx([2.54, 5.08])
    stated = (
        keys.replace(" [mm]", "").replace(" [in]", "") + 'unit = "in"\nunits = { Master = "mm" }\n'
    )
    table = records(tmp_path, text.replace(" [mm]", "").replace(" [in]", ""), stated).table(
        "reference", "w"
    )
    assert (table["value"] - table["reference"]).tolist() == pytest.approx([0, 0])


def test_the_row_of_units_holds_column_by_column(tmp_path: Path) -> None:
    keys = 'role = "reference"\ngauge = "g"\nreference = "Master"\ncolumns = { w = "Camera" }\n'
    table = records(tmp_path, "Master,Camera\nmm,in\n2.54,0.1\n5.08,0.2\n", keys).table(
        "reference", "w"
    )
    assert (table["value"] - table["reference"]).tolist() == pytest.approx([0, 0])
