"""The README's pictures are what the code draws now, and stay small."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest

from linestudy.dossier.content.pictures import SHOWN, draw


@pytest.fixture(scope="module")
def drawn(evaluation) -> dict:
    return draw(evaluation)


@pytest.mark.parametrize("name", list(SHOWN))
def test_it_is_what_the_code_draws(name: str, drawn: dict, request: pytest.FixtureRequest) -> None:
    from matplotlib.image import imread

    file: Path = request.config.rootpath / "sample_data" / "pictures" / f"{name}.png"
    assert file.stat().st_size < 60_000
    kept, now = imread(file), imread(io.BytesIO(drawn[name][0]))
    assert kept.shape == now.shape, "draw them again, see sample_data/README.md"
    # Another build of the font library moves edges of letters, never a tenth of the picture.
    assert float(np.abs(kept - now).mean()) < 0.01, "draw them again, see sample_data/README.md"


def test_the_readme_shows_each_with_its_text(drawn: dict, request: pytest.FixtureRequest) -> None:
    readme = (request.config.rootpath / "README.md").read_text(encoding="utf-8")
    for name in SHOWN:
        assert f"](sample_data/pictures/{name}.png)" in readme
        assert drawn[name][1]
