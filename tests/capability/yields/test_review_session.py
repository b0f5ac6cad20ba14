"""The review as a notebook goes through it, on the second sample study: drawn, judged, counted, and back in a study."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from linestudy import open_study, read
from linestudy.capability import Review, ReviewStudy, review
from linestudy.results import Unjudged

TWIN = Path(__file__).parents[3] / "sample_data" / "twin_contact"


def judged(folder: Path) -> tuple[Review, pd.DataFrame]:
    """Somebody who sees a burr beyond its limit wherever the logged reading shows one."""
    study = open_study(folder)
    found = review(study, read(study))
    assert not isinstance(found.sheet, Unjudged)
    parts = found.sheet.parts
    bad = parts["burr"] > 0.0012
    words = np.where(bad, "reject", "accept")
    table = pd.DataFrame({"part": parts["part"], "appraiser": "Ada", "judgement": words})
    table.to_csv(folder / "review.csv", index=False)
    return found, parts.assign(bad=bad)


def test_from_pictures_to_an_attribute_study_of_the_camera(tmp_path: Path) -> None:
    folder = tmp_path / "twin"
    shutil.copytree(TWIN, folder)
    found, parts = judged(folder)
    result = found.result()
    assert isinstance(result, ReviewStudy)
    truth: dict[str, Any] = json.loads((folder / "truth.json").read_text())
    # All 22 rejected parts were in reach; two of them are inside all limits by the log.
    assert result.groups[0].reviewed == 20
    good = int((~parts["bad"] & ~parts["accepted"]).sum())
    assert result.groups[0].contradicted == good
    assert good <= truth["overkill"] + 1
    assert 1e6 * truth["overkill"] / truth["parts"] in result.overkill  # type: ignore[operator]
    camera = found.camera_study(keep=True)
    assert not isinstance(camera, Unjudged)
    assert camera.parts == len(parts)
    text = found.description.replace("ID of a characteristic without limits", "look")
    with (folder / "study.toml").open("a", encoding="utf-8") as file:
        file.write(f'\n[[characteristic]]\nid = "look"\nname = "Burr by eye"\n\n{text}')
    study = open_study(folder)
    again = read(study).table("attribute", "look")
    assert again is not None
    assert len(again) == len(parts)
    assert int((again["judgement"] != again["reference"]).sum()) == sum(
        group.contradicted for group in result.groups
    )


def test_before_anybody_judged_it_says_so(tmp_path: Path) -> None:
    folder = tmp_path / "twin"
    shutil.copytree(TWIN, folder)
    study = open_study(folder)
    found = review(study, read(study))
    assert isinstance(found.result(), Unjudged)
    assert len(found.ask("Ada").children) == len(found.sheet)  # type: ignore[arg-type]


def test_a_study_without_pictures_says_why(sample_study: Path) -> None:
    study = open_study(sample_study)
    found = review(study, read(study))
    assert isinstance(found.sheet, Unjudged)
    assert found.ask("Ada") is found.sheet
    assert isinstance(found.camera_study(), Unjudged)
