"""What is written: document, page, workbook, results, bag; read back by other programs."""

from __future__ import annotations

import json
import platform
import re
import subprocess
import zipfile
from html.parser import HTMLParser
from importlib.metadata import version
from pathlib import Path

import bagit
import pypdfium2 as pdfium
import pytest

from linestudy.dossier import evaluate, write
from linestudy.dossier.audit.numbers import compare
from linestudy.dossier.evaluation import Evaluation
from linestudy.results import InputError
from linestudy.study import start_study


def test_the_bag_is_valid(dossier: Path) -> None:
    bag = bagit.Bag(str(dossier))
    assert bag.is_valid()
    assert set(bag.algorithms) == {"sha256", "sha512"}
    for name in ("dossier.pdf", "index.html", "workbook.xlsx", "results.json", "study/study.toml"):
        assert (dossier / "data" / name).is_file()


def test_the_lock_names_all_that_numbers_and_documents_were_made_with(dossier: Path) -> None:
    head, *lines = (dossier / "data" / "versions.txt").read_text(encoding="utf-8").splitlines()
    assert head == f"# Python {platform.python_version()}"
    names = [line.partition("==")[0] for line in lines]
    assert names == sorted(names)
    for name in ("linestudy", "numpy", "scipy", "pandas", "typst", "xlsxwriter", "matplotlib"):
        assert f"{name}=={version(name)}" in lines
    # The tools of the tests are not among them.
    assert "pytest" not in names


def test_results_follow_their_format(dossier: Path) -> None:
    results = json.loads((dossier / "data/results.json").read_text(encoding="utf-8"))
    assert set(results) >= {
        "format",
        "kit",
        "study",
        "inputs",
        "characteristics",
        "joint",
        "bins",
        "verdict",
    }
    blade = results["characteristics"]["blade"]
    assert set(blade) >= {
        "unit",
        "nominal",
        "lower",
        "upper",
        "gauges",
        "agreement",
        "stability",
        "shape",
        "capability",
        "verdict",
    }
    crossed = blade["gauges"]["camera"]["crossed"]
    assert set(crossed) >= {"design", "anova", "pooled_interaction", "components", "ndc"}
    assert set(crossed["components"]["grr"]["sd"]) == {
        "estimate",
        "low",
        "high",
        "confidence",
        "method",
    }
    assert set(blade["capability"]) >= {
        "n",
        "mean",
        "sd_overall",
        "sd_within",
        "method",
        "Cp",
        "Cpk",
        "Pp",
        "Ppk",
        "expected_ppm",
        "observed",
    }
    for entry in results["inputs"]:
        assert entry["rows_read"] == entry["rows_used"] + sum(x["rows"] for x in entry["set_aside"])
    assert results["not_evaluated"] == []


@pytest.mark.proof
def test_a_second_run_gives_the_same_bytes(
    dossier: Path, job: tuple[subprocess.CompletedProcess[str], Path]
) -> None:
    # The second run is that of the command line, in another process.
    again = job[1]
    for name in ("results.json", "dossier.pdf", "index.html"):
        assert (again / "data" / name).read_bytes() == (dossier / "data" / name).read_bytes(), name


def test_the_document_is_tagged_and_holds_the_decisions(dossier: Path) -> None:
    from pypdf import PdfReader

    reader = PdfReader(dossier / "data/dossier.pdf")
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"].startswith("en")
    metadata = reader.xmp_metadata.stream.get_data().decode()
    assert re.search(r"pdfaid:part[>=\"']+2", metadata)
    assert "pdfuaid:part" in metadata
    pages = pdfium.PdfDocument(dossier / "data/dossier.pdf")
    text = " ".join(page.get_textpage().get_text_bounded() for page in pages)
    for words in (
        "Decisions",
        "Blade width",
        "customer approval required",
        "Data record",
        "Released by",
    ):
        assert words in text
    assert len(reader.outline) > 10


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.outside: list[str] = []
        self.without_alt = 0
        self.pictures = 0

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        found = dict(attributes)
        if tag == "img":
            self.pictures += 1
            self.without_alt += not found.get("alt")
        for name in ("src", "href"):
            value = found.get(name)
            if value and not value.startswith(("data:", "#")):
                self.outside.append(value)
        assert tag != "script"


def test_the_page_is_self_contained_and_every_picture_has_words(dossier: Path) -> None:
    page = _Page()
    page.feed((dossier / "data/index.html").read_text(encoding="utf-8"))
    assert page.pictures > 20
    assert not page.outside
    assert not page.without_alt


HOSTILE = [
    "<script>alert(1)</script>",
    "#set page(fill: red) $x^2$ *bold* @ref",
    '=HYPERLINK("http://x","y")',
    "+1+1",
    "@SUM(A1)",
    "-2+3",
    "{{ 7*7 }} {% raw %}",
    "a\x00b\x07c\x1b[31m",
    "abc \u202e cba \u2067 x",
    "../../etc/passwd",
    "x" * 10_000,
    "' OR 1=1 --",
    "[[x]]/*?:\\",
    "😀 Ω≈ç√ 漢字",
]


#: Texts of the starter study that its owner writes.
WRITABLE = ('"Initial study of my part"', '"part number"', '"Blade width"', '"Camera"')


def hostile_study(folder: Path) -> Path:
    """The starter study with all of these in every text, each time another first, and each as the name of a characteristic."""
    study = start_study(folder)
    toml = (study / "study.toml").read_text(encoding="utf-8")
    for turn, old in enumerate(WRITABLE, start=2):
        assert old in toml
        toml = toml.replace(
            old, json.dumps(" ".join(HOSTILE[turn:] + HOSTILE[:turn]), ensure_ascii=False)
        )
    for number, text in enumerate(HOSTILE):
        name = json.dumps(text, ensure_ascii=False)
        toml += f'\n[[characteristic]]\nid = "h{number}"\nname = {name}\nunit = "mm"\nlower = 6.25\nupper = 6.45\n'
        toml += f'\n[[data]]\nrole = "run"\nfile = "data/hostile.csv"\ncolumns = {{ h{number} = "h{number}" }}\n'
    (study / "study.toml").write_text(toml, encoding="utf-8")
    width = [
        line.split(",")[1]
        for line in (study / "data/run.csv").read_text(encoding="utf-8").splitlines()[1:40]
    ]
    rows = [",".join(f"h{number}" for number in range(len(HOSTILE)))]
    rows += [",".join([value] * len(HOSTILE)) for value in width]
    (study / "data/hostile.csv").write_text("\n".join(rows) + "\n")
    return study


@pytest.mark.proof
def test_hostile_texts_are_shown_as_text(tmp_path: Path) -> None:
    out = write(evaluate(hostile_study(tmp_path / "study")), tmp_path / "out")
    page = (out / "data/index.html").read_text(encoding="utf-8")
    assert "<script" not in page
    for shown in ("&lt;script&gt;", "{{ 7*7 }}", "漢字", "*bold*"):
        assert shown in page
    with zipfile.ZipFile(out / "data/workbook.xlsx") as book:
        sheets = [name for name in book.namelist() if name.startswith("xl/worksheets/sheet")]
        assert len(sheets) > 2
        for name in sheets:
            formulas = re.findall(r"<f>(.*?)</f>", book.read(name).decode())
            assert not [f for f in formulas if "HYPERLINK" in f or "SUM(A1)" in f]
    assert bagit.Bag(str(out)).is_valid()


def test_another_order_of_rows_gives_the_same_numbers(tmp_path: Path) -> None:
    # The run has its order in a column; a gauge study has none.
    import random

    folder = start_study(tmp_path / "study")
    before = evaluate(folder).results()
    for file in sorted((folder / "data").glob("*.csv")):
        head, *rows = file.read_text(encoding="utf-8").splitlines()
        random.Random(4).shuffle(rows)
        file.write_text("\n".join([head, *rows]) + "\n")
    after = evaluate(folder).results()
    assert [i["sha256"] for i in after["inputs"]] != [i["sha256"] for i in before["inputs"]]
    # That the rows stood in another order is said, once for the run.
    said = after["characteristics"]["width"]["verdict"]["conditions"]
    assert "the rows were put in their order" in said[0]
    del said[0]
    # No clock confirms the counter of the starter study: that is a reason of its own.
    verdict = after["characteristics"]["width"]["verdict"]
    for place in ("objections", "reasons"):
        told = [text for text in verdict[place] if "no clock confirms" in text]
        assert len(told) == 1
        verdict[place].remove(told[0])
    ruling, known = (
        next(
            one
            for one in tree["characteristics"]["width"]["verdict"]["rules"]
            if one["rule"] == "counter and clock"
        )
        for tree in (after, before)
    )
    assert (ruling.pop("effect"), known.pop("effect")) == ("customer approval required", "supports")
    assert "no clock confirms" in ruling.pop("reason")
    del known["reason"]
    for tree in (before, after):
        del tree["characteristics"]["width"]["verdict"]["statement"]
        # First and last reading of gauge study and masters are those of the file, in whatever order that has them.
        for key in ("study_readings", "master_readings"):
            del tree["characteristics"]["width"]["verdict"]["facts"]["record"][key]
    assert after["characteristics"]["width"]["verdict"]["facts"]["record"].pop("backwards") == 75
    assert before["characteristics"]["width"]["verdict"]["facts"]["record"].pop("backwards") == 0
    trees = ({"characteristics": tree["characteristics"]} for tree in (before, after))
    found = compare(*trees)
    assert (found.differences, found.words) == ([], [])


def test_only_a_dossier_is_replaced(starter: Evaluation, tmp_path: Path) -> None:
    precious = tmp_path / "precious"
    precious.mkdir()
    (precious / "letter.txt").write_text("keep me")
    with pytest.raises(InputError, match="not a dossier"):
        write(starter, precious)
    assert (precious / "letter.txt").read_text(encoding="utf-8") == "keep me"
    with pytest.raises(InputError, match="study folder"):
        write(starter, starter.study.folder / "inside")


@pytest.mark.proof
def test_nothing_is_left_behind_when_writing_fails(
    starter: Evaluation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("linestudy.dossier.forms.page.write_page", fail)
    with pytest.raises(OSError, match="No space"):
        write(starter, tmp_path / "out")
    assert list(tmp_path.iterdir()) == []
