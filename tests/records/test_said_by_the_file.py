"""What a file says itself need not be typed: limits, units, marks of no reading, grouped digits, encodings, judgements."""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

from linestudy.intake import draft_study
from linestudy.records.written.encodings import encoding_of

LIMITS = (2.8, 2.75, 2.85)


def said_of(
    folder: Path, rows: list[list[object]], mark: str = ";"
) -> tuple[tuple[object, ...], np.ndarray]:
    """Nominal and limits of the first characteristic, and its readings."""
    draft = draft_of(folder, "run.csv", delimited(rows, mark))
    item = draft.items[0]
    found = records_of(folder, draft).table("run", item.id)
    return (item.nominal, item.lower, item.upper), found["value"].to_numpy()


# -- limits

BELOW = {
    "German": [["Nennmaß", "2,80"], ["OTG", "2,85"], ["UTG", "2,75"], ["Einheit", "mm"]],
    "deviations": [["Nominal", 2.8], ["Upper tol", 0.05], ["Lower tol", -0.05]],
    "US": [["Unit", "mm"], ["LSL", 2.75], ["Target", 2.8], ["USL", 2.85]],
    "Chinese": [["公称值", 2.8], ["规格上限", 2.85], ["规格下限", 2.75]],
}


@pytest.mark.parametrize("kind", BELOW)
def test_limits_below_the_names_of_the_columns(tmp_path: Path, kind: str) -> None:
    decimal = "," if kind == "German" else "."
    rows = [["Teil", "Höhe"], *BELOW[kind]]
    rows += [[i + 1, f"{w:.4f}".replace(".", decimal)] for i, w in enumerate(WIDTHS)]
    limits, values = said_of(tmp_path, rows)
    assert limits == LIMITS
    np.testing.assert_array_equal(values, WIDTHS)


def test_people_called_max_and_min_are_no_limits(tmp_path: Path) -> None:
    rows = [["Part", "Operator", "Trial", "Width"]]
    rows += [[p, who, t, WIDTHS[p]] for who in ("Max", "Min") for p in range(10) for t in (1, 2)]
    swapped = [[row[1], row[0], *row[2:]] for row in rows]
    draft = draft_of(tmp_path, "g.csv", delimited(swapped))
    assert len(records_of(tmp_path, draft).table("crossed", draft.items[0].id)) == 40


def test_limits_in_columns_beside_the_readings(tmp_path: Path) -> None:
    rows = [["Shot", "Width", "LSL", "USL", "Nominal"]]
    rows += [[i, w, 2.75, 2.85, 2.8] for i, w in enumerate(WIDTHS)]
    limits, values = said_of(tmp_path, rows)
    assert limits == LIMITS
    np.testing.assert_array_equal(values, WIDTHS)


def test_limits_of_several_readings_by_their_names(tmp_path: Path) -> None:
    rows = [["Shot", "Width", "Width LSL", "Width USL", "Gap", "Gap USL", "LSL"]]
    rows += [[i, w, 2.75, 2.85, w - 2, 0.9, 0.1] for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert {item.name: (item.lower, item.upper) for item in draft.items} == {
        "Width": (2.75, 2.85),
        "Gap": (None, 0.9),
    }
    assert any('"LSL" is 0.1 in every row' in each for each in draft.tables[0].said.open)


def test_limits_in_the_name_of_the_column(tmp_path: Path) -> None:
    rows = [
        ["Shot", "Width 2.80±0.05 mm", "Burr max. 0.05 mm"],
        *([i, w, abs(w - 2.8)] for i, w in enumerate(WIDTHS)),
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert [(i.name, i.nominal, i.lower, i.upper, i.unit) for i in draft.items] == [
        ("Width", *LIMITS, "mm"),
        ("Burr", None, None, 0.05, "mm"),
    ]


# -- numbers


def test_grouped_digits_beside_decimal_points(tmp_path: Path) -> None:
    rows = [
        ["Shot", "Width", "Cycle ms"],
        *([f"{12_000 + i:,}", w, f"{1200 + i:,}"] for i, w in enumerate(WIDTHS)),
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows, ";"))
    np.testing.assert_array_equal(found["value"], WIDTHS)
    np.testing.assert_array_equal(found["order"], 12_000 + np.arange(40))


def test_a_unit_in_every_cell_is_that_of_its_column_alone(tmp_path: Path) -> None:
    rows = [
        ["Shot", "Width", "Share"],
        *([i, f"{w * 1000:.1f} µm", f"{40 + i} %"] for i, w in enumerate(WIDTHS)),
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert [item.unit for item in draft.items] == ["µm", "%"]
    assert draft.tables[0].said.key("units") == {"Width": "µm", "Share": "%"}


@pytest.mark.parametrize(
    "mark", ["n/a", "-", "####", "**", "OL", "no part", "k.A.", "#REF!", "미측정", "Kein Teil"]
)
def test_marks_of_no_reading_need_not_be_typed(tmp_path: Path, mark: str) -> None:
    values = [f"{w:.4f}" if i % 6 else mark for i, w in enumerate(WIDTHS)]
    found = the_run(
        tmp_path, "run.csv", delimited([["Shot", "Width"], *([i, v] for i, v in enumerate(values))])
    )
    np.testing.assert_array_equal(found["value"], [w for i, w in enumerate(WIDTHS) if i % 6])


# -- words of other countries

PLACES = {
    "cp1250 cs": (
        "cp1250",
        ";",
        ["Zdvih", "Čas", "Šířka nože [mm]", "Hodnocení"],
        "vyhovuje",
        "nevyhovuje",
    ),
    "cp1250 pl": (
        "cp1250",
        ";",
        ["Nr uderzenia", "Czas", "Szerokość ostrza [mm]", "Ocena"],
        "dobry",
        "zły",
    ),
    "cp1250 hu": (
        "cp1250",
        ";",
        ["Löket seq", "Time", "Szélesség mérő, tűrés [mm]", "Status"],
        "megfelelő",
        "nem megfelelő",
    ),
    "cp1251 ru": (
        "cp1251",
        ";",
        ["№ удара", "Время", "Ширина ножа [мм]", "Результат"],
        "годен",
        "брак",
    ),
    "cp949 ko": ("cp949", ",", ["순번", "측정일시", "폭(mm)", "판정"], "양호", "불량"),
    "cp1252 pt": (
        "cp1252",
        ";",
        ["Nº Golpe", "Data/Hora", "Largura (mm)", "Situação"],
        "aprovado",
        "reprovado",
    ),
    "utf-8 tr": ("utf-8-sig", ";", ["Vuruş", "Zaman", "Genişlik (mm)", "Sonuç"], "kabul", "ret"),
    "utf-16 es": ("utf-16", "\t", ["Golpe", "Fecha", "Ancho (mm)", "Resultado"], "bueno", "malo"),
}


@pytest.mark.parametrize("place", PLACES)
def test_exports_of_more_countries(tmp_path: Path, place: str) -> None:
    encoding, mark, head, good, bad = PLACES[place]
    rows: list[list[object]] = [head]
    rows += [
        [i + 1, f"{t:%d.%m.%Y %H:%M:%S}", f"{w:.4f}", bad if i % 9 == 4 else good]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows, mark, encoding))
    assert draft.items[0].name == head[2].partition("[")[0].partition("(")[0].strip()
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    np.testing.assert_array_equal(found["value"], WIDTHS)
    np.testing.assert_array_equal(found["order"], np.arange(1, 41))
    assert found["time"].tolist() == TIMES
    assert (~found["accepted"]).sum() == 4


@pytest.mark.parametrize(
    "text",
    ["Breite µm; Höhe; Größe; m³/h; Maß ² ³", "pièce; où; Dĺžka".replace("ĺž", "i"), "Città; più; perché; così", "Situação; medições; NÃO", "bredde; lengde; mål; øye; få"],
)  # fmt: skip
def test_letters_of_the_west_stay_windows_1252(text: str) -> None:
    assert encoding_of(text.encode("cp1252")) == "cp1252"


def test_sheets_of_judgements_without_a_drawing_stay_apart(tmp_path: Path) -> None:
    paths = []
    for name, words in (("weld", ("buono", "scarto")), ("scratch", ("годен", "брак"))):
        rows = [
            ["Part", "Reference", "A1", "A2"],
            *([i, *(words[(i * k) % 2] for k in (1, 2, 3))] for i in range(20)),
        ]
        paths.append(tmp_path / f"{name}.csv")
        paths[-1].write_bytes(delimited(rows))
    draft = draft_study(paths)
    assert [table.said.role for table in draft.tables] == ["attribute", "attribute"]
    assert [item.name for item in draft.items] == ["weld", "scratch"]


# -- JSON


@pytest.mark.parametrize("indent", [None, 2])
def test_a_document_with_readings_by_name(tmp_path: Path, indent: int | None) -> None:
    rows = [
        {"shot": i, "measurements": [{"name": "width", "value": float(w)}, {"name": "gap", "value": 1.0 + i / 99}][:: 1 if i % 2 else -1]}
        for i, w in enumerate(WIDTHS)
    ]  # fmt: skip
    content = json.dumps({"machine": "P3", "tags": ["a"], "data": rows}, indent=indent).encode()
    draft = draft_of(tmp_path, "cam.json", content)
    width = next(item for item in draft.items if "width" in item.name)
    found = records_of(tmp_path, draft).table("run", width.id)
    np.testing.assert_array_equal(found["value"], WIDTHS)


# -- several at once


def test_cells_in_two_units_are_told_and_turned(tmp_path: Path) -> None:
    rows = [
        ["Part", "Width"],
        *([i, f"{w:.4f} mm" if i % 3 else f"{w / 25.4:.9f} in"] for i, w in enumerate(WIDTHS)),
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert any(
        "has cells in in and mm; each is turned" in each for each in draft.tables[0].said.remarks
    )
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    np.testing.assert_allclose(found["value"], WIDTHS, atol=2e-8)


def test_two_stations_with_a_verdict_each_are_a_run(tmp_path: Path) -> None:
    rows = [["Shot", "Width L", "Verdict L", "Width R", "Verdict R"]]
    rows += [
        [i, w, "OK", v, "NOK" if i % 7 else "OK"]
        for i, (w, v) in enumerate(zip(WIDTHS, WIDTHS[::-1], strict=True))
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    said = draft.tables[0].said
    assert said.role == "run"
    assert said.key("across") == ["station"]
    assert any('are left out: "Verdict L", "Verdict R"' in each for each in said.open)
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    np.testing.assert_array_equal(found.loc[found["station"] == "L", "value"], WIDTHS)
    np.testing.assert_array_equal(found.loc[found["station"] == "R", "value"], WIDTHS[::-1])


# -- what would be taken for something else


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_subgroups_that_lie_across_are_turned_about(tmp_path: Path, kind: str) -> None:
    days = [t + datetime.timedelta(days=i) for i, t in enumerate(TIMES[:8])]
    rows = [["X-bar sheet"], ["Subgroup", *range(1, 9)], ["Date", *(f"{t:%d.%m.%Y}" for t in days)]]
    rows += [[f"x{j + 1}", *map(float, WIDTHS.reshape(8, 5)[:, j])] for j in range(5)]
    rows += [["Mean", *([2.8] * 8)], ["R", *([0.02] * 8)]]
    content = delimited(rows, ";") if kind == "csv" else workbook(rows)
    draft = draft_of(tmp_path, f"xbar.{kind}", content)
    assert draft.tables[0].said.key("transpose") is True
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert [t.date() for t in found["time"]] == [d.date() for d in days for _ in range(5)]
    assert found["subgroup"].nunique() == 8


def test_deviations_are_no_sizes(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_bytes(
        delimited([["Name", "Nominal", "LSL", "USL", "Unit"], ["Width", *LIMITS, "mm"]])
    )
    rows = [
        ["Shot", "Width dev [µm]"],
        *([i, round((w - 2.8) * 1000, 1)] for i, w in enumerate(WIDTHS)),
    ]
    (tmp_path / "run.csv").write_bytes(delimited(rows))
    draft = draft_study([tmp_path / "list.csv", tmp_path / "run.csv"])
    assert any("holds deviations from the nominal of Width, 2.8" in each for each in draft.doubts())
    assert not any("columns" in keys for keys, _ in draft.data_tables())


def test_uncertainties_of_masters_are_no_readings(tmp_path: Path) -> None:
    known = np.repeat([2.75, 2.8, 2.85], 8)
    rows = [["Master", "True value [mm]", "U (k=2) [µm]", "Reading [mm]"]]
    rows += [[f"M{i // 8}", k, 0.5, k + i / 10_000] for i, k in enumerate(known)]
    draft = draft_of(tmp_path, "masters.csv", delimited(rows))
    assert len(draft.items) == 1
    assert any("reference_uncertainty" in each for each in draft.tables[0].said.open)
    found = records_of(tmp_path, draft).table("reference", draft.items[0].id)
    np.testing.assert_array_equal(found["reference"], known)


def test_noughts_in_most_rows_are_no_rejections(tmp_path: Path) -> None:
    rows = [["#", "Timestamp", "Width", "Verdict"]]
    rows += [
        [i, f"{t:%d.%m.%Y %H:%M:%S},{i:03d}", w, int(i % 9 == 0)]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    draft = draft_of(tmp_path, "cam.csv", delimited(rows, "\t"))
    assert any("0 is taken for accepted" in each for each in draft.tables[0].said.open)
    found = records_of(tmp_path, draft).table("run", "width")
    assert found["accepted"].sum() == 35
    assert (found["time"].dt.floor("s").tolist()) == TIMES
