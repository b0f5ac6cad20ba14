"""Exports of plants in the ways they come: clocks that count seconds, verdicts by quantity, kinds of value in one column, rows of limits.

Every file is written here, and its truth is what was written.
"""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

from linestudy.records import infer_data_table
from linestudy.results import InputError


def _comma(number: float, digits: int = 4) -> str:
    return f"{number:.{digits}f}".replace(".", ",")


# -- the clock


@pytest.mark.parametrize(
    ("parts", "name"), [(1, "timestamp"), (1_000, "ts"), (1_000_000_000, "Zeitstempel")]
)
def test_times_since_1970_are_a_clock(tmp_path: Path, parts: int, name: str) -> None:
    rows: list[list[object]] = [["Shot", name, "Width"]]
    for i, (time, width) in enumerate(zip(TIMES, WIDTHS, strict=True)):
        seconds = round(time.replace(tzinfo=datetime.UTC).timestamp())
        rows.append([i + 1, seconds * parts, width])
    found = the_run(tmp_path, "run.csv", delimited(rows))
    assert found["time"].tolist() == TIMES
    np.testing.assert_array_equal(found["order"], np.arange(1, 41))


def test_large_numbers_that_say_no_time_stay_numbers(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["Serial", "Width"],
        *([1_788_473_100 + i, w] for i, w in enumerate(WIDTHS)),
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows))
    assert "time" not in found
    np.testing.assert_array_equal(found["value"], WIDTHS)


@pytest.mark.parametrize(
    "layout",
    ["%d/%m/%y %H:%M", "%d-%m-%Y %H:%M:%S", "%d.%m.%Y, %H:%M", "%Y.%m.%d %H:%M", "%Y%m%d%H%M%S", "%m/%d/%y %I:%M %p"],
)  # fmt: skip
def test_more_ways_to_write_a_time(tmp_path: Path, layout: str) -> None:
    rows: list[list[object]] = [["No", "Time", "Width"]]
    rows += [
        [i + 1, f"{t:{layout}}", _comma(w)]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    assert the_run(tmp_path, "run.csv", delimited(rows, ";"))["time"].tolist() == TIMES


@pytest.mark.parametrize("halves", [("오전", "오후"), ("上午", "下午"), ("午前", "午後")])
def test_halves_of_the_day_in_east_asia(tmp_path: Path, halves: tuple[str, str]) -> None:
    rows: list[list[object]] = [["No", "Time", "Width"]]
    rows += [
        [i + 1, f"{t:%Y/%m/%d} {halves[t.hour >= 12]} {t:%I:%M:%S}", w]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    assert the_run(tmp_path, "run.csv", delimited(rows))["time"].tolist() == TIMES


# -- verdicts and kinds of value


def test_a_verdict_of_each_quantity_is_the_lines_verdict(tmp_path: Path) -> None:
    bad = [[i % 9 == 4, i % 7 == 3] for i in range(40)]
    rows: list[list[object]] = [["Shot", "Width", "Width result", "Gap", "Gap result"]]
    rows += [
        [i + 1, w, "NG" if bad[i][0] else "OK", 1 + i / 100, "NG" if bad[i][1] else "OK"]
        for i, w in enumerate(WIDTHS)
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert draft.tables[0].said.key("verdict") == ["Width result", "Gap result"]
    for item in ("width", "gap"):
        found = records_of(tmp_path, draft).table("run", item)
        assert found is not None
        assert found["accepted"].tolist() == [not any(each) for each in bad]


def test_one_blank_verdict_of_two_hides_no_rejection(tmp_path: Path) -> None:
    cells = [("OK", "OK"), ("", "NG"), ("NG", ""), ("OK", ""), ("", "OK")] * 8
    rows: list[list[object]] = [["Shot", "Width", "Result 1", "Gap", "Result 2"]]
    rows += [
        [i + 1, w, a, w - 1.8, b] for i, (w, (a, b)) in enumerate(zip(WIDTHS, cells, strict=True))
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows))
    kept = [pair for pair in cells if "NG" in pair or "" not in pair]
    assert found["accepted"].tolist() == ["NG" not in pair for pair in kept]


@pytest.mark.parametrize("name", ["Prüfmerkmal", "Type", "Messung"])
def test_what_each_value_is_of_stands_beside_it(tmp_path: Path, name: str) -> None:
    rows: list[list[object]] = [[name, "Teil-Nr.", "Datum", "Uhrzeit", "Istwert", "Bewertung"]]
    for i, w in enumerate(WIDTHS):
        for what, value in (("Höhe", w), ("Grat", 0.02 + i / 2000), ("Winkel", 87.2 + w)):
            clock = (f"{TIMES[i]:%d.%m.%Y}", f"{TIMES[i]:%H:%M}")
            rows.append([what, i + 1, *clock, _comma(value, 6), "n.i.O." if i % 9 == 4 else "i.O."])
    draft = draft_of(tmp_path, "Prüfbericht Höhe.csv", delimited(rows, ";", "cp1252"))
    assert draft.tables[0].said.role == "run"
    assert sorted(item.name for item in draft.items) == ["Grat", "Höhe", "Winkel"]
    height = next(item for item in draft.items if item.name == "Höhe")
    found = records_of(tmp_path, draft).table("run", height.id)
    assert found is not None
    np.testing.assert_allclose(found["value"], WIDTHS, atol=1e-9)
    assert found["time"].tolist() == TIMES
    assert (~found["accepted"]).sum() == 4


def test_cameras_with_equal_readings_are_no_kinds_of_value(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Machine", "Width"]]
    rows += [[i + 1, "AB"[i % 2], w] for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert draft.tables[0].said.key("long") is None


def test_judgements_of_parts_stay_judgements(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Part", "Reference", "A1", "A2", "B1", "B2"]]
    rows += [[i, *("ok" if (i * k) % 3 else "nok" for k in range(1, 6))] for i in range(30)]
    assert draft_of(tmp_path, "weld.csv", delimited(rows)).tables[0].said.role == "attribute"


# -- rows below the header, names, encodings


def test_units_limits_and_averages_among_the_rows_of_a_french_camera(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["Pièce", "Heure", "Largeur", "Hauteur"],
        ["n°", "hh:mm:ss", "mm", "µm"],
        ["Tol. inf.", "", "2,75", "100"],
        ["Tol. sup.", "", "2,85", "140"],
    ]
    for i, w in enumerate(WIDTHS):
        rows.append([i + 1, f"{TIMES[i]:%H:%M:%S}", _comma(w), _comma(120 + i / 10, 2)])
        if i % 10 == 9:
            rows += [["Moyenne", "", "2,8", "120"], ["Écart-type", "", "0,01", "7"]]
    draft = draft_of(tmp_path, "caméra.txt", delimited(rows, "\t", "cp1252"))
    said = {item.name: (item.unit, item.lower, item.upper) for item in draft.items}
    assert said == {"Largeur": ("mm", 2.75, 2.85), "Hauteur": ("µm", 100.0, 140.0)}
    found = records_of(tmp_path, draft).table("run", "largeur")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_a_row_of_specifications_in_chinese(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["序号", "长度(mm)", "宽度(mm)"],
        ["规格", "10.00±0.05", "2.80±0.05"],
    ]
    rows += [[i + 1, f"{7.2 + w:.4f}", w] for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "测量.csv", delimited(rows, ",", "gb18030"))
    said = {item.name: (item.nominal, item.lower, item.upper) for item in draft.items}
    assert said == {"长度": (10.0, 9.95, 10.05), "宽度": (2.8, 2.75, 2.85)}
    found = records_of(tmp_path, draft).table("run", draft.items[1].id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


@pytest.mark.parametrize(
    "trials",
    [("1차", "2차", "3차"), ("第1次", "第2次", "第3次"), ("Pomiar I", "Pomiar II", "Pomiar III")],
)
def test_trials_that_lie_across(tmp_path: Path, trials: tuple[str, ...]) -> None:
    values = WIDTHS[:36].reshape(2, 6, 3)
    rows: list[list[object]] = [["부품번호", "작업자", *trials]]
    rows += [
        [part + 1, who, *values[a, part]] for a, who in enumerate(("김", "박")) for part in range(6)
    ]
    rows[-1][-1] = ""
    draft = draft_of(tmp_path, "msa.csv", delimited(rows))
    assert draft.tables[0].said.role == "crossed"
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert found is not None
    assert len(found) == 35
    second = found[(found["appraiser"] == "박") & (found["trial"].astype(str) == "2")]
    np.testing.assert_array_equal(second["value"], values[1, :, 1])


def test_powers_of_ten_with_decimal_commas(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Index", "Width"]]
    rows += [[i + 1, f"{w:.4E}".replace(".", ",")] for i, w in enumerate(WIDTHS)]
    np.testing.assert_allclose(the_run(tmp_path, "run.csv", delimited(rows, ";"))["value"], WIDTHS)


def test_readings_below_a_number_are_told(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Burr"]]
    rows += [[i + 1, "<0.01" if i % 5 == 1 else 0.01 + i / 1000] for i in range(40)]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert any("8 cells of" in told and '"<0.01"' in told for told in draft.tables[0].said.open)
    with pytest.raises(InputError, match=r"line 3.*lies beyond the number"):
        records_of(tmp_path, draft)


def test_a_sheet_of_averages_alone_is_no_table(tmp_path: Path) -> None:
    def add(book: object) -> None:
        sheet = book.create_sheet("Auswertung")  # type: ignore[attr-defined]
        for row in (["Mittelwert", 2.8], ["s", 0.01], ["Cpk", 1.5], ["n", 40]):
            sheet.append(row)

    rows: list[list[object]] = [["No", "Width"], *([i + 1, float(w)] for i, w in enumerate(WIDTHS))]
    draft = draft_of(tmp_path, "Werte Sept.xlsx", workbook(rows, add))
    assert [item.name for item in draft.items] == ["Width"]


def test_a_file_without_readings_says_so(tmp_path: Path) -> None:
    path = tmp_path / "words.csv"
    path.write_text("Name;Town\nA;B\nC;D\n", encoding="utf-8")
    assert "no column of readings was recognised" in infer_data_table(path)


# -- how the table is made


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_log_without_names_loses_no_row(tmp_path: Path, kind: str) -> None:
    rows: list[list[object]] = [
        [i + 1, f"{t:%d.%m.%Y %H:%M:%S}", float(w), "NG" if i % 9 == 4 else "OK"]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    content = delimited(rows, ";") if kind == "csv" else workbook(rows)
    found = the_run(tmp_path, f"log.{kind}", content)
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["time"].tolist() == TIMES
    assert (~found["accepted"]).sum() == 4


def test_people_side_by_side_with_the_trial_in_the_row(tmp_path: Path) -> None:
    parts = np.repeat(np.linspace(2.75, 2.85, 8), 3)
    noise = (WIDTHS.reshape(4, 10)[:3, :8] - 2.8) / 20
    values = np.round(parts[None, :] + np.repeat(noise, 3, axis=1), 5)
    rows: list[list[object]] = [["Part", "Trial", "Anna", "Bert", "Carla"]]
    rows += [[i // 3 + 1, i % 3 + 1, *values[:, i]] for i in range(24)]
    draft = draft_of(tmp_path, "msa.csv", delimited(rows))
    assert draft.tables[0].said.key("across") == ["appraiser"]
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert found is not None
    for at, who in enumerate(("Anna", "Bert", "Carla")):
        mine = found[found["appraiser"] == who]
        np.testing.assert_array_equal(mine["value"], values[at])


def test_two_quantities_of_the_same_parts_are_no_people(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Part", "Trial", "Width", "Gap"]]
    rows += [[i // 3 + 1, i % 3 + 1, w, round(9 - 3 * w, 4)] for i, w in enumerate(WIDTHS[:24])]
    draft = draft_of(tmp_path, "msa.csv", delimited(rows))
    assert draft.tables[0].said.key("across") is None


def test_both_characteristics_of_a_gauge_study_in_one_column(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Merkmal", "Teil", "Prüfer", "Versuch", "Messwert"]]
    for i, w in enumerate(WIDTHS):
        tags = [i % 10 + 1, "AB"[i // 20], i // 10 % 2 + 1]
        rows += [["Breite", *tags, _comma(w)], ["Höhe", *tags, _comma(w + 3)]]
    draft = draft_of(tmp_path, "msa.csv", delimited(rows, ";"))
    assert draft.tables[0].said.role == "crossed"
    found = records_of(tmp_path, draft).table("crossed", "breite")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_what_is_right_beside_what_was_judged(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Part", "Inspector", "Trial", "Decision", "Truth"]]
    rows += [
        [
            p + 1,
            who,
            t + 1,
            "Accept" if (p * 7 + t) % 5 else "Reject",
            "Accept" if p % 5 else "Reject",
        ]
        for p in range(20)
        for who in ("Kim", "Lee")
        for t in range(2)
    ]
    said = draft_of(tmp_path, "visual.csv", delimited(rows)).tables[0].said
    keys = [said.key(key) for key in ("judgement", "reference", "appraiser", "trial")]
    assert keys == ["Decision", "Truth", "Inspector", "Trial"]


def test_masters_whose_values_are_called_nominal(tmp_path: Path) -> None:
    known = np.repeat([2.7, 2.75, 2.8, 2.85], 10)
    rows: list[list[object]] = [["Normal", "Sollwert", "Istwert", "Abweichung"]]
    rows += [
        [f"N{i // 10}", k, round(k + w - 2.8, 4), round(w - 2.8, 4)]
        for i, (k, w) in enumerate(zip(known, WIDTHS, strict=True))
    ]
    draft = draft_of(tmp_path, "masters.csv", delimited(rows))
    assert [item.name for item in draft.items] == ["Istwert"]
    found = records_of(tmp_path, draft).table("reference", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(found["reference"], known)


def test_limits_and_indices_below_the_readings_are_none(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Sample", "Length"], *([i + 1, w] for i, w in enumerate(WIDTHS))]
    rows += [
        ["Nominal", 2.8],
        ["Upper Spec", 2.85],
        ["Lower Spec", 2.75],
        ["Std. Dev.", 0.01],
        ["CPU", 1.5],
        ["Pass/Fail", "PASS"],
    ]
    np.testing.assert_array_equal(the_run(tmp_path, "run.csv", delimited(rows))["value"], WIDTHS)


def test_minus_signs_and_stars_behind_numbers(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Offset"]]
    rows += [
        [i + 1, f"{_comma(abs(w - 2.8))}{'-' if w < 2.8 else '*' if i % 5 == 0 else ''}"]
        for i, w in enumerate(WIDTHS)
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows, ";"))
    assert any("bear a star; the reading counts" in told for told in draft.tables[0].said.open)
    found = records_of(tmp_path, draft).table("run", "offset")
    assert found is not None
    np.testing.assert_allclose(found["value"], WIDTHS - 2.8, atol=1e-12)


def test_heights_in_whole_micrometres_at_stations(tmp_path: Path) -> None:
    heights = np.round(1000 * (WIDTHS - 2.7)).astype(int)
    rows: list[list[object]] = [["Nr", "Station L Höhe [µm]", "Station R Höhe [µm]"]]
    rows += [[i + 1, int(h), int(h) + 3] for i, h in enumerate(heights)]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert draft.tables[0].said.key("across") == ["station"]
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    assert found is not None
    left = found[found["station"] == "L"]
    np.testing.assert_allclose(left["value"] * 1000, heights, atol=1e-9)


def test_a_table_drawn_with_signs(tmp_path: Path) -> None:
    text = "| No | Width |\n|----|-------|\n" + "".join(
        f"| {i + 1} | {w} |\n" for i, w in enumerate(WIDTHS)
    )
    np.testing.assert_array_equal(the_run(tmp_path, "run.txt", text.encode())["value"], WIDTHS)


def test_a_gauge_sheet_whose_appraiser_is_written_once(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Appraiser", "Part #", "Trial 1", "Trial 2", "Avg", "Range"]]
    for a, who in enumerate(("J. Smith", "R. Jones")):
        for p in range(10):
            pair = WIDTHS[20 * a + 2 * p : 20 * a + 2 * p + 2]
            rows.append(
                ["" if p else who, p + 1, *pair, round(pair.mean(), 4), round(np.ptp(pair), 4)]
            )
    draft = draft_of(tmp_path, "grr.csv", delimited(rows))
    said = draft.tables[0].said
    assert [said.key(key) for key in ("part", "appraiser", "across")] == [
        "Part #",
        "Appraiser",
        ["trial"],
    ]
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["appraiser"].tolist() == ["J. Smith"] * 20 + ["R. Jones"] * 20


def test_a_feature_in_two_units_is_read_in_one(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Feature", "Part", "Value", "Unit"]]
    rows += [
        ["Width", i, *((w, "mm") if i % 2 else (round(w / 25.4, 6), "in"))]
        for i, w in enumerate(WIDTHS)
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert draft.tables[0].said.key("long")["unit"] == "Unit"
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_allclose(found["value"], WIDTHS, atol=1e-4)
    # A unit that nobody knows is turned into none, and told.
    strange = [[*row[:3], "ell" if row[3] == "in" else row[3]] for row in rows]
    told = draft_of(tmp_path, "strange.csv", delimited(strange)).tables[0].said.open
    assert any('"Width" has rows in ell and mm' in each for each in told)


def test_hours_with_points(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Pezzo", "Data", "Ora", "Larghezza"]]
    rows += [
        [i + 1, f"{t:%d/%m/%Y}", f"{t:%H.%M.%S}", w]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    assert the_run(tmp_path, "run.csv", delimited(rows, ";"))["time"].tolist() == TIMES
