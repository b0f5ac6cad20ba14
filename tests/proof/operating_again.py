"""A part of the operating characteristics simulated once more, after rules had changed that most of the grid is older than.

``python tests/proof/operating_again.py FOLDER READINGS STUDIES SECONDS`` simulates so many studies of each of these processes and may be called
again; ``python tests/proof/operating_again.py FOLDER --report DATE`` keeps them for OPERATING.md, which ``operating.py`` writes.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

KEPT = Path(__file__).parent / "report" / "operating" / "again.json"
#: Those of the README's lines, and those that the changed rules read.
NAMES = (
    "normal",
    "t, 4 df",
    "1.0% outliers of 4 SD",
    "t, 8 df",
    "gamma, shape 4",
    "Weibull, shape 1.5",
    "4 stations, one 1.2 SD off, named",
    "AR(1), 0.3",
)


def section() -> str:
    """Cells that were simulated once more, beside which the tables are older."""
    from linestudy.simulate.operating import INDICES

    if not KEPT.is_file():
        return ""
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    shown = "".join(f" {index:.2f} |" for index in INDICES)
    parts = [
        f"\n## Measured again on {kept['date']}\n\nThe tables above are older than these rules: an index of a rejected distribution alone condemns "
        "nobody (column *fails* at 125), outliers that need not be there enter the bound from 800 readings on, p-values above one half hide "
        "no others, streams that take turns are tested each by itself as well, and streams beside a bound are described together. With all of "
        "them, on the estimate unless the bound is named:\n\n"
        f"| process | readings | studies | on the |{shown} below | objected | fails |\n|{'---|' * (len(INDICES) + 7)}\n"
    ]
    for cell in kept["cells"]:
        runs = cell["runs"]
        for key, name in (("meets_estimate", "estimate"), ("meets_bound", "bound")):
            row = "".join(f" {100 * v / runs:.0f} |" for v in cell[key])
            ends = (
                f" {100 * cell['covered'] / runs:.0f} | {100 * cell['objected'][INDICES.index(2.0)] / runs:.0f} | "
                f"{100 * cell['fails'][INDICES.index(1.67)] / runs:.0f} |"
            )
            first = f"| {cell['truth']} | {cell['n']:,} | {runs} "
            parts.append(
                f"{first if name == 'estimate' else '| | | '}| {name} |{row}{ends if name == 'estimate' else ' | | |'}\n"
            )
    return "".join(parts)


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    if sys.argv[2] == "--report":
        cells = [json.loads(file.read_text()) for file in sorted(folder.glob("*.json"))]
        cells.sort(key=lambda cell: (cell["n"], NAMES.index(cell["truth"])))
        text = json.dumps({"date": sys.argv[3], "cells": cells}, indent=0, sort_keys=True)
        KEPT.write_text(text + "\n", encoding="utf-8")
    else:
        from linestudy.simulate.operating import run_grid, truths

        known = truths()
        taken = {name: known[name] for name in NAMES}
        run_grid(taken, {int(sys.argv[2]): int(sys.argv[3])}, folder, float(sys.argv[4]))
