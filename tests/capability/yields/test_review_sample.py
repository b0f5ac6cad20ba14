"""Drawing parts whose pictures are looked at: kinds, chance, what is shown, and pictures that are none."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study, read
from linestudy.capability import ReviewSheet, review_sheet
from linestudy.results import CannotJudge

TWIN = Path(__file__).parents[3] / "sample_data" / "twin_contact"
STUDY = """format = 1
[study]
title = "Review"
part = "P"
[[characteristic]]
id = "w"
name = "<W>"
unit = "mm"
lower = 0.0
upper = 10.0
[[data]]
role = "run"
file = "data/run.csv"
columns = { w = "W" }
order = "N"
verdict = "V"
accept = ["ok"]
reject = ["nok"]
image = "P"
"""


@pytest.fixture(scope="module")
def twin() -> ReviewSheet:
    study = open_study(TWIN)
    return review_sheet(study, read(study), each=10)


def small(folder: Path, pictures: list[str]) -> ReviewSheet:
    (folder / "data").mkdir(exist_ok=True)
    n = len(pictures)
    values = np.linspace(0.5, 9.5, n)
    table = {"N": range(1, n + 1), "W": values, "V": ["nok"] + ["ok"] * (n - 1), "P": pictures}
    pd.DataFrame(table).to_csv(folder / "data" / "run.csv", index=False)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    study = open_study(folder)
    return review_sheet(study, read(study))


def test_each_kind_is_drawn_and_shown_with_its_picture(twin: ReviewSheet) -> None:
    assert twin.parts["group"].value_counts().to_dict() == dict.fromkeys(twin.made, 10)
    assert sum(twin.made.values()) > 16_700
    assert twin.made["rejected"] == 22
    shown = twin._repr_html_()
    assert shown.count("data:image/png;base64,") == 30
    assert "Burr height (in)" in shown
    # Who knows the verdict sees what they expect.
    assert "rejected" not in shown
    assert list(twin.parts["group"]) != sorted(twin.parts["group"])


def test_near_a_limit_is_near_any_of_them(twin: ReviewSheet) -> None:
    near = twin.parts[twin.parts["group"] == "accepted, near a limit"]
    rest = twin.parts[twin.parts["group"] == "accepted"]
    assert (near["burr"] > 0.0011).any()
    assert (rest["burr"].dropna() < 0.0012 - 0.1 * 0.0007).all()


def test_the_same_seed_draws_the_same_and_another_others(twin: ReviewSheet) -> None:
    study = open_study(TWIN)
    records = read(study)
    assert review_sheet(study, records, each=10).parts.equals(twin.parts)
    assert not review_sheet(study, records, each=10, seed=2).parts.equals(twin.parts)


def test_what_is_no_picture_of_the_folder_is_not_shown(tmp_path: Path) -> None:
    secret = tmp_path / "secret.png"
    secret.write_bytes(b"secret")
    inner = tmp_path / "study"
    inner.mkdir()
    (inner / "notes.txt").write_text("no picture")
    names = ["../../secret.png", str(secret), "../notes.txt", "<script>.png", "gone.png"] * 4
    picture = (TWIN / "data" / "bilder" / "00075R.png").read_bytes()
    (inner / "data").mkdir()
    (inner / "data" / "there.png").write_bytes(picture)
    sheet = small(inner, [*names[:-1], "there.png"])
    assert [p for p in sheet.parts["part"] if sheet.picture(p) is not None] == ["20"]
    shown = sheet._repr_html_()
    assert "c2VjcmV0" not in shown
    assert "<W>" not in shown
    assert shown.count("no picture stored") == 19


def test_without_verdicts_or_pictures_there_is_no_review(
    sample_study: Path, tmp_path: Path
) -> None:
    study = open_study(sample_study)
    with pytest.raises(CannotJudge, match="not in the study folder"):
        review_sheet(study, read(study))
    with pytest.raises(CannotJudge, match="No part of the run has a stored picture"):
        small(tmp_path, [""] * 20)


def test_what_is_chosen_is_kept_beside_that_of_others(twin: ReviewSheet, tmp_path: Path) -> None:
    file = tmp_path / "review.csv"
    rows: list[Any] = []
    for name in ("Ada", "Bo"):
        box = twin.ask(file, name)
        assert len(box.children) == 30
        box.children[0].children[1].value = "reject"
        box.children[1].children[1].value = "accept"
        rows = pd.read_csv(file).to_numpy().tolist()
    first, second = twin.parts["part"][:2]
    assert rows == [
        [p, name, w] for name in ("Ada", "Bo") for p, w in ((first, "reject"), (second, "accept"))
    ]
    # Taken up again where it was left.
    assert twin.ask(file, "Ada").children[0].children[1].value == "reject"
    assert len(twin.to_fill_in("Cy")) == 30
