"""Readings of wide sheets: each cell accounted for, and the table that the same readings give in long form."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from wide_sheets import CROSSED, HEADER, records, sheet


def test_every_cell_is_accounted_for(tmp_path: Path) -> None:
    text, _ = sheet(HEADER)
    lines = text.split("\n")
    lines[3] = "3,3.12,,3.14,wide,3.16,3.17"
    lines[5] = "5,,,,,,"
    lines[6] = ",3.3,3.3,3.3,3.3,3.3,3.3"
    found = records(tmp_path, "\n".join(lines), CROSSED)
    account = found.ledger.accounts[2]
    assert account.set_aside == {"no part named": 1, "no usable value in the row": 1}
    assert account.values["w"].set_aside == {"no reading": 1, "no number where one belongs": 1}
    assert (account.values["w"].read, account.values["w"].used) == (48, 46)
    assert [(c.line, c.column, c.entry) for c in account.cells] == [
        (4, "A2", ""),
        (4, "B1", "wide"),
    ]
    assert len(found.table("crossed", "w")) == 46
    listed = found.ledger.cells()
    assert list(listed["column"]) == ["A2", "B1"]
    assert account.record()["cells"][1]["entry"] == "wide"


@pytest.mark.proof
def test_wide_is_long(tmp_path: Path) -> None:
    """Random sheets with cells missing: the wide sheet and its long form give the same table."""
    rng = np.random.default_rng(4)
    for _ in range(10):
        parts, people, trials = rng.integers(2, 6, size=3)
        cells = rng.normal(5, 0.1, (parts, people, trials)).round(3)
        gone = rng.random(cells.shape) < 0.1
        gone[0, 0, 0] = False
        names = [[f"P{a} T{t}" for t in range(trials)] for a in range(people)]
        lines = ["Part," + ",".join(name for row in names for name in row)]
        long = ["Part,Who,Trial,W"]
        for p in range(parts):
            shown = np.where(gone[p], "", cells[p].astype(str))
            lines.append(f"{p}," + ",".join(shown.ravel()))
            for a in range(people):
                long += [f"{p},P{a},{t + 1},{shown[a, t]}" for t in range(trials)]
        columns = ", ".join(f"P{a} = [{', '.join(map(repr, row))}]" for a, row in enumerate(names))
        head = 'role = "crossed"\ngauge = "g"\npart = "Part"\n'
        wide = records(tmp_path, "\n".join(lines), head + f"columns = {{ w = {{ {columns} }} }}\n")
        other = records(
            tmp_path,
            "\n".join(long),
            head + 'appraiser = "Who"\ntrial = "Trial"\ncolumns = { w = "W" }\n',
        )
        key = ["part", "appraiser", "trial"]
        pd.testing.assert_frame_equal(
            wide.table("crossed", "w").sort_values(key, ignore_index=True)[[*key, "value"]],
            other.table("crossed", "w").sort_values(key, ignore_index=True)[[*key, "value"]],
        )
