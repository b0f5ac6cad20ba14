"""Signs in numbers as keyboards and programs write them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import WIDTHS, delimited, the_run


@pytest.mark.parametrize("kind", ["grouped", "as text"])
def test_apostrophes_of_two_kinds(tmp_path: Path, kind: str) -> None:
    truth = (WIDTHS * 1000).round(1) if kind == "grouped" else WIDTHS
    cells = [f"{each:,.1f}".replace(",", "\u2019") if kind == "grouped" else f"'{each:.4f}" for each in truth]  # fmt: skip
    rows = [[i + 1, cell] for i, cell in enumerate(cells)]
    table = the_run(tmp_path, "log.csv", delimited([["Stroke", "Force"], *rows], ";"))
    assert np.allclose(table["value"], truth)
