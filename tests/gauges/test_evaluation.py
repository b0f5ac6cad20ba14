"""The sample study's gauges: every table is evaluated, and the truth lies within its interval."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linestudy import open_study, read
from linestudy.gauges import evaluate
from linestudy.results import Findings, Unjudged


@pytest.fixture(scope="module")
def found(request: pytest.FixtureRequest) -> Findings:
    study = open_study(request.config.rootpath / "sample_data" / "fork_receptacle")
    return evaluate(study, read(study))


@pytest.fixture(scope="module")
def truth(request: pytest.FixtureRequest) -> dict:
    file: Path = request.config.rootpath / "sample_data" / "fork_receptacle" / "truth.json"
    return json.loads(file.read_text())["characteristics"]


def test_nothing_in_the_sample_study_is_beyond_judgement(found: Findings) -> None:
    assert not [place for place, item in found.items() if isinstance(item, Unjudged)]
    # Five measured characteristics: nine methods on the camera, five on the CMM, one on both; pull;
    # appearance; all biases side by side.
    assert len(found) == 5 * 15 + 3


@pytest.mark.parametrize("key", ["blade", "throat", "offset", "shoulder", "seam"])
def test_true_repeatability_and_bias(found: Findings, truth: dict, key: str) -> None:
    crossed = found.get(key, "gauges", "camera", "crossed")
    true = truth[key]["camera"]["repeatability"]
    # Rounding to a micrometre adds its own variance (Sheppard).
    rounded = (true**2 + 0.001**2 / 12) ** 0.5
    sd = crossed.components["repeatability"].sd
    assert sd.low * 0.9 <= rounded <= sd.high * 1.1
    bias = found.get(key, "gauges", "camera", "bias").mean_bias
    assert bias.low - 0.0003 <= truth[key]["camera"]["bias"] <= bias.high + 0.0003


def test_every_finding_records_states_and_draws(found: Findings) -> None:
    for _, item in found.items():
        assert json.dumps(item.record(), allow_nan=False)
        assert item.statement.endswith(".")
        assert len(item.shown())
        figure = item.figure()
        assert figure is None or figure.alt_text
