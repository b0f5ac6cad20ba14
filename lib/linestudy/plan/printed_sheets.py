"""Floor sheets on paper: a page for each person and round, and the key for whoever hands out the parts.

The pages of a gauge study and of judgements show the order alone: whoever reads or judges does not see which part it
is, nor what was read before (AIAG MSA, 4th ed., ch. III). Which part comes when is in the key. What is written by
hand is typed into the workbook of the same plan, whose code is on every page.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from linestudy.records.formats.floor_sheet import FIELDS, FloorPlan

#: Roles whose pages do not show which part it is.
BLIND = ("crossed", "attribute")
#: Rows of a block; a page has two blocks side by side where one thing is filled in.
ROWS = 25
#: Columns of the key beside each other.
_ACROSS = 6
_TEMPLATE = Path(__file__).with_name("printed.typ")
_PAPERS = {"A4": "a4", "Letter": "us-letter"}
_TASKS = {
    "crossed": "gauge study",
    "attribute": "judgements",
    "reference": "masters",
    "paired": "same parts, two gauges",
    "nested": "destructive test",
    "drift": "one reference part over time",
    "run": "sample of the running process",
    "machine": "short run of the machine",
}
_CARE = {
    "nested": "Site rules and the test machine's instructions come first: guard closed, eyes protected, no hands at the grips.",
    "run": "Take parts only where and how the site rules allow it; never reach into the press. Strip and parts are sharp.",
    "machine": "Take parts only where and how the site rules allow it; never reach into the press. Strip and parts are sharp.",
}


def print_sheets(plan: FloorPlan, steps: list[str], target: Path, part: str, paper: str) -> None:
    """Write the pages of a plan as PDF.

    Parameters
    ----------
    plan : FloorPlan
    steps : list of str
        Resolution of each gauge with its unit, empty where it is not known.
    target : pathlib.Path
        The file.
    part : str
        Part number.
    paper : str
        A4 or Letter.
    """
    import typst

    content = json.dumps(_content(plan, steps, part, paper), ensure_ascii=False)
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        shutil.copy(_TEMPLATE, root / "main.typ")
        (root / "content.json").write_text(content, encoding="utf-8")
        typst.compile(
            root / "main.typ", output=target, root=root, timestamp=datetime(2000, 1, 1, tzinfo=UTC)
        )


def _content(plan: FloorPlan, steps: list[str], part: str, paper: str) -> dict[str, Any]:
    pages: dict[str, list[dict[str, Any]]] = {}
    for row in plan.rows:
        pages.setdefault(str(row["page"]), []).append(row)
    blind = plan.role in BLIND
    unit = f" [{plan.unit}]" if plan.unit else ""
    names = ["Order"] if blind else ["Order", plan.tags[0]]
    filled = [f"{column}{unit}" for column in plan.columns]
    return {
        "paper": _PAPERS[paper],
        "title": f"{part}: {plan.name}",
        "task": _TASKS[plan.role],
        "plan_word": "Plan",
        "remark_word": "Remarks",
        "code": plan.code,
        "about": _about(plan, steps),
        "instruction": _instruction(plan, steps),
        "words": list(plan.words),
        "blanks": len(plan.columns),
        "columns": [*names, *filled],
        "widths": ["13mm", *([] if blind else ["20mm"]), *["rest"] * len(filled)],
        "sheets": [
            sheet for name, rows in pages.items() for sheet in _sheets(plan, name, rows, blind)
        ],
        "keys": _keys(plan, pages) if blind else [],
    }


def _about(plan: FloorPlan, steps: list[str]) -> str:
    if plan.words:
        return f"Tick {' or '.join(plan.words)} for each part."
    gauges = [
        f"{gauge}{f' (resolution {step})' if step else ''}"
        for gauge, step in zip(plan.gauges, steps, strict=True)
    ]
    return f"Gauge: {', '.join(gauges)}. Readings in {plan.unit or 'the unit of the gauge'}."


def _instruction(plan: FloorPlan, steps: list[str]) -> str:
    what = "judgement that cannot be made" if plan.words else "reading that fails"
    said = [
        f"In the order of the rows, none left out; a {what} is crossed out, with the reason under remarks."
    ]
    if not plan.words:
        digits = f", to {steps[0]}" if len(steps) == 1 and steps[0] else ""
        said.insert(0, f"Write what the gauge shows, with all its digits{digits}.")
    if plan.role in BLIND:
        said.append(
            "Parts are handed over by somebody else; their numbers and earlier sheets stay out of sight."
        )
    said.append(_CARE.get(plan.role, ""))
    return " ".join(sentence for sentence in said if sentence)


def _sheets(
    plan: FloorPlan, name: str, rows: list[dict[str, Any]], blind: bool
) -> list[dict[str, Any]]:
    """Lay out the sheets of paper of a page: blocks of rows, two beside each other where there is space."""
    cells = [[str(row["row"] + 1), *([] if blind else [str(row[plan.tags[0]])])] for row in rows]
    blocks = [cells[at : at + ROWS] for at in range(0, len(cells), ROWS)]
    beside = 2 if len(plan.columns) == 1 and len(blocks) > 1 else 1
    person = next((str(row["appraiser"]) for row in rows if "appraiser" in row), "")
    fields = [[label, person if label == "Appraiser" else ""] for label in FIELDS]
    sheets = [blocks[at : at + beside] for at in range(0, len(blocks), beside)]
    return [
        {
            "name": name if len(sheets) == 1 else f"{name}, sheet {at} of {len(sheets)}",
            "fields": fields,
            "blocks": sheet,
        }
        for at, sheet in enumerate(sheets, start=1)
    ]


def _keys(plan: FloorPlan, pages: dict[str, list[dict[str, Any]]]) -> list[dict[str, Any]]:
    """List which part is handed over when: for whoever hands them over."""
    names = list(pages)
    found = []
    for at in range(0, len(names), _ACROSS):
        some = names[at : at + _ACROSS]
        height = max(len(pages[name]) for name in some)
        rows = [
            [
                str(number + 1),
                *(
                    str(pages[name][number][plan.tags[0]]) if number < len(pages[name]) else ""
                    for name in some
                ),
            ]
            for number in range(height)
        ]
        found.append(
            {
                "title": "Key: which part comes when",
                "about": "For whoever hands out the parts. Appraisers do not see this page.",
                "columns": ["Order", *some],
                "rows": rows,
            }
        )
    return found
