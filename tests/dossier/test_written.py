"""What is written: document, page, workbook, results, bag; read back by other programs."""

from __future__ import annotations

import json
import platform
import re
import zipfile
from html.parser import HTMLParser
from importlib.metadata import version
from pathlib import Path

import bagit
import pytest

from linestudy.core import InputError
from linestudy.dossier import evaluate, write
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.recomputation import _differ, _pairs
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


def test_results_follow_format_1(dossier: Path) -> None:
    results = json.loads((dossier / "data/results.json").read_text())
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


def test_a_second_run_gives_the_same_bytes(
    dossier: Path, sample_study: Path, tmp_path: Path
) -> None:
    again = write(evaluate(sample_study), tmp_path / "again")
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
    text = " ".join(page.extract_text() for page in reader.pages)
    for words in (
        "Decisions",
        "Blade width",
        "customer approval required",
        "Ledger of rows",
        "Released by",
        "Laser",
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


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_shown_as_text(text: str, tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    toml = (folder / "study.toml").read_text()
    quoted = json.dumps(text, ensure_ascii=False)
    toml = toml.replace('"Initial study of my part"', quoted).replace('"Blade width"', quoted)
    toml = toml.replace('"part number"', quoted).replace('name = "Camera"', f"name = {quoted}")
    (folder / "study.toml").write_text(toml, encoding="utf-8")
    out = write(evaluate(folder), tmp_path / "out")
    page = (out / "data/index.html").read_text(encoding="utf-8")
    assert "<script" not in page
    with zipfile.ZipFile(out / "data/workbook.xlsx") as book:
        for name in book.namelist():
            if name.startswith("xl/worksheets/sheet"):
                formulas = re.findall(r"<f>(.*?)</f>", book.read(name).decode())
                assert not [f for f in formulas if "HYPERLINK" in f or "SUM(A1)" in f]
    assert bagit.Bag(str(out)).is_valid()


def test_another_order_of_rows_gives_the_same_numbers(tmp_path: Path) -> None:
    # The run has its order in a column; a gauge study has none.
    import random

    folder = start_study(tmp_path / "study")
    before = evaluate(folder).results()
    for file in sorted((folder / "data").glob("*.csv")):
        head, *rows = file.read_text().splitlines()
        random.Random(4).shuffle(rows)
        file.write_text("\n".join([head, *rows]) + "\n")
    after = evaluate(folder).results()
    assert [i["sha256"] for i in after["inputs"]] != [i["sha256"] for i in before["inputs"]]
    off = [
        found.place
        for path, old, new in _pairs(before["characteristics"], after["characteristics"], ())
        if (found := _differ(".".join(path), old, new)) is not None
    ]
    assert off == []


def test_only_a_dossier_is_replaced(evaluation: Evaluation, tmp_path: Path) -> None:
    precious = tmp_path / "precious"
    precious.mkdir()
    (precious / "letter.txt").write_text("keep me")
    with pytest.raises(InputError, match="not a dossier"):
        write(evaluation, precious)
    assert (precious / "letter.txt").read_text() == "keep me"
    with pytest.raises(InputError, match="study folder"):
        write(evaluation, evaluation.study.folder / "inside")


def test_nothing_is_left_behind_when_writing_fails(
    evaluation: Evaluation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("linestudy.dossier.page.write_page", fail)
    with pytest.raises(OSError, match="No space"):
        write(evaluation, tmp_path / "out")
    assert list(tmp_path.iterdir()) == []
