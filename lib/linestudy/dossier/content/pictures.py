"""The pictures the README shows, drawn from the sample study.

``python -m linestudy.dossier.content.pictures sample_data/fork_receptacle sample_data/pictures``
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.results.picture import as_printed

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation

#: File name → characteristic and place of the finding it is the picture of.
SHOWN: dict[str, tuple[str | None, tuple[str, ...]]] = {
    "decisions": (None, ("verdict",)),
    "run": ("seam", ("stability",)),
    "shape": ("offset", ("capability",)),
    "gauge": ("seam", ("gauges", "camera", "uncertainty")),
}
_DPI = 72


def draw(evaluation: Evaluation) -> dict[str, tuple[bytes, str]]:
    """Draw the README's pictures.

    Parameters
    ----------
    evaluation : Evaluation
        Of the sample study.

    Returns
    -------
    dict of str to (bytes, str)
        File name → PNG, and its alternative text.
    """
    found = {}
    for name, (characteristic, place) in SHOWN.items():
        finding: Any = evaluation.findings.get(characteristic, *place)
        with as_printed():
            figure = finding.figure()
            found[name] = (figure.png(_DPI), str(figure.alt_text))
    return found


def main(study: str, folder: str) -> None:
    """Write the pictures of a study into a folder.

    Parameters
    ----------
    study, folder : str
    """
    from linestudy.dossier.evaluation import evaluate

    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    for name, (data, alt) in draw(evaluate(study)).items():
        (target / f"{name}.png").write_bytes(data)
        print(f"{name}.png: {alt}")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
