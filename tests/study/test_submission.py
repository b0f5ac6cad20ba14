"""Keys that only the document reads."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import start_study
from linestudy.results import InputError
from linestudy.study import open_study, submission
from linestudy.study.submission import Attachment, inside_the_folder


@pytest.mark.parametrize("name", ["../secret.pdf", "/etc/passwd", "C:/x.pdf", ""])
def test_an_attachment_lies_inside_the_folder(name: str) -> None:
    with pytest.raises(ValueError):
        inside_the_folder(name)
    if name:
        with pytest.raises(ValueError, match="folder"):
            Attachment(title="x", file=name)


def test_unknown_keys_and_characteristics_are_refused_with_the_nearest(tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    toml = folder / "study.toml"
    text = toml.read_text(encoding="utf-8")
    toml.write_text(text + '\n[identification]\ndrawin = "x"\n', encoding="utf-8")
    with pytest.raises(InputError, match='did you mean "drawing"'):
        open_study(folder)
    toml.write_text(
        text + '\n[[action]]\naction = "x"\ncharacteristic = "widht"\n', encoding="utf-8"
    )
    with pytest.raises(InputError, match="width"):
        open_study(folder)


def test_every_key_is_in_the_format() -> None:
    text = (Path(submission.__file__).parent / "FORMAT.md").read_text(encoding="utf-8")
    for name in (
        "Identification",
        "Line",
        "Master",
        "Appraiser",
        "Action",
        "Control",
        "Attachment",
    ):
        for key in getattr(submission, name).model_fields:
            assert f"`{key}`" in text, f"FORMAT.md does not tell of {key}"
