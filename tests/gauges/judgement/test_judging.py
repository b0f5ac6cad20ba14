"""What is made of the judgements of a folder: rates, grades, and curves where a value stands behind them."""

from __future__ import annotations

from pathlib import Path

import numpy as np


def test_judgements_come_from_a_folder(tmp_path: Path) -> None:
    from linestudy import open_study, read
    from linestudy.gauges import evaluate

    words = np.array(["none", "slight", "medium", "heavy"])
    draw = np.random.default_rng(4)
    burr, cuts = np.linspace(0, 1, 40), np.array([0.3, 0.6, 0.8])
    lines = []
    for who, shift in (("A", 0.0), ("B", 0.05)):
        for part in np.tile(np.arange(40), 2):
            seen, true = (
                np.searchsorted(cuts, burr[part] + e) for e in (shift + 0.08 * draw.normal(), 0)
            )
            lines.append(f"{part},{who},{words[seen]},{words[true]},{burr[part]:.3f}")
    first = lines[7].split(",")
    lines[7] = ",".join([*first[:2], "", *first[3:]])
    (tmp_path / "graded.csv").write_text("\n".join(["Part,Who,Grade,True,Burr", *lines]) + "\n")
    (tmp_path / "study.toml").write_text(
        'format = 1\n[study]\ntitle = "t"\npart = "p"\n[[characteristic]]\nid = "scratch"\nname = "Scratch"\nupper = 0.6\n'
        '[[data]]\nrole = "attribute"\nfile = "graded.csv"\npart = "Part"\nappraiser = "Who"\njudgement = "Grade"\n'
        'reference = "True"\ncharacteristic = "scratch"\ngrades = ["none", "slight", "medium", "heavy"]\n'
        'accept = ["none", "slight"]\nmeasured = "Burr"\n'
    )
    study = open_study(tmp_path)
    found = evaluate(study, read(study))
    graded_study = found.get("scratch", "attribute", "grades")
    assert graded_study.grades == tuple(words)
    assert graded_study.incomplete == 1
    assert found.get("scratch", "attribute").parts == 40
    graded_study.figure()
    thresholds = found.get("scratch", "attribute", "thresholds").sides["upper"]
    assert set(thresholds.appraisers) == {"A", "B"}
    assert 0.575 in thresholds.together.threshold
    curve = found.get("scratch", "attribute", "performance_curve")
    assert "by part" in curve.sides["upper"].threshold.method
