"""Honest studies with names, parts, titles and units that a careless auditor would stumble over."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any

#: Studies of the full campaign.
COUNT = 200

_PARTS = [
    "7",
    "28",
    "QC-28",
    "1",
    "0",
    "1.33",
    "Page 3",
    "6.30 mm",
    "R&D <b>",
    '"',
    "1 of 9",
    "0.8",
    "–",
    "1.99 (1.74 to 2.24)",
]
_TITLES = [
    "QC-28 blade width",
    "7",
    "meets",
    "Ppk 1.99",
    "Decision per characteristic",
    "1,234.5",
    "Contents",
    "a" * 300,
]
_TITLES += [
    "0.123 " * 40,
    "Blade width",
    "28 28 28",
    "x=1;y=2",
    "</main>",
    "<!-- -->",
    "{{ doc }}",
    "#let x = 1",
    "=1+1",
    "@SUM(A1)",
]
_WORDS = [
    "Äußere Breite",
    "幅 (mm)",
    "عرض",
    "e\u0301",
    "\u200b7",
    "7\u00a08",
    "a\u202eb",
    "&amp; &#49;",
    "'\"`",
    "\\",
    "$x^2$",
    "*1*",
    "_1_",
    'src="data:image/svg+xml;base64,AAAA"',
    "</style><script>",
    "1e5",
    "-1",
    "−1",
    "½",
    "²",
    "0x10",
    "١٢٣",
    "NaN",
    "%d %s",
    "…",
    "a\tb",
    "width",
    "Summary",
    "History",
    "Ledger",
    "–" * 60,
    "9" * 120,
    "1.5.2026",
    "12:30",
    "№ 7",
    "ﬁ",
    "🙂",
    "a\u2028b\u2029c",
    "1\u202f234,5\u00a0mm",
    "/* 7 */ // 8",
    "Not signed.",
    "7\u00ad8\u200d9",
    "\ue000\uf8ff",
    "no number",
    "Everything agrees.",
    "[7](http://x) @ref <label>",
    "a\u0085b",
    "\u0301\u0301z\u0301\u0302",
]
_UNITS = [
    "mm",
    "um",
    "in",
    "m",
    "cm",
    "N",
    "°C",
    "%",
    "µm",
    "lbf",
    "kN",
    "deg",
    "1",
    "mm/s",
    "x<y",
    '"',
    "7",
]


def _toml(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def one(number: int, folder: Path) -> dict[str, Any]:
    """Write one honest dossier and recompute it: "agrees", "accused", or "refused" where the study is."""
    from linestudy.dossier import evaluate, recompute, write
    from linestudy.dossier.audit.check_bag import damaged
    from linestudy.dossier.audit.recomputation import audit
    from linestudy.results import InputError

    rng = Random(f"honest {number}")
    study = folder / "study"
    (study / "data").mkdir(parents=True)
    words = [*_PARTS, *_TITLES, *_WORDS]
    name = rng.choice(words)
    part, title = (
        rng.choice(_PARTS if number % 2 else words),
        rng.choice(_TITLES if number % 3 else words),
    )
    if number % 5 == 0:
        title = part = name
    unit = rng.choice(_UNITS)
    scale = rng.choice([1.0, 1.0, 1e-3, 1e3, 25.4])
    places = rng.choice([2, 3, 4, 6])
    shift = rng.choice([0.0, 0.0, 5.0, 12.0])
    middle, width = 6.3 * scale, 0.05 * scale
    head = {
        "title": title,
        "part": part,
        "revision": rng.choice(["A", "7", "28", "1.33", *_WORDS]),
        "supplier": rng.choice(words),
        "customer": rng.choice(words),
        "date": rng.choice(["2026-02-28", "28", "7.7.2026", "yesterday"]),
    }
    lines = ["format = 1", "[study]", *(f"{key} = {_toml(value)}" for key, value in head.items())]
    lines += [
        "line_rate = 200",
        f"confidence = {rng.choice([0.9, 0.95, 0.99])}",
        f"seed = {number}",
    ]
    lines += [
        "[[characteristic]]",
        'id = "width"',
        f"name = {_toml(name)}",
        f"unit = {_toml(unit)}",
    ]
    lines += [f"nominal = {middle!r}", f"lower = {middle - width!r}", f"upper = {middle + width!r}"]
    lines += ["[[gauge]]", 'id = "camera"', f"name = {_toml(rng.choice(words))}"]
    lines += ["[[data]]", 'role = "run"', 'gauge = "camera"', 'file = "data/run.csv"']
    lines += [
        'columns = { width = "Width" }',
        'order = "Part"',
        "subgroup = { size = 5, every = 5 }",
    ]
    n = rng.choice([10, 30, 60, 125])
    sd = rng.choice([0.004, 0.008, 0.03]) * scale
    values = [rng.gauss(middle + shift * sd / 10, sd) for _ in range(n)]
    if number % 7 == 0:
        # A long tail, so that other families are chosen and numbers run long.
        values = [middle - width + rng.expovariate(1) * sd for _ in range(n)]
    rows = ["Part,Width", *(f"{i},{v:.{places}f}" for i, v in enumerate(values, start=1))]
    (study / "data" / "run.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    if number % 2 == 0:
        lines += ["[[data]]", 'role = "crossed"', 'gauge = "camera"', 'file = "data/crossed.csv"']
        lines += [
            'columns = { width = "Width" }',
            'part = "Part"',
            'appraiser = "Who"',
            'trial = "Trial"',
        ]
        rows = ["Part,Who,Trial,Width"]
        people = [w for w in rng.sample(words, 6) if not set(w) & set(',"\n\r\t')][:2] or ["a", "b"]
        for p in range(1, 6):
            size = rng.gauss(middle, 1.5 * sd)
            rows += [
                f"{p},{who},{t},{rng.gauss(size, 0.1 * sd):.{places}f}"
                for who in people
                for t in (1, 2)
            ]
        (study / "data" / "crossed.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (study / "study.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    row: dict[str, Any] = {
        "number": number,
        "name": name,
        "part": part,
        "title": title[:60],
        "unit": unit,
    }
    try:
        evaluation = evaluate(study, progress=lambda stage: None)
        dossier = write(evaluation, folder / "out", progress=lambda stage: None)
    except InputError as error:
        return row | {"outcome": "refused", "why": str(error)[:200]}
    except Exception as error:
        # No dossier, so nobody is accused; that it ends so is a fault of the statistics, and counted apart.
        return row | {"outcome": "not evaluated", "why": f"{type(error).__name__}: {error}"[:200]}
    if number % 4 == 0:
        report = recompute(dossier, pictures=number % 8 == 0)
    else:
        # Words change no number: the same evaluation spares the processor a second one.
        report = audit(dossier, evaluation, damaged(dossier))
    if report.agrees and not report.remarks:
        return row | {"outcome": "agrees"}
    return row | {"outcome": "accused", "why": report.details()[:2000]}
