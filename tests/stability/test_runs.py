"""What a run offers to the methods."""

from __future__ import annotations

from pathlib import Path

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
