"""The sample study's gauges: every table is evaluated, and the truth lies within its interval."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from own_gauges import drift, masters, write_gauges

from linestudy import open_study, read
from linestudy.gauges import evaluate
from linestudy.results import Findings, InputError, Unjudged


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
    # Five measured characteristics: nine methods on the camera, five on the CMM, two on both; pull and its
    # strength by size; appearance; all biases side by side; and the repeatability behind the step of four on the camera.
    assert len(found) == 5 * 16 + 4 + 4


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
    assert len(list(found.items())) > 10
    for _, item in found.items():
        assert json.dumps(item.record(), allow_nan=False)
        assert item.statement.endswith(".")
        assert len(item.shown())
        figure = item.figure()
        assert figure is None or figure.alt_text


def test_strength_by_size_from_a_file(tmp_path: Path) -> None:
    """The camera's reading stands beside the force; in inch, with a mark of none, in batches."""
    rng = np.random.default_rng(3)
    width = rng.uniform(0.36, 0.54, 48)
    force = 20 + 140 * width + rng.normal(0, 2, 48)
    rows = [
        f"coil {i % 6},{f:.1f},{w / 25.4:.6f}"
        for i, (f, w) in enumerate(zip(force, width, strict=True))
    ]
    rows[4] = "coil 4,84.0,"
    (tmp_path / "pull.csv").write_text("Coil,Force,Seam\n" + "\n".join(rows) + "\n")
    (tmp_path / "study.toml").write_text(
        'format = 1\n[study]\ntitle = "t"\npart = "p"\n'
        '[[characteristic]]\nid = "seam"\nname = "Seam width"\nunit = "mm"\nlower = 0.33\nupper = 0.57\n'
        '[[characteristic]]\nid = "pull"\nname = "Pull"\nunit = "N"\nlower = 60.0\n'
        '[[gauge]]\nid = "puller"\nname = "Puller"\n'
        '[[data]]\nrole = "nested"\ngauge = "puller"\nfile = "pull.csv"\ncolumns = { pull = "Force" }\n'
        'levels = ["Coil"]\nsize = "Seam"\nsize_of = "seam"\nunits = { Seam = "in" }\nunit = "N"\n'
    )
    study = open_study(tmp_path)
    found = evaluate(study, read(study)).get("pull", "gauges", "puller", "strength")
    assert found.n == 47
    assert found.batches == 6
    assert 140.0 in found.slope
    assert found.reaches == pytest.approx(
        (np.delete(width, 4).min(), np.delete(width, 4).max()), abs=1e-4
    )
    assert found.at_limits["lower"] > 55.0


def test_a_size_needs_its_characteristic(tmp_path: Path) -> None:
    (tmp_path / "pull.csv").write_text("Coil,Force,Seam\na,84,0.4\n")
    text = (
        'format = 1\n[study]\ntitle = "t"\npart = "p"\n'
        '[[characteristic]]\nid = "pull"\nname = "Pull"\nunit = "N"\nlower = 60.0\n'
        '[[data]]\nrole = "nested"\nfile = "pull.csv"\ncolumns = { pull = "Force" }\nlevels = ["Coil"]\n'
    )
    for more, said in (
        ('size = "Seam"\n', "go together"),
        ('size = "Seam"\nsize_of = "seem"\n', "seem"),
    ):
        (tmp_path / "study.toml").write_text(text + more)
        with pytest.raises(InputError, match=said):
            open_study(tmp_path)


def test_masters_read_in_another_unit_than_theirs_are_refused(tmp_path: Path) -> None:
    read_in_um = [(size, 1000 * y) for size, y in masters()]
    over_time = [(n, size, y / 25.4) for n, size, y in drift()]
    folder = write_gauges(tmp_path, {"width": {"reference": read_in_um, "drift": over_time}})
    study = open_study(folder)
    found = evaluate(study, read(study))
    for method in ("bias", "linearity", "cg_cgk", "drift"):
        refused = found.get("width", "gauges", "cam", method)
        assert isinstance(refused, Unjudged), method
        unit = "inches" if method == "drift" else "micrometres"
        assert f"they look like {unit} read as millimetres" in refused.reason
