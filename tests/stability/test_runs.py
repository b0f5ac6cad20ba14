"""What a run offers to the methods."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd


def test_parts_without_an_order_number_are_counted_from_one(sample_study: Path) -> None:
    from linestudy import open_study
    from linestudy.stability.runs import RunOfParts

    study = open_study(sample_study)
    item = study.characteristics[0]
    run = RunOfParts(study, item, pd.DataFrame({"value": [5.0, 6.0, 7.0]}))
    assert run.order.tolist() == [1.0, 2.0, 3.0]
    run = RunOfParts(study, item, pd.DataFrame({"value": [5.0, 6.0], "order": [4, 9]}))
    assert run.order.tolist() == [4, 9]


def test_resets_that_come_with_a_change_of_coil_are_counted() -> None:
    from linestudy.stability.runs import resets_at_coil_changes

    table = pd.DataFrame(
        {"order": np.arange(1.0, 101), "coil": np.repeat(["1", "2", "3", "4"], 25)}
    )
    assert resets_at_coil_changes(table, (26.0, 51.0, 60.0)) == 2
    assert resets_at_coil_changes(table, (30.0,)) == 0
    assert resets_at_coil_changes(table.drop(columns="coil"), (26.0,)) == 0
    assert resets_at_coil_changes(table, ()) == 0
