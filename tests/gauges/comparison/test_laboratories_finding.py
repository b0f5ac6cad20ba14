"""What a round of laboratories says, and shows, and where a study folder gets it from."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from linestudy import open_study, read
from linestudy.gauges import evaluate, interlaboratory


def test_a_quiet_round_says_so() -> None:
    rng = np.random.default_rng(4)
    at = np.indices((4, 3, 2)).reshape(3, -1)
    data = pd.DataFrame(
        {"laboratory": at[0], "part": at[1], "value": at[1] + rng.normal(0, 0.1, 24)}
    )
    found = interlaboratory(data, unit="mm", tolerance=2.0)
    assert found.statement.startswith("4 laboratories on 3 parts: repeatability SD")
    assert found.statement.endswith("No laboratory stands out.")
    assert next(iter(found.table().columns)) == "part"
    labels = [tick.get_text() for tick in found.figure().axes[0].get_yticklabels()]
    assert labels == ["3", "2", "1", "0"]


def test_three_gauges_of_a_folder_are_held_together(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    toml = (
        'format = 1\n[study]\ntitle = "t"\npart = "p"\n'
        '[[characteristic]]\nid = "w"\nname = "Width"\nunit = "mm"\nlower = 2.7\nupper = 2.9\n'
    )
    for number, gauge in enumerate(("camera", "cmm", "customer")):
        toml += f'[[gauge]]\nid = "{gauge}"\nname = "{gauge.upper()}"\n'
        rows = [
            f"{part},{t},{2.75 + 0.01 * part + 0.003 * number + rng.normal(0, 0.001):.4f}"
            for part in range(8)
            for t in (1, 2, 3)
        ]
        (tmp_path / f"{gauge}.csv").write_text("Part,Trial,W\n" + "\n".join(rows) + "\n")
    for gauge in ("camera", "cmm", "customer"):
        toml += (
            f'[[data]]\nrole = "crossed"\ngauge = "{gauge}"\nfile = "{gauge}.csv"\n'
            'columns = { w = "W" }\npart = "Part"\ntrial = "Trial"\nunit = "mm"\n'
        )
    (tmp_path / "study.toml").write_text(toml)
    study = open_study(tmp_path)
    found = evaluate(study, read(study)).get("w", "laboratories")
    assert found.laboratories == ("CAMERA", "CMM", "CUSTOMER")
    assert 0.001 in found.repeatability_sd
    assert found.reproducibility_sd.estimate > 2 * found.repeatability_sd.estimate
