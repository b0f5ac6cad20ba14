"""Conformity with all limits at once: counted, and what cannot be judged."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.capability import (
    joint_conformity,
)
from linestudy.results import CannotJudge


def test_joint_share_is_counted() -> None:
    parts = pd.DataFrame({"a": np.arange(100.0), "b": np.arange(100.0)[::-1], "c": np.nan})
    study = joint_conformity(parts, {"a": (10, None), "b": (10, None)})
    assert study.within_all.estimate == pytest.approx(0.80)
    assert study.product_of_shares == pytest.approx(0.81)
    assert study.pairs[0].correlation == pytest.approx(-1.0)
    with pytest.raises(CannotJudge, match="Fewer than two"):
        joint_conformity(parts, {"a": (0, 1)})
    with pytest.raises(CannotJudge, match="twenty"):
        joint_conformity(parts, {"a": (0, 1), "c": (0, 1)})


def test_characteristics_are_called_as_people_call_them() -> None:
    parts = pd.DataFrame({"a": np.arange(100.0), "b": np.arange(100.0)[::-1]})
    study = joint_conformity(
        parts, {"a": (10, None), "b": (10, None)}, names={"a": "Blade width", "c": "Gap"}
    )
    assert "Correlated: Blade width and b (-1.00)." in study.statement
    assert list(study.shown()["first"]) == ["Blade width"]
    ticks = [text.get_text() for text in study.figure().axes[0].get_yticklabels()]
    assert "Blade width" in ticks
    # What results.json holds keeps the ids, which is what a program asks for.
    assert study.record()["pairs"][0]["first"] == "a"
    assert "names" not in study.record()
