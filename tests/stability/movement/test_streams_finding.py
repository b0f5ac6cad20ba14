"""What a comparison of streams says, and where its tables get their numbers."""

from __future__ import annotations

import numpy as np

from linestudy.stability import compare_streams


def test_sentence_and_table_name_who_differs() -> None:
    rng = np.random.default_rng(3)
    labels = np.tile(np.repeat(["left", "right"], 1), 400)
    values = rng.normal(0, 1, 800) + 1.5 * (labels == "right")
    found = compare_streams(values, labels, unit="mm")
    assert "left" in found.statement
    assert "right" in found.statement
    assert "mm" in found.statement
    assert len(found.pairs) == 1
    text = " ".join(map(str, found.shown().to_numpy().ravel()))
    assert "left" in text
    assert found.figure().axes
