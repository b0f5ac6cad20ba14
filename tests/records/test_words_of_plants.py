"""Verdicts, times, quotes, part names as more plants write them; each file has its truth."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of, the_run

from linestudy.results import InputError

TEXTS = [f"{width:.4f}" for width in WIDTHS]
BAD = [i % 13 == 5 for i in range(len(WIDTHS))]


def _judged(name: str, good: str, bad: str) -> bytes:
    rows = [[i + 1, TEXTS[i], bad if BAD[i] else good] for i in range(len(WIDTHS))]
    return delimited([["Stroke", "Width", name], *rows], ";")


@pytest.mark.parametrize(
    "words",
    ["ja nein", "oui non", "sì no", "tak nie", "ano ne", "igen nem", "evet hayır", "да нет", "P F", "G B", "Y N", "VRAI FAUX", "WAHR FALSCH", "gut Ausschuss"],
)  # fmt: skip
def test_verdicts_in_words_of_more_languages(tmp_path: Path, words: str) -> None:
    good, bad = words.split()
    table = the_run(tmp_path, "log.csv", _judged("Result", good, bad))
    assert table["accepted"].tolist() == [not each for each in BAD]


@pytest.mark.parametrize("name", ["Defekt", "Reject?", "n.i.O."])
def test_yes_rejects_where_the_name_asks_for_a_fault(tmp_path: Path, name: str) -> None:
    draft = draft_of(tmp_path, "log.csv", _judged(name, "nein", "ja"))
    table = records_of(tmp_path, draft).table("run", "width")
    assert table is not None
    assert table["accepted"].tolist() == [not each for each in BAD]
    assert any("asks for what is wrong" in each for each in draft.tables[0].said.open)


def test_yes_and_no_to_another_question_is_no_verdict(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "log.csv", _judged("Lubricated", "yes", "no"))
    assert draft.tables[0].said.key("verdict") is None
    assert any('verdict = "Lubricated" ?' in each for each in draft.tables[0].said.open)


def test_operators_called_nought_and_one_judge_nothing(tmp_path: Path) -> None:
    rows = [[f"{p}-10", o, t, TEXTS[(7 * p + 3 * o + t) % 40]] for p in range(1, 11) for o in (0, 1) for t in (1, 2, 3)]  # fmt: skip
    content = delimited([["Part", "Operator", "Trial", "Width"], *rows])
    (table,) = draft_of(tmp_path, "msa.csv", content).tables
    assert table.said.role == "crossed"
    assert [table.said.key(key) for key in ("part", "appraiser", "trial")] == ["Part", "Operator", "Trial"]  # fmt: skip


@pytest.mark.parametrize("name", ["PN", "P/N", "Ident-Nr."])
def test_part_numbers_under_short_names_are_asked_for(tmp_path: Path, name: str) -> None:
    rows = [[f"4711-{'AB'[i % 2]}", i + 1, TEXTS[i]] for i in range(40)]
    draft = draft_of(tmp_path, "log.csv", delimited([[name, "Stroke", "Width"], *rows], ";"))
    assert draft.tables[0].said.parts == ((name, ("4711-A", "4711-B")),)


@pytest.mark.parametrize("document", ["columns", "names apart", "rows of lists"])
def test_json_by_columns(tmp_path: Path, document: str) -> None:
    rows = [[i + 1, float(TEXTS[i])] for i in range(40)]
    content = {
        "columns": {"line": 4, "stroke": [row[0] for row in rows], "width": [row[1] for row in rows]},
        "names apart": {"meta": {"line": 4}, "columns": ["stroke", "width"], "data": rows},
        "rows of lists": [["stroke", "width"], *rows],
    }[document]  # fmt: skip
    table = the_run(tmp_path, "log.json", json.dumps(content).encode())
    assert np.allclose(table["value"], WIDTHS)


def test_lines_in_quotes_are_lines(tmp_path: Path) -> None:
    lines = ["Stroke,Remark,Width"] + [f'{i + 1},""ok, so far"",{TEXTS[i]}' for i in range(40)]
    table = the_run(tmp_path, "log.csv", "\n".join(f'"{line}"' for line in lines).encode())
    assert np.allclose(table["value"], WIDTHS)


def test_decimal_commas_between_commas_are_told(tmp_path: Path) -> None:
    lines = ["Stroke,Width"] + [f"{i + 1},{TEXTS[i].replace('.', ',')}" for i in range(40)]
    with pytest.raises(InputError, match="semicolons"):
        draft_of(tmp_path, "log.csv", "\n".join(lines).encode())


def test_a_czech_list_of_the_drawing_and_a_form_tolerance_alone(tmp_path: Path) -> None:
    rows = [
        ["Poz.", "Znak", "Jmenovitý rozměr", "Horní úchylka", "Dolní úchylka", "Jednotka"],
        [1, "Šířka", "2,8", "0,05", "-0,05", "mm"],
        [2, "Otřep", 0, "0,1", "", "mm"],
    ]
    (tmp_path / "cz").mkdir()
    items = draft_of(tmp_path / "cz", "list.csv", delimited(rows, ";", "cp1250")).items
    assert [(item.name, item.lower, item.upper) for item in items] == [("Šířka", 2.75, 2.85), ("Otřep", None, 0.1)]  # fmt: skip
    rows = [["#", "Characteristic", "Tolerance"], [1, "Gap", "0.50 ±0.04 mm"], [2, "Flatness", "0.05 mm"], [3, "Length", "7.5 mm"]]  # fmt: skip
    (tmp_path / "en").mkdir()
    items = draft_of(tmp_path / "en", "list.csv", delimited(rows, ";")).items
    # Of a length nobody knows what a number alone means: its limits are asked for.
    assert [(item.lower, item.upper) for item in items] == [(0.46, 0.54), (None, 0.05), (None, None)]  # fmt: skip


def test_people_whose_names_stand_over_each_of_their_trials(tmp_path: Path) -> None:
    head = [["Part", "A", "A", "A", "B", "B", "B"], ["", 1, 2, 3, 1, 2, 3]]
    rows = [[i + 1, *TEXTS[6 * i : 6 * i + 6]] for i in range(6)]
    draft = draft_of(tmp_path, "grr.csv", delimited([*head, *rows], ";"))
    (table,) = draft.tables
    assert table.said.role == "crossed"
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert found is not None
    one = found[(found["part"] == "2") & (found["appraiser"] == "B") & (found["trial"] == "3")]
    assert one["value"].tolist() == [WIDTHS[11]]


def test_readings_of_a_document_bear_the_name_above_their_value(tmp_path: Path) -> None:
    rows = [
        {"shot": i + 1, "meas": [{"name": "Height", "value": float(TEXTS[i]), "unit": "mm", "lsl": 2.7, "usl": 2.9}]}
        for i in range(40)
    ]  # fmt: skip
    content = "\n".join(map(json.dumps, rows)).encode()
    draft = draft_of(tmp_path, "mes.jsonl", content)
    (item,) = draft.items
    assert (item.name, item.lower, item.upper) == ("Height", 2.7, 2.9)
    assert not draft.tables[0].said.open
