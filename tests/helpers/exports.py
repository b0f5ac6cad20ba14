"""Small files as the plants of five countries export them, each with its truth.

Every file holds a table of one role in the words, encoding, decimal mark and clock of its country, dressed as text,
workbook (new or old), UTF-16 or JSON lines. The truth is the table that reading has to give.
"""

from __future__ import annotations

import datetime
import io
import json
from dataclasses import dataclass

import numpy as np
import openpyxl
import pandas as pd
import xlwt


@dataclass(frozen=True)
class Country:
    """How a country writes its exports."""

    encoding: str
    mark: str
    decimal: str
    clock: str
    words: dict[str, str]
    good: str
    bad: str
    full_width: bool = False


def _words(text: str) -> dict[str, str]:
    keys = "order time station verdict part appraiser trial reference coil subgroup width mean period accepted rejected"
    return dict(zip(keys.split(), text.split("|"), strict=True))


COUNTRIES = {
    "de": Country(
        "cp1252", ";", ",", "%d.%m.%Y %H:%M:%S",
        _words("Hub-Nr.|Zeit|Spur|Ergebnis|Teil|Prüfer|Versuch|Referenz|Bund|Untergruppe|Maß Höhe|Mittelwert|Schicht|Gutteile|Ausschuss"),
        "i.O.", "n.i.O.",
    ),
    "fr": Country(
        "cp1252", ";", ",", "%d/%m/%Y %H:%M:%S",
        _words("Coup|Heure|Empreinte|Résultat|Pièce|Opérateur|Essai|Étalon|Bobine|Échantillon no|Épaisseur|Moyenne|Équipe|Bons|Rebuts"),
        "conforme", "non conforme",
    ),
    "us": Country(
        "utf-8-sig", ",", ".", "%m/%d/%Y %I:%M:%S %p",
        _words("Stroke|Time|Cavity|Result|Part|Operator|Trial|Reference|Coil|Subgroup|Blade width|Average|Shift|Accepted|Rejected"),
        "PASS", "FAIL",
    ),
    "zh": Country(
        "gb18030", ",", ".", "%Y/%m/%d %H:%M:%S",
        _words("冲次|时间|工位|判定|零件|检验员|次数|基准值|卷号|子组|宽度|平均值|班次|合格数|不合格数"),
        "合格", "不合格",
    ),
    "ja": Country(
        "cp932", ",", ".", "%Y年%m月%d日 %H時%M分%S秒",
        _words("ショット|日時|キャビティ|判定|部品|測定者|回数|基準値|コイル|群|幅寸法|平均値|シフト|良品数|不良数"),
        "良", "不良", full_width=True,
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Export:
    """One file: its name, its bytes, its role, and the table that reading has to give."""

    name: str
    content: bytes
    role: str
    truth: pd.DataFrame


Rows = list[list[object]]


def _values(rng: np.random.Generator, *shape: int) -> np.ndarray:
    return rng.normal(2.8, 0.01, shape).round(4)


def _run(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    w, values = c.words, _values(rng, 24)
    begin = datetime.datetime(2026, 11, 26, 11, 59, 40)
    times = [begin + datetime.timedelta(seconds=i) for i in range(24)]
    stations = ["L" if i % 2 else "R" for i in range(24)]
    rows: Rows = [[w["order"], w["time"], w["station"], w["verdict"], w["width"]]]
    rows += [
        [i + 1, times[i], stations[i], c.bad if i % 9 == 4 else c.good, float(values[i])]
        for i in range(24)
    ]
    truth = {"order": np.arange(1.0, 25), "time": times, "station": stations, "value": values}
    return rows, pd.DataFrame(truth | {"accepted": [i % 9 != 4 for i in range(24)]})


def _stations(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    values = _values(rng, 24, 2)
    name = c.words["width"].replace(" ", "")
    rows: Rows = [[c.words["order"], f"{name}_L", f"{name}_R"]]
    rows += [[i + 1, float(a), float(b)] for i, (a, b) in enumerate(values)]
    order = np.repeat(np.arange(1.0, 25), 2)
    return rows, pd.DataFrame({"order": order, "station": ["L", "R"] * 24, "value": values.ravel()})


def _subgroups(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    values = _values(rng, 12, 5)
    rows: Rows = [[c.words["subgroup"], *(f"x{j}" for j in range(1, 6)), c.words["mean"]]]
    rows += [[i + 1, *map(float, row), float(row.mean().round(4))] for i, row in enumerate(values)]
    order = np.arange(1.0, 61)
    return rows, pd.DataFrame(
        {"order": order, "subgroup": np.repeat(range(12), 5), "value": values.ravel()}
    )


def _crossed_wide(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    values = _values(rng, 10, 2, 3)
    rows: Rows = [[c.words["part"], *(f"{a} {t}" for a in ("Anna", "Bert") for t in (1, 2, 3))]]
    rows += [[i + 1, *map(float, row.ravel())] for i, row in enumerate(values)]
    rows.append([c.words["mean"], *map(float, values.mean(axis=0).ravel().round(4))])
    tags = [(str(p + 1), a, str(t)) for p in range(10) for a in ("Anna", "Bert") for t in (1, 2, 3)]
    truth = pd.DataFrame(tags, columns=["part", "appraiser", "trial"])
    return rows, truth.assign(value=values.ravel())


def _crossed_long(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    w, values = c.words, _values(rng, 10, 2, 2)
    tags = [(str(p + 1), a, str(t)) for p in range(10) for a in ("A", "B") for t in (1, 2)]
    rows: Rows = [[w["part"], w["appraiser"], w["trial"], w["width"]]]
    rows += [
        [int(p), a, int(t), float(v)] for (p, a, t), v in zip(tags, values.ravel(), strict=True)
    ]
    truth = pd.DataFrame(tags, columns=["part", "appraiser", "trial"])
    return rows, truth.assign(value=values.ravel())


def _two_rows(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    rows, truth = _crossed_wide(c, rng)
    upper: list[object] = ["", "Anna", "", "", "Bert", "", ""]
    lower: list[object] = [rows[0][0], 1, 2, 3, 1, 2, 3]
    return [upper, lower, *rows[1:]], truth


def _judged_wide(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    good = rng.random((20, 5)) < 0.7
    names = [(a, str(t)) for a in ("A", "B") for t in (1, 2)]
    rows: Rows = [[c.words["part"], c.words["reference"], *(f"{a}{t}" for a, t in names)]]
    rows += [[i + 1, *(c.good if g else c.bad for g in row)] for i, row in enumerate(good)]
    tags = [(str(p + 1), a, t) for p in range(20) for a, t in names]
    truth = pd.DataFrame(tags, columns=["part", "appraiser", "trial"])
    return rows, truth.assign(judgement=good[:, 1:].ravel(), reference=np.repeat(good[:, 0], 4))


def _judged_long(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    w, good = c.words, rng.random((12, 2, 2)) < 0.7
    tags = [(str(p + 1), a, str(t)) for p in range(12) for a in ("A", "B") for t in (1, 2)]
    rows: Rows = [[w["part"], w["appraiser"], w["trial"], w["verdict"]]]
    rows += [
        [int(p), a, int(t), c.good if g else c.bad]
        for (p, a, t), g in zip(tags, good.ravel(), strict=True)
    ]
    truth = pd.DataFrame(tags, columns=["part", "appraiser", "trial"])
    return rows, truth.assign(judgement=good.ravel())


def _masters(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    known = np.repeat([2.75, 2.8, 2.85], 8)
    values = (known + rng.normal(0, 0.001, 24)).round(4)
    rows: Rows = [[c.words["reference"], c.words["width"]]]
    rows += [[float(k), float(v)] for k, v in zip(known, values, strict=True)]
    return rows, pd.DataFrame({"reference": known, "value": values})


def _coils_long(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    values = _values(rng, 24)
    coils = [f"K{i // 8 + 1}" for i in range(24)]
    rows: Rows = [[c.words["coil"], c.words["width"]]]
    rows += [[coil, float(v)] for coil, v in zip(coils, values, strict=True)]
    return rows, pd.DataFrame({"coil": coils, "value": values})


def _coils_wide(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    values = _values(rng, 8, 3)
    names = [f"{c.words['coil']} {i}" for i in (1, 2, 3)]
    rows: Rows = [["Nr", *names], *([i + 1, *map(float, row)] for i, row in enumerate(values))]
    return rows, pd.DataFrame({"coil": names * 8, "value": values.ravel()})


def _pairs(c: Country, rng: np.random.Generator) -> tuple[Rows, pd.DataFrame]:
    first = (2.7 + np.arange(20) / 100).round(4)
    second = (first + rng.normal(0, 0.0005, 20)).round(5)
    rows: Rows = [[c.words["part"], "Camera", "CMM"]]
    rows += [
        [i + 1, float(a), float(b)] for i, (a, b) in enumerate(zip(first, second, strict=True))
    ]
    return rows, pd.DataFrame(
        {"part": [str(i) for i in range(1, 21)], "first": first, "second": second}
    )


KINDS = {
    "run": ("run", _run),
    "run by station": ("run", _stations),
    "subgroups": ("run", _subgroups),
    "crossed, wide": ("crossed", _crossed_wide),
    "crossed, two header rows": ("crossed", _two_rows),
    "crossed, long": ("crossed", _crossed_long),
    "judgements, wide": ("attribute", _judged_wide),
    "judgements, long": ("attribute", _judged_long),
    "masters": ("reference", _masters),
    "coils": ("nested", _coils_long),
    "coils, wide": ("nested", _coils_wide),
    "two gauges": ("paired", _pairs),
}
DRESSES = ("text", "text below a title", "workbook", "old workbook", "UTF-16", "JSON lines")
_FULL = str.maketrans("0123456789.", "０１２３４５６７８９．")


def _cell(c: Country, value: object, full: bool) -> str:
    if isinstance(value, datetime.datetime):
        return value.strftime(c.clock)
    if isinstance(value, float):
        text = f"{value:.5f}".rstrip("0").rstrip(".").replace(".", c.decimal)
        return text.translate(_FULL) if full else text
    return str(value)


def _text(c: Country, rows: Rows, mark: str, full: bool = False) -> str:
    return "\r\n".join(mark.join(_cell(c, cell, full) for cell in row) for row in rows) + "\r\n"


def _dressed(c: Country, rows: Rows, dress: str) -> tuple[str, bytes]:
    if dress == "text":
        return "f.csv", _text(c, rows, c.mark, c.full_width).encode(c.encoding)
    if dress == "text below a title":
        title = c.words["width"] + " 4" + c.mark * (len(rows[0]) - 1) + "\r\n\r\n"
        return "f.txt", (title + _text(c, rows, c.mark)).encode("utf-8")
    if dress == "UTF-16":
        return "f.tsv", _text(c, rows, "\t").encode("utf-16")
    if dress == "JSON lines":
        names = [str(name) for name in rows[0]]
        cells = [
            [v.isoformat() if isinstance(v, datetime.datetime) else v for v in row]
            for row in rows[1:]
        ]
        lines = [
            json.dumps(dict(zip(names, row, strict=True)), ensure_ascii=False) for row in cells
        ]
        return "f.jsonl", "\n".join(lines).encode("utf-8")
    stream = io.BytesIO()
    if dress == "workbook":
        book = openpyxl.Workbook()
        book.active["A1"] = "Deckblatt"
        page = book.create_sheet("Blatt 2")
        page["A1"] = c.words["width"]
        for i, row in enumerate(rows):
            for j, value in enumerate(row):
                page.cell(3 + i, 1 + j, None if value == "" else value)
        book.save(stream)
        return "f.xlsx", stream.getvalue()
    old = xlwt.Workbook()
    sheet = old.add_sheet("Tabelle1")
    clock = xlwt.easyxf(num_format_str="YYYY-MM-DD HH:MM:SS")
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            if value != "":
                sheet.write(i, j, value, *([clock] if isinstance(value, datetime.datetime) else []))
    old.save(stream)
    return "f.xls", stream.getvalue()


def exports() -> dict[str, Export]:
    """Make all of them.

    Returns
    -------
    dict of str to Export
        By country, kind and dress.
    """
    found = {}
    for place, country in COUNTRIES.items():
        for number, (kind, (role, make)) in enumerate(KINDS.items()):
            for dress in DRESSES:
                if dress == "JSON lines" and (kind.endswith("two header rows") or "wide" in kind):
                    continue
                rng = np.random.default_rng([number, len(place)])
                rows, truth = make(country, rng)
                name, content = _dressed(country, rows, dress)
                found[f"{place}: {kind}, {dress}"] = Export(name, content, role, truth)
    return found
