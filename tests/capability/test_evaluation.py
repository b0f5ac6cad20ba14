"""The room's way through a study: truth recovered, nested batches, judged characteristics."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from linestudy.capability import (
    evaluate,
    process_capability,
)


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


def test_batches_of_nested_readings_are_what_their_mean_rests_on() -> None:
    from linestudy.capability.evaluation import _independent_groups

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
