"""The words of what a customer reads: those of the trade, no syntax, no raw keys, numbers as ISO 80000-1 writes them.

The phrases of the first list are the kit's own earlier language. The second are rules: what may stand nowhere.
"""

from __future__ import annotations

import html
import re
import zipfile
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from own_studies import write_small
from shared import once

from linestudy import evaluate
from linestudy.dossier import write
from linestudy.dossier.evaluation import Evaluation

PHRASES = (
    "hold(?:s)? still",
    "can(?:not)? be trusted",
    "own spread",
    r"categories (?:of \w+ )?apart",
    "three-sigma signal",
    "expected by chance",
    "three standard errors",
    "independent ones",
    "neighbours let expect",
    "cry wolf|flatters?",
    "free of the variance",
    "to be believed",
    "[Ff]reed of what",
    "process at rest",
    "rules beyond",
    "off on the masters",
    "not seen to drift",
    "(?:larg|small)est extreme value",
    "near enough",
    "z of the share",
    r"at least \(one-sided\)",
    "read through the gauge",
    "travel together",
    "[Nn]one seen in",
    "[Ww]hat (?:is|may not be) claimed",
    "needs agreement",
    "[Kk]eep in mind",
    "[Ll]edger",
    r"\bset aside\b",
    "what it says",
    "what was studied",
    "beside the index",
    "the kit's number",
    "left blank by the kit",
    "plausible",
)
RULES = {
    "(s)": r"\w\(s\)",
    "a table of study.toml": r"\[\[|\bstudy\.toml\b",
    "a raw key": r"\b(?:grr|ndc|bias|drift|capability|stability|decide|least|miss|kappa|resolution)_[a-z]+\b",
    "a pair of ids": r"\b\w+~\w+\b",
    "an exponent": r"\d[eE][-+−]?\d+\b",
    "a hyphen for minus": r"(?:(?<=[\s(\[=±])|^)-\d",
    "a minus nought": r"−0\.0+(?!\d)",
    "no space before per cent": r"\d%",
    "an inch that reads as a word": r"\d\)? in (?:at|within|in|on|by|of (?!each))\b",
    "thousands that are not apart": r"(?<![\d.,/#·-])[1-9]\d{4,6}(?![\d·-])",
    "more digits than a gauge shows": r"(?<![\d.])\d\.\d{8,}",
    "one of many": r"(?<![\d.,])1 (?:points|parts|readings|rows|characteristics|files|subgroups|coils|appraisers)\b",
}
#: Minus nought within an interval about nought is its rounded end.
ALLOWED = {"a minus nought"}


def texts(out: Path) -> dict[str, str]:
    """The words of document, page and workbook."""
    pages = pdfium.PdfDocument(out / "data/dossier.pdf")
    pdf = "\n".join(page.get_textpage().get_text_bounded() for page in pages)
    page = re.sub(
        r"<style.*?</style>|base64,[A-Za-z0-9+/=]*|<[^>]*>",
        " ",
        (out / "data/index.html").read_text(encoding="utf-8"),
        flags=re.S,
    )
    with zipfile.ZipFile(out / "data/workbook.xlsx") as book:
        shared = book.read("xl/sharedStrings.xml").decode()
    return {
        "document": pdf,
        "page": html.unescape(page),
        "workbook": "\n".join(
            html.unescape(t) for t in re.findall(r"<t[^>]*>(.*?)</t>", shared, re.S)
        ),
    }


@pytest.fixture(
    scope="module",
    params=["sample", "starter", pytest.param("small", marks=pytest.mark.proof), "twin"],
)
def said(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, str]:
    if request.param == "small":
        place = tmp_path_factory.mktemp("small")
        return texts(write(evaluate(write_small(place / "study")), place / "out"))
    if request.param == "twin":
        twin = request.config.rootpath / "sample_data" / "twin_contact"
        base = tmp_path_factory.getbasetemp()
        made = once(base, "twin_dossier", lambda into: write(evaluate(twin), into / "out"))
        return texts(made / "out")
    return texts(
        request.getfixturevalue("dossier" if request.param == "sample" else "starter_dossier")
    )


def _hits(text: str, pattern: str) -> list[str]:
    plain = text.replace("\xa0", " ").replace("\u200b", "").replace("\r", "")
    # A name of a file with its digits is no number, nor are the sums of files.
    plain = re.sub(r"\b[0-9a-f]{16,}\b|\b[\w/.-]+\.(?:csv|gz|xlsx|toml|json|txt|pdf)\b", " ", plain)
    return [
        " ".join(plain[max(0, m.start() - 40) : m.end() + 30].split())
        for m in re.finditer(pattern, plain, re.M)
    ]


@pytest.mark.parametrize("phrase", PHRASES)
def test_an_earlier_phrase_stands_nowhere(said: dict[str, str], phrase: str) -> None:
    for place, text in said.items():
        assert not _hits(text, phrase), place


@pytest.mark.parametrize("rule", [name for name in RULES if name not in ALLOWED])
def test_a_rule_of_writing_holds_everywhere(said: dict[str, str], rule: str) -> None:
    for place, text in said.items():
        assert not _hits(text, RULES[rule]), place


def test_lengths_have_their_unit(said: dict[str, str]) -> None:
    # A bias, drift or difference in words is followed by its unit.
    for place, text in said.items():
        plain = " ".join(text.replace("\xa0", " ").split())
        for match in re.finditer(
            r"\b(?:[Bb]ias|[Dd]rift|[Ww]ear) [+−]?0\.\d+ \([^)]*\)(.{0,6})", plain
        ):
            assert re.match(r" (?:mm|in|N|µm|%)", match[1]), (place, match[0])


def test_the_scan_finds_what_it_looks_for() -> None:
    bad = "2 signals-0.5 file(s) study.toml grr_accept 1.2e-05 -0.5 10% 1 points camera~cmm 0.123456789 0.5 in at 12500 N"
    found = {
        name
        for name, pattern in RULES.items()
        if _hits(bad.replace("study.toml", "study.toml "), pattern)
    }
    assert {
        "(s)",
        "a raw key",
        "an exponent",
        "a hyphen for minus",
        "no space before per cent",
        "one of many",
        "a pair of ids",
        "an inch that reads as a word",
        "thousands that are not apart",
    } <= found


def test_the_console_says_singular_and_plural_right(evaluation: Evaluation) -> None:
    text = str(evaluation.findings.get(None, "verdict"))
    assert "(s)" not in text
    assert not re.search(r"\b1 characteristics\b", text)


def test_what_is_printed_has_a_space_before_the_per_cent_sign(evaluation: Evaluation) -> None:
    printed = [str(finding) for _, finding in evaluation.findings.items()]
    assert len(printed) > 100
    assert any(re.search(r"\d %", text) for text in printed)
    assert not [text for text in printed if re.search(RULES["no space before per cent"], text)]


def test_no_value_is_written_with_an_exponent() -> None:
    """A format such as :.3g makes 6.11e-06 of a bias in inches; ``as_given`` writes it out."""
    from pathlib import Path

    import linestudy

    home = Path(linestudy.__file__).parent
    short = re.compile(r":(\.\d)?g\} ?\{(self\.)?unit\}")
    found = {
        path.name for path in home.rglob("*.py") if short.search(path.read_text(encoding="utf-8"))
    }
    assert not found


def test_small_and_large_limits_are_written_out() -> None:
    from linestudy.study.model import Characteristic

    small = Characteristic(id="a", name="A", unit="in", upper=0.00005)
    large = Characteristic(id="b", name="B", unit="N", lower=-0.00002, upper=1_250_000)
    assert small.measures() == "at most 0.00005 in"
    assert large.measures() == "−0.00002 to 1,250,000 N"
