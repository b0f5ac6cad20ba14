"""Names of columns in five languages, and words of a judgement."""

from __future__ import annotations

import pytest

from linestudy.records.infer.words import is_judgement, meanings, plain_name, split_judgement


@pytest.mark.parametrize(
    ("name", "meaning"),
    [
        ("Hub-Nr.", "order"),
        ("Prüfer", "appraiser"),
        ("Opérateur", "appraiser"),
        ("检验员", "appraiser"),
        ("測定者", "appraiser"),
        ("Teil", "part"),
        ("零件号", "part"),
        ("ショット", "order"),
        ("日時", "time"),
        ("工位", "station"),
        ("Referenz [mm]", "reference"),
        ("+Tol", "upper tolerance"),
        ("Tol -", "lower tolerance"),
        ("Tol +/-", "tolerance"),
        ("USL", "upper limit"),
        ("Nennmaß", "nominal"),
    ],
)
def test_what_a_name_means(name: str, meaning: str) -> None:
    assert meaning in meanings(name)


@pytest.mark.parametrize("name", ["Blade width", "Gap", "Höhe", "幅"])
def test_a_quantity_means_none_of_them(name: str) -> None:
    assert meanings(name) == ()


def test_a_name_in_plain() -> None:
    assert plain_name("Hub-Nr. [mm]") == "hub nr"


def test_judgements() -> None:
    assert is_judgement({"i.O.", "n.i.O."})
    assert is_judgement({"合格", "不合格"})
    assert is_judgement({"1", "0"})
    assert not is_judgement({"1", "2"})
    assert not is_judgement({"yes", "blue"})
    assert split_judgement({"gut", "schlecht", "", "?"}) == (["gut"], ["schlecht"], ["?"])
