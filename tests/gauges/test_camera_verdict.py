"""A study folder with a third factor, a camera among the appraisers, and a measured value behind judgements."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from linestudy import open_study, read
from linestudy.gauges import evaluate
from linestudy.results import Findings, Unjudged

HEAD = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
nominal = 10.0
lower = 9.7
upper = 10.3
[[gauge]]
id = "cam"
name = "Camera"
"""
LOOK = """[[characteristic]]
id = "look"
name = "Look"
"""


@pytest.fixture
def found(tmp_path: Path) -> Findings:
    rng = np.random.default_rng(4)
    rows = ["part,who,day,trial,w"]
    sizes, days = rng.normal(10, 0.1, 8), rng.normal(0, 0.02, 3)
    for p, size in enumerate(sizes):
        for who in "AB":
            for day in range(3):
                for trial in range(2):
                    rows.append(
                        f"{p},{who},{day},{trial},{size + days[day] + rng.normal(0, 0.01):.4f}"
                    )
    (tmp_path / "crossed.csv").write_text("\n".join(rows) + "\n")
    rows = ["part,who,round,said,truth,x"]
    for p, x in enumerate(np.linspace(9.5, 10.0, 60)):
        for who, spread in (("Ana", 0.05), ("camera", 0.01)):
            for turn in range(2):
                said = "ok" if x + rng.normal(0, spread) > 9.7 else "nok"
                rows.append(f"{p},{who},{turn},{said},{'ok' if x > 9.7 else 'nok'},{x:.4f}")
    (tmp_path / "look.csv").write_text("\n".join(rows) + "\n")
    (tmp_path / "study.toml").write_text(
        HEAD
        + LOOK
        + """[[data]]
role = "crossed"
gauge = "cam"
file = "crossed.csv"
columns = { w = "w" }
part = "part"
appraiser = "who"
trial = "trial"
factor = "day"
[[data]]
role = "attribute"
file = "look.csv"
characteristic = "look"
part = "part"
appraiser = "who"
trial = "round"
judgement = "said"
reference = "truth"
measured = "x"
accept = ["ok"]
reject = ["nok"]
"""
    )
    study = open_study(tmp_path)
    return evaluate(study, read(study))


def test_the_day_is_a_source_of_its_own(found: Findings) -> None:
    study = found.get("w", "gauges", "cam", "crossed")
    assert study.design.factor == ("0", "1", "2")
    day = study.components["factor"].sd
    assert day.low <= 0.02 <= day.high
    assert study.components["repeatability"].sd.estimate == pytest.approx(0.01, rel=0.25)


def test_a_camera_is_judged_as_a_person_is(found: Findings) -> None:
    study = found.get("look", "attribute")
    assert study.appraisers == ("Ana", "camera")
    kappa = study.kappa_with_reference
    assert kappa["camera"].estimate > kappa["Ana"].estimate
    curve = found.get("look", "attribute", "performance_curve")
    assert not isinstance(curve, Unjudged)
    assert 9.7 in curve.sides["lower"].threshold


def test_readings_in_inches_are_named_and_the_rest_goes_on(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    rows = ["part,trial,w"]
    for p, size in enumerate(rng.normal(10, 0.1, 8)):
        for trial in range(2):
            rows.append(f"{p},{trial},{(size + rng.normal(0, 0.01)) / 25.4:.6f}")
    (tmp_path / "crossed.csv").write_text("\n".join(rows) + "\n")
    (tmp_path / "study.toml").write_text(
        HEAD
        + """[[data]]
role = "crossed"
gauge = "cam"
file = "crossed.csv"
columns = { w = "w" }
part = "part"
trial = "trial"
"""
    )
    study = open_study(tmp_path)
    found = evaluate(study, read(study)).get("w", "gauges", "cam", "crossed")
    assert isinstance(found, Unjudged)
    assert "inches read as millimetres" in found.reason
    assert " mm is expected" in found.reason
