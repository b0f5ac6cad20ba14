"""Raw files of an invented plant: a spring with two outlets, its drawing in inches, gauge sheets as people keep them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import openpyxl

#: What the drawing says: name, nominal, upper and lower deviation, unit, special, gauge.
DRAWING = [
    ("Contact height", 0.110, 0.002, -0.002, "in", "X", "Camera K2"),
    ("Burr", 0, 0.0015, 0, "in", "", "Camera K2"),
    ("Pull force", 40, None, -5, "N", "X", "Pull tester"),
]


def write_plant_files(folder: Path, strokes: int = 300, seed: int = 12) -> dict[str, np.ndarray]:
    """Write the files, and give the truth of what each holds, in its own order.

    Parameters
    ----------
    folder : pathlib.Path
    strokes : int
        Of the run, two parts each.
    seed : int

    Returns
    -------
    dict of str to numpy.ndarray
        File → its readings in inches or newtons.
    """
    rng = np.random.default_rng(seed)
    folder.mkdir(parents=True, exist_ok=True)
    rows = ["No;Characteristic;Nominal;+Tol;-Tol;Unit;SC;Gauge"]
    for number, (name, nominal, above, below, unit, special, gauge) in enumerate(DRAWING, 1):
        cells = [number, name, nominal, "" if above is None else above, below, unit, special, gauge]
        rows.append(";".join(str(cell).replace(".", ",") for cell in cells))
    (folder / "drawing.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    truth: dict[str, np.ndarray] = {}
    height = rng.normal(0.11, 0.0003, 2 * strokes).round(5)
    burr = np.abs(rng.normal(0.0003, 0.0001, 2 * strokes)).round(5)
    truth["log.csv"] = np.column_stack([height, burr])
    lines = ["Messprotokoll Linie 4", "Hub-Nr.;Zeit;Station;Contact height [in];Burr [in];Ergebnis"]
    for i in range(2 * strokes):
        stroke = i // 2
        clock = f"02.03.2026 {6 + stroke // 3600:02d}:{stroke // 60 % 60:02d}:{stroke % 60:02d}"
        numbers = ";".join(f"{x:.5f}".replace(".", ",") for x in (height[i], burr[i]))
        lines.append(
            f"{stroke + 1};{clock};{'LR'[i % 2]};{numbers};{'n.i.O.' if i % 97 == 5 else 'i.O.'}"
        )
    lines.append("Mittelwert;;;0,11;0,0003;")
    (folder / "log.csv").write_bytes(("\r\n".join(lines) + "\r\n").encode("cp1252"))
    parts = rng.normal(2.794, 0.008, 10)
    sheet = (parts[:, None] + rng.normal(0, 0.002, (10, 6))).round(4)
    truth["msa.xlsx"] = sheet / 25.4
    book = openpyxl.Workbook()
    cover = book.active
    cover.title = "Deckblatt"
    cover["A1"] = "Messsystemanalyse"
    cover["A2"], cover["B2"] = "Abteilung", "QS"
    page = book.create_sheet("Contact height")
    page["A1"] = "Contact height, alle Werte in mm"
    for column, person in ((2, "Anna"), (5, "Bert")):
        page.cell(3, column, person)
        page.merge_cells(start_row=3, end_row=3, start_column=column, end_column=column + 2)
    page.cell(4, 1, "Teil")
    for j in range(6):
        page.cell(4, 2 + j, 1 + j % 3)
    for i in range(10):
        page.cell(5 + i, 1, i + 1)
        for j in range(6):
            page.cell(5 + i, 2 + j, float(sheet[i, j]))
    page.cell(15, 1, "Mittelwert")
    page.cell(15, 2, float(sheet[:, 0].mean()))
    judged = book.create_sheet("Weld seam")
    judged.append(["Teil", "Referenz", "Anna 1", "Anna 2", "Bert 1", "Bert 2"])
    good = rng.random((30, 5)) < 0.8
    for i in range(30):
        judged.append([i + 1, *("gut" if g else "schlecht" for g in good[i])])
    truth["Weld seam"] = good
    book.save(folder / "msa.xlsx")
    masters = np.repeat([2.75, 2.79, 2.83], 10)
    camera = (masters / 25.4 + rng.normal(0, 2e-5, 30)).round(5)
    truth["masters.csv"] = np.column_stack([camera, masters / 25.4])
    text = "Master [mm],Contact height [in]\n" + "".join(
        f"{m},{c:.5f}\n" for m, c in zip(masters, camera, strict=True)
    )
    (folder / "masters.csv").write_text(text, encoding="utf-8")
    force = rng.normal(42, 1, (20, 3)).round(2)
    truth["pull force.csv"] = force
    lines = [
        "No,Coil 1,Coil 2,Coil 3",
        *(f"{i + 1},{a},{b},{c}" for i, (a, b, c) in enumerate(force)),
    ]
    (folder / "pull force.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return truth
