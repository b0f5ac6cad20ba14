"""The workbook's live formulas, computed by another program (LibreOffice) and held against the reported numbers."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pytest

from linestudy.dossier import evaluate
from linestudy.dossier.forms.book import Book
from linestudy.dossier.forms.workbook import _height, write_workbook
from linestudy.study import start_study

pytestmark = pytest.mark.skipif(shutil.which("soffice") is None, reason="needs LibreOffice")


#: LibreOffice shows what a file brings along unless told to compute everything anew on loading.
RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"
 xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


def computed(file: Path, folder: Path) -> dict[str, dict[str, tuple[float, float]]]:
    """What LibreOffice makes of each live formula, beside the reported number, by study and quantity."""
    user = folder / "profile" / "user"
    user.mkdir(parents=True, exist_ok=True)
    (user / "registrymodifications.xcu").write_text(RECALCULATE, encoding="utf-8")
    words = ["soffice", "--headless", f"-env:UserInstallation=file://{folder}/profile"]
    words += ["--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(folder / "anew")]
    subprocess.run([*words, str(file)], check=True, capture_output=True, timeout=240)
    book = openpyxl.load_workbook(folder / "anew" / file.name, data_only=True)
    found: dict[str, dict[str, tuple[float, float]]] = {}
    for sheet in book.worksheets:
        titles: dict[int, str] = {c.column: c.value for c in sheet[1] if c.value}
        for title in titles.values():
            found.setdefault(title, {})
        for row in sheet.iter_rows():
            for head in (cell for cell in row if cell.value == "recalculated"):
                # Studies of a kind stand side by side, each under its name.
                lines = found[titles[max(at for at in titles if at <= head.column)]]
                for at in range(head.row + 1, sheet.max_row + 1):
                    name, live, kit = (sheet.cell(at, head.column + k).value for k in (-1, 0, 1))
                    if live is None:
                        break
                    assert name not in lines
                    lines[name] = (live, kit)
    return found


@pytest.mark.proof
def test_a_wrong_formula_is_found(tmp_path: Path) -> None:
    # The reported number is stored beside each formula; what counts is what another program computes.
    with Book(tmp_path / "workbook.xlsx", "x") as book:
        sheet = book.columns("Odd", {"a": [1.0, 2.0, 6.0]})
        book.checks(sheet, 0, 4, [("right", "=SUM(A2:A4)", 9.0), ("wrong", "=SUM(A2:A3)", 9.0)])
    found = computed(tmp_path / "workbook.xlsx", tmp_path)["Odd"]
    assert found == {"right": (9.0, 9.0), "wrong": (3.0, 9.0)}


@pytest.mark.proof
def test_the_sample_study(dossier: Path, tmp_path: Path) -> None:
    found = computed(dossier / "data" / "workbook.xlsx", tmp_path)
    for sheet, lines in found.items():
        for name, (live, kit) in lines.items():
            assert live == pytest.approx(kit, rel=1e-9, abs=1e-12), (sheet, name)
    assert sum(map(len, found.values())) > 220


@pytest.mark.proof
def test_indices_of_the_spread_within_where_they_may_be_reported(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    write_workbook(evaluate(folder), tmp_path / "workbook.xlsx")
    lines = computed(tmp_path / "workbook.xlsx", tmp_path)["Blade width values"]
    for name, (live, kit) in lines.items():
        assert live == pytest.approx(kit, rel=1e-9, abs=1e-12), name
    # The same from the starter's own file, by pandas: fives of neighbours, pooled.
    run = pd.read_csv(folder / "data" / "run.csv")
    values = run["Width"].groupby(np.arange(len(run)) // 5)
    sd = np.sqrt((values.var() * 4).sum() / (4 * values.ngroups))
    assert lines["within-subgroup SD"][0] == pytest.approx(sd, rel=1e-9)
    assert {"Cp", "Cpk", "Pp by mean and SD", "Ppk by mean and SD"} <= set(lines)


STUDY = """
format = 1
[study]
title = "Odd studies"
part = "invented"
revision = "A"
[[characteristic]]
id = "width"
name = "Width"
unit = "mm"
lower = 9.0
upper = 11.0
[[characteristic]]
id = "force"
name = "Pull force"
unit = "N"
lower = 20.0
[[characteristic]]
id = "burr"
name = "Burr"
[[characteristic]]
id = "stain"
name = "Stain"
[[gauge]]
id = "slide"
name = "Caliper"
resolution = 0.0001
unit = "mm"
[[gauge]]
id = "puller"
name = "Pull tester"
resolution = 0.01
unit = "N"
[[event]]
name = "cleaned"
at = 15
characteristic = "width"
[[data]]
role = "machine"
gauge = "slide"
file = "short.csv"
columns = { width = "w" }
order = "n"
[[data]]
role = "crossed"
gauge = "slide"
file = "crossed.csv"
columns = { width = "w" }
part = "part"
appraiser = "who"
trial = "trial"
[[data]]
role = "drift"
gauge = "slide"
file = "drift.csv"
columns = { width = "w" }
order = "n"
reference = 10.0
[[data]]
role = "nested"
gauge = "puller"
file = "pull.csv"
columns = { force = "f" }
levels = ["batch", "box"]
[[data]]
role = "attribute"
file = "burr.csv"
characteristic = "burr"
part = "part"
trial = "trial"
judgement = "seen"
reference = "truth"
accept = ["ok"]
[[data]]
role = "attribute"
file = "stain.csv"
characteristic = "stain"
part = "part"
appraiser = "who"
trial = "trial"
judgement = "seen"
accept = ["ok"]
"""


@pytest.fixture
def odd(tmp_path: Path) -> Path:
    """A short run, readings missing, boxes of unequal size, a gauge cleaned, judgements by one and by two."""
    rng = np.random.default_rng(20261126)
    folder = tmp_path / "odd"
    folder.mkdir()
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")

    def keep(name: str, **columns: object) -> None:
        pd.DataFrame(columns).to_csv(folder / name, index=False)

    keep("short.csv", n=np.arange(80), w=rng.normal(10, 0.2, 80).round(4))
    part, who, trial = (a.ravel() for a in np.indices((8, 3, 3)))
    size = rng.normal(0, 0.3, 8)[part] + rng.normal(0, 0.05, 3)[who] + rng.normal(0, 0.05, 72)
    kept = rng.permutation(72)[:64]
    names = np.array(["J*", "J?", "J~k"])[who]
    keep(
        "crossed.csv",
        part=part[kept],
        who=names[kept],
        trial=trial[kept],
        w=(10 + size[kept]).round(4),
    )
    n = np.arange(30)
    error = 0.001 * n - 0.02 * (n >= 15) + rng.normal(0, 0.004, 30)
    keep("drift.csv", n=n, w=(10 + error).round(4))
    box = np.repeat(np.arange(15), rng.integers(2, 6, 15))
    force = rng.normal(0, 3, 5)[box // 3] + rng.normal(0, 2, 15)[box] + rng.normal(40, 1, box.size)
    keep("pull.csv", batch=box // 3, box=box % 3, f=force.round(2))
    part = np.repeat(np.arange(20), rng.integers(1, 4, 20))
    bad = part % 3 == 0
    seen = np.where(rng.random(part.size) < 0.15, ~bad, bad)
    word = np.array(["ok", "no"])
    keep(
        "burr.csv", part=part, trial=np.arange(part.size), seen=word[seen * 1], truth=word[bad * 1]
    )
    part, who, trial = (a.ravel() for a in np.indices((20, 2, 2)))
    seen = (rng.random(80) < np.where(part % 2, 0.9, 0.1)) * 1
    keep("stain.csv", part=part, who=who, trial=trial, seen=word[seen])
    return folder


@pytest.mark.proof
def test_odd_studies(odd: Path, tmp_path: Path) -> None:
    evaluation = evaluate(odd)
    write_workbook(evaluation, tmp_path / "workbook.xlsx")
    found = computed(tmp_path / "workbook.xlsx", tmp_path)
    for sheet, lines in found.items():
        for name, (live, kit) in lines.items():
            assert live == pytest.approx(kit, rel=1e-9, abs=1e-12), (sheet, name)
    # The same from the files alone, by pandas.
    short = pd.read_csv(odd / "short.csv")["w"]
    machine = found["Width short run"]
    assert machine["Pm"][0] == pytest.approx(2 / (6 * short.std()), rel=1e-9)
    crossed = pd.read_csv(odd / "crossed.csv")
    within = crossed["w"] - crossed.groupby(["part", "who"])["w"].transform("mean")
    squares = found["Width Caliper crossed"]["sum of squares, repeatability"][0]
    assert squares == pytest.approx(float((within**2).sum()), rel=1e-9)
    pull = pd.read_csv(odd / "pull.csv")
    within = pull["f"] - pull.groupby(["batch", "box"])["f"].transform("mean")
    squares = found["Pull force Pull tester nested"]["sum of squares, repeatability"][0]
    assert squares == pytest.approx(float((within**2).sum()), rel=1e-9)
    burr = pd.read_csv(odd / "burr.csv")
    always = (burr["seen"] == burr["truth"]).groupby(burr["part"]).all()
    share = found["Burr judgements"]["the judgement: effectiveness (share)"][0]
    assert share == pytest.approx(float(always.mean()), rel=1e-9)
    assert "Width Caliper drift" in found
    assert found["Stain judgements"] == {}


@pytest.mark.proof
def test_a_third_factor(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    rng = np.random.default_rng(1)
    part, who, fixture = (a.ravel() for a in np.indices((8, 3, 2, 3))[:3])
    size = rng.normal(0, 0.02, 8)[part] + rng.normal(0, 0.003, 2)[fixture]
    values = (6.3 + size + rng.normal(0, 0.002, part.size)).round(4)
    table = pd.DataFrame({"Part": part, "Who": who, "Fixture": fixture, "Width": values})
    table.to_csv(folder / "data" / "crossed.csv", index=False)
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8")
    new = 'appraiser = "Who"\nfactor = "Fixture"\n'
    changed = text.replace('appraiser = "Appraiser"\ntrial = "Trial"\n', new)
    assert changed != text
    toml.write_text(changed, encoding="utf-8")
    write_workbook(evaluate(folder), tmp_path / "workbook.xlsx")
    lines = computed(tmp_path / "workbook.xlsx", tmp_path)["Blade width Camera crossed"]
    for name, (live, kit) in lines.items():
        assert live == pytest.approx(kit, rel=1e-9), name
    within = table["Width"] - table.groupby(["Part", "Who", "Fixture"])["Width"].transform("mean")
    squares = lines["sum of squares, repeatability"][0]
    assert squares == pytest.approx(float((within**2).sum()), rel=1e-8)


@pytest.mark.proof
def test_single_values_have_no_pooled_spread(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8")
    single = text.replace("{ size = 5, every = 5 }", "{ size = 1, every = 1 }")
    assert single != text
    toml.write_text(single, encoding="utf-8")
    write_workbook(evaluate(folder), tmp_path / "workbook.xlsx")
    lines = computed(tmp_path / "workbook.xlsx", tmp_path)["Blade width values"]
    for name, (live, kit) in lines.items():
        assert live == pytest.approx(kit, rel=1e-9), name
    assert "within-subgroup SD" not in lines


def test_the_share_of_the_gauge_is_not_said_to_be_one_of_the_tolerance() -> None:
    """Where there is no two-sided tolerance it is one of the total variation."""
    from linestudy.dossier.forms.workbook import _COLUMNS

    assert [title for title, field, _ in _COLUMNS if field == "grr"] == ["%GRR (%)"]


def test_a_row_is_as_high_as_its_longest_wrapped_cell() -> None:
    assert _height(["4", "Blade width", None]) == 15
    # Sixty letters wide: the last column of the results.
    assert _height([""] * 17 + ["word " * 30]) == 45
    # Eleven letters: columns of numbers.
    assert _height(["", "", "", "points out of control"]) == 30
