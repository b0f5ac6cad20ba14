"""Two small gauge studies of the twin contact: burr judged by eye in grades, and the camera before its lens was cleaned."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray

#: Grades of burr and the heights that divide them, in inches; what is "stark" is rejected.
GRADES = ("frei", "leicht", "stark")
CUTS = (0.0008, 0.0012)
#: What each appraiser adds to both cuts, and the standard deviation with which all of them see, in inches.
SHIFTS = {"Adam": 0.0, "Berta": 0.00012, "Carl": -0.00008}
SEEN_SD = 0.00008
JUDGED_PARTS = 40
#: How much worse the camera repeated before its lens was cleaned.
BEFORE_CLEANING = 3.0


def judged_by_eye(folder: Path, seed: int) -> None:
    """Write the judgements: forty parts, three appraisers, twice, with the grade that the measured burr has.

    Parameters
    ----------
    folder : pathlib.Path
        Where ``burr_by_eye.csv`` goes.
    seed : int
    """
    rng = generator(seed, "twin", "by eye")
    burr = np.linspace(0.0004, 0.0018, JUDGED_PARTS)
    rng.shuffle(burr)
    lines = ["Teil;Pruefer;Grad;Wahr;Grat"]
    for _ in range(2):
        for who, shift in SHIFTS.items():
            for part in rng.permutation(JUDGED_PARTS):
                seen = burr[part] + SEEN_SD * rng.standard_normal()
                said = GRADES[int(np.searchsorted(np.array(CUTS) + shift, seen))]
                true = GRADES[int(np.searchsorted(CUTS, burr[part]))]
                size = f"{burr[part]:.5f}".replace(".", ",")
                lines.append(f"{part + 1};{who};{said};{true};{size}")
    (folder / "burr_by_eye.csv").write_bytes(("\n".join(lines) + "\n").encode("cp1252"))


def before_cleaning(folder: Path, seed: int, parts: FloatArray, sd: float) -> None:
    """Write the camera's readings of the same parts before its lens was cleaned, in the sheet of the later study.

    Parameters
    ----------
    folder : pathlib.Path
        Where ``msa_before.csv`` goes.
    seed : int
    parts : numpy.ndarray of float, shape (n,)
        [in] True burr of the parts of the later study.
    sd : float
        [in] Standard deviation of a reading then.
    """
    rng = generator(seed, "twin", "before cleaning")
    names = [f"{who}{trial}" for who in "ABC" for trial in (1, 2, 3)]
    lines = [";".join(["Teil", *(f"Grat {name}" for name in names)])]
    for number, part in enumerate(parts, start=1):
        # Burr has no height below nought.
        read = np.abs(part + sd * rng.standard_normal(len(names)))
        lines.append(";".join([str(number), *(f"{v:.5f}".replace(".", ",") for v in read)]))
    (folder / "msa_before.csv").write_bytes(("\n".join(lines) + "\n").encode("cp1252"))


def truth_of_gauges(camera_sd: float) -> dict[str, Any]:
    """Tell what both studies were drawn from.

    Parameters
    ----------
    camera_sd : float
        [in] Standard deviation of the camera's readings of burr today.

    Returns
    -------
    dict
    """
    return {
        "grades": list(GRADES),
        "cuts": list(CUTS),
        "threshold": {who: round(CUTS[1] + shift, 6) for who, shift in SHIFTS.items()},
        "seen_sd": SEEN_SD,
        "camera_sd_before_cleaning": BEFORE_CLEANING * camera_sd,
    }
