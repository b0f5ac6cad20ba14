"""Averages, indices and footers below the readings, in the words of many a plant: none of them is a reading."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run

from linestudy.records.rows.totals import is_total, totals_below

#: Language → what stands below a column of readings, label and number.
BELOW = {
    "de": ["Anzahl", "Mittelwert", "Std.-Abw.", "Größtwert", "Kleinstwert", "Spannweite", "Cp", "Cpk"],
    "fr": ["Nombre", "Moyenne", "Écart type", "Minimum", "Maximum", "Étendue"],
    "es": ["Promedio", "Desv. est.", "Mínimo", "Máximo", "Rango"],
    "pt": ["Média", "Desvio padrão", "Mín.", "Máx.", "Amplitude"],
    "it": ["Media", "Dev. std.", "Minimo", "Massimo", "Escursione"],
    "cs": ["Průměr", "Směrodatná odchylka", "Minimum", "Maximum", "Rozpětí"],
    "pl": ["Średnia", "Odchylenie std.", "Rozstęp"],
    "us": ["Average:", "Std Dev", "Min (mm)", "Max (mm)", "Range", "UCL", "LCL", "Ppk"],
    "ja": ["平均値", "標準偏差", "最大値", "最小値"],
    "ko": ["평균", "표준편차", "최대", "최소"],
    "ru": ["Среднее", "СКО", "Размах"],
}  # fmt: skip


@pytest.mark.parametrize("language", BELOW)
def test_statistics_below_are_no_parts(tmp_path: Path, language: str) -> None:
    rows = [["Stück", "Breite (mm)"], *([f"P{i}", w] for i, w in enumerate(WIDTHS))]
    rows += [[word, round(2.8 + i / 100, 3)] for i, word in enumerate(BELOW[language])]
    rows += [["Date: 4.9.2026", ""], ["Signature: ______", ""]]
    draft = draft_of(tmp_path, "run.csv", delimited(rows, ";"))
    records = records_of(tmp_path, draft)
    np.testing.assert_array_equal(records.table("run", "breite")["value"], WIDTHS)
    account = records.ledger.accounts[0]
    assert account.set_aside == {"row of totals at the end of the file": len(BELOW[language]) + 2}


def test_numbers_may_stand_below_their_label(tmp_path: Path) -> None:
    rows = [["Largura (mm)", "Altura (mm)"], *([w, w + 1] for w in WIDTHS), ["", ""]]
    rows += [["Média", ""], [2.8, 3.8], ["Mín.", ""], [2.77, 3.77]]
    found = the_run(tmp_path, "run.csv", delimited(rows, ";"))
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_a_clock_has_statistics_and_a_signature_below(tmp_path: Path) -> None:
    rows = [
        ["Zeit", "Breite"],
        *([f"{t:%d.%m.%Y %H:%M:%S}", w] for t, w in zip(TIMES, WIDTHS, strict=True)),
    ]
    rows += [
        ["", ""],
        ["Mittelwert", 2.8],
        ["Cpk", 1.52],
        ["Datum:", "04.09.2026"],
        ["Unterschrift:", ""],
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows, ";"))
    np.testing.assert_array_equal(found["value"], WIDTHS)


@pytest.mark.parametrize(
    "names", [["N", "N", "N"], ["Max", "Ida", "Max"], ["R1", "R2", "R3"], ["a:", "b:", "c:"]]
)
def test_names_of_parts_and_people_are_none(names: list[str]) -> None:
    assert totals_below(pd.DataFrame({"who": names, "x": ["1", "2", "3"]})) == 0


def test_words_are_known_whatever_their_dress() -> None:
    assert all(
        map(
            is_total, ["Std. Dev.", " MÉDIA: ", "Ø Mittelwert"[2:], "X̄", "Écart-type (µm)", "UCL X"]
        )
    )
    assert not any(map(is_total, ["P1", "Maxim", "Standard", "", "2.8"]))
