"""What a supplier-quality engineer looks for before anything else stands on the first three pages of the report.

The list is common practice of part approval, with no single source. The values are read from the study's own
files, by pandas, and not from what the kit made of them.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pandas as pd
import pypdfium2 as pdfium
import pytest


@pytest.fixture(scope="module")
def first_pages(dossier: Path) -> str:
    pages = list(pdfium.PdfDocument(dossier / "data/dossier.pdf"))[:3]
    text = " ".join(page.get_textpage().get_text_bounded() for page in pages)
    return " ".join(text.replace("\xa0", " ").replace("−", "-").split())


@pytest.fixture(scope="module")
def given(dossier: Path) -> dict[str, Any]:
    """Study.toml, and the run as pandas reads it: rows once, those of the purge bin left out."""
    folder = dossier / "data/study"
    toml = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
    # A comma of thousands and other marks are not in this file; units stand below no header here.
    run = pd.read_csv(folder / "data/run.csv.gz", sep=None, engine="python", dtype=str)
    run = run.drop_duplicates("Stroke")
    kept = run[run["Verdict"].str.lower() != "purged"]
    blade = pd.to_numeric(kept["BladeWidth"], errors="coerce")
    blade = blade[blade.between(2.5, 3.1)]
    bins = pd.read_csv(folder / "data/bins.csv")
    return {"toml": toml, "run": run, "blade": blade, "bins": bins}


def _of(given: dict[str, Any], table: str, key: str) -> str:
    return re.escape(str(given["toml"][table][key]))


#: Each fact with what must be found, from the study's files.
FACTS: dict[str, Any] = {
    "part": lambda g: _of(g, "study", "part"),
    "drawing and its date": lambda g: (
        f"Drawing {_of(g, 'identification', 'drawing')}.*Drawing date {_of(g, 'identification', 'drawing_date')}"
    ),
    "revision": lambda g: f"Revision {_of(g, 'study', 'revision')}",
    "engineering change": lambda g: _of(g, "identification", "change"),
    "supplier with code": lambda g: (
        f"{_of(g, 'study', 'supplier')}.*{_of(g, 'identification', 'supplier_code')}"
    ),
    "customer and order": lambda g: (
        f"{_of(g, 'study', 'customer')}.*{_of(g, 'identification', 'order')}"
    ),
    "reason and level of the submission": lambda g: (
        f"Reason of submission {_of(g, 'identification', 'reason')} Level {_of(g, 'identification', 'level')}"
    ),
    "press and die": lambda g: f"Press {_of(g, 'line', 'press')} Die {_of(g, 'line', 'die')}",
    "begin and end of the run": lambda g: (
        f"Run {str(pd.to_datetime(g['run']['Time'], errors='coerce').min())[:16]} to"
    ),
    "coils by name": lambda g: ", ".join(dict.fromkeys(g["run"]["Coil"].dropna())),
    "streams": lambda g: "Stations right, left",
    "strokes, parts made and rejected": lambda g: (
        f"Strokes 1 to {g['bins'][['Accepted', 'Rejected', 'Purged']].to_numpy().sum():,} .*"
        f"Parts rejected {g['bins']['Rejected'].sum()}"
    ),
    "operators": lambda g: _of(g, "line", "operators"),
    "special characteristics by number": lambda g: r"4 Blade width ◆",
    "limits": lambda g: r"2\.75 to 2\.85 mm",
    "number of readings": lambda g: f" {g['blade'].size:,} ",
    "mean and standard deviation": lambda g: f" {g['blade'].mean():.4f} {g['blade'].std():.4f} ",
    "index, bound and worst stream": lambda g: r"Ppk bound stream .* 2\.21 2\.18 right",
    "nonconforming parts expected": lambda g: r"ppm expected outside.* 459 ",
    "%GRR and ndc": lambda g: r"%GRR ndc .* 14\.6 3 ",
    "statistical control": lambda g: r"34 \(4\.5\)",
    "distribution": lambda g: r"inverse Gaussian with threshold",
    "decision with its reason": lambda g: r"does not meet: Ppk 1\.07 < 1\.33 in stream right",
    "why the failing one fails": lambda g: r"means of left and right differ by 0\.0349",
    "what is asked of the customer": lambda g: (
        r"Asked of the customer • Throat gap, Seam width and Seam pull force: approval"
    ),
    "actions with owner and date": lambda g: (
        f"{re.escape(g['toml']['action'][1]['action'])} {g['toml']['action'][1]['by']} "
        f"{g['toml']['action'][1]['date']}"
    ),
    "equipment with serial number, certificate and due date": lambda g: " .*".join(
        re.escape(g["toml"]["gauge"][0][key]) for key in ("serial", "certificate", "due")
    ),
    "masters with their uncertainty": lambda g: re.escape(
        g["toml"]["master"][0]["expanded_uncertainty"]
    ),
    "appraisers by name": lambda g: "Ana, Bo, Cem",
    "sampling of the run": lambda g: "subgroups of 5 neighbouring parts every 250 strokes",
    "how parts of the gauge studies were chosen": lambda g: _of(g, "line", "gauge_parts"),
    "rows read, used and left out": lambda g: (
        r"rows read from 9 files, [\d,]+ used, 324 excluded, each with its reason"
    ),
    "who decides and signs": lambda g: (
        r"decided by those authorised.*Released by \(name, date, signature\)"
    ),
}


@pytest.mark.parametrize("fact", FACTS)
def test_a_fact_stands_on_the_first_three_pages(
    fact: str, first_pages: str, given: dict[str, Any]
) -> None:
    assert re.search(FACTS[fact](given), first_pages), fact


def test_the_list_is_long_enough_and_can_fail(first_pages: str, given: dict[str, Any]) -> None:
    assert len(FACTS) >= 25
    assert not re.search(
        FACTS["mean and standard deviation"](given | {"blade": given["blade"] + 1}), first_pages
    )
