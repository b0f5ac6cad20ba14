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


def test_lots_are_the_levels_of_a_destructive_test_or_the_coils_of_a_run(tmp_path) -> None:
    from linestudy import open_study, start_study
    from linestudy.capability.evaluation import lots_of

    study = open_study(start_study(tmp_path / "study"))
    item = study.characteristics[0]
    rng = np.random.default_rng(3)
    nested = pd.DataFrame({"value": rng.normal(size=24), "Batch": list("aabbcc") * 4})
    nested.attrs["levels"] = ("Batch",)
    draws, name = lots_of(study, item, nested)
    assert (name, draws.lots) == ("Batch", 3)
    # Stations that alternate within each coil have levels of their own, which say nothing of coils.
    station = np.tile([0.0, 8.0], 40)
    run = pd.DataFrame(
        {
            "value": rng.normal(size=80) + station,
            "coil": np.arange(80) // 27,
            "order": np.arange(80.0),
            "station": station,
        }
    )
    draws, name = lots_of(study, item, run)
    assert (name, draws.lots) == ("coil", 3)
    # Left in, they would leave three times as much open.
    assert np.quantile(draws.stretch, 0.95) < 1.05
    # One coil, a part without one, or no column: nothing is known of lots.
    for less in (run.assign(coil="1"), run.assign(coil=[None] * 3 + ["1", "2"] * 38 + ["1"])):
        assert lots_of(study, item, less) == (None, "")
    assert lots_of(study, item, run.drop(columns="coil")) == (None, "")


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
