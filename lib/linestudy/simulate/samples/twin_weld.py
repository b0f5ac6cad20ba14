"""The seam that a laser is to weld on the twin contact: its gauges compared, and the pull tests that its width is held against.

The laser is being set up, so there is no run of the seam yet: ten parts on the camera, on the plant's CMM and on the customer's,
forty parts on camera and CMM, masters, one master over time, and parts pulled by three testers.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray

#: Limits of the seam width in inches, and the least pull force in newtons.
SEAM = (0.0140, 0.0220)
LEAST_FORCE = 40.0
#: Standard deviation of a reading, and what each gauge adds to all readings, in inches.
READING_SD = {"camera": 1.2e-4, "cmm": 3e-5, "customer": 4e-5}
OFFSET = {"camera": 0.0, "cmm": 0.0, "customer": 8e-5}
#: What the camera adds where each of three people put the part in, in inches.
PLACED = {"A": -3e-5, "B": 0.0, "C": 3e-5}
#: Drift of the camera on the seam, in inches per thousand strokes, and the strokes between two readings of the master.
DRIFT, EVERY, STROKES = 4e-6, 200, 8_400
#: Force in newtons: of no width, by inch of width, scatter of specimens, of bands and of the testers.
FORCE_AT_NONE, FORCE_PER_INCH = 15.0, 3_000.0
SPECIMEN_SD, BAND_SD = 2.0, 3.0
TESTERS = {"Dora": 0.0, "Emil": 0.8, "Frieda": -0.6}
BANDS, PULLED = 10, 2
#: Mean and standard deviation of the seams that were pulled, in inches.
PULLED_SIZES = (0.0180, 0.0011)
PAIRED = 40


def weld_studies(folder: Path, seed: int) -> None:
    """Write all studies of the seam and of its pull force.

    Parameters
    ----------
    folder : pathlib.Path
        Where the files go; made if absent. They are beside those of the run, not among them.
    seed : int
    """
    folder.mkdir(parents=True, exist_ok=True)
    parts = np.linspace(SEAM[0] + 0.0008, SEAM[1] - 0.0008, 10)
    generator(seed, "twin", "seam", "parts").shuffle(parts)
    _camera(folder, parts, generator(seed, "twin", "seam", "put in by people"))
    _machines(folder, parts, generator(seed, "twin", "seam", "two machines"))
    _paired(folder, generator(seed, "twin", "seam", "paired"))
    _masters(folder, generator(seed, "twin", "seam", "masters"))
    _over_time(folder, generator(seed, "twin", "seam", "over time"))
    _pulled(folder, generator(seed, "twin", "seam", "pulled to pieces"))


def truth_of_weld() -> dict[str, Any]:
    """Describe what these studies were drawn from.

    Returns
    -------
    dict
    """
    return {
        "reading_sd": dict(READING_SD),
        "offset": dict(OFFSET),
        "placed": dict(PLACED),
        "drift_per_thousand_strokes": DRIFT,
        "force_at_no_width": FORCE_AT_NONE,
        "force_per_inch": FORCE_PER_INCH,
        "specimen_sd": SPECIMEN_SD,
        "band_sd": BAND_SD,
        "testers": dict(TESTERS),
    }


def _read(true: Any, gauge: str, rng: np.random.Generator) -> Any:
    """Read sizes with one gauge: its offset and its error."""
    size = np.asarray(true, dtype=float)
    return size + OFFSET[gauge] + READING_SD[gauge] * rng.standard_normal(size.shape)


def _camera(folder: Path, parts: FloatArray, rng: np.random.Generator) -> None:
    """Write the camera's study: ten parts, three people who put them in, three readings, one a row."""
    rows = [
        (part + 1, who, trial, _inches(_read(parts[part] + shift, "camera", rng)))
        for trial in (1, 2, 3)
        for who, shift in PLACED.items()
        for part in rng.permutation(parts.size)
    ]
    _write(folder / "seam_camera.csv", ("Teil", "Pruefer", "Messung", "Naht"), rows)


def _machines(folder: Path, parts: FloatArray, rng: np.random.Generator) -> None:
    """Write the same parts on both coordinate measuring machines, three readings each, in one sheet."""
    rows = [
        (
            number,
            *map(_inches, _read(np.full(3, part), "cmm", rng)),
            *map(_inches, _read(np.full(3, part), "customer", rng)),
        )
        for number, part in enumerate(parts, start=1)
    ]
    names = [f"{whose} {trial}" for whose in ("KMG", "Kunde") for trial in (1, 2, 3)]
    _write(folder / "seam_machines.csv", ("Teil", *names), rows)


def _paired(folder: Path, rng: np.random.Generator) -> None:
    """Write other parts, each once on the camera and once on the CMM."""
    true = rng.uniform(*SEAM, PAIRED)
    camera, cmm = (map(_inches, _read(true, gauge, rng)) for gauge in ("camera", "cmm"))
    rows = list(zip(range(1, PAIRED + 1), camera, cmm, strict=True))
    _write(folder / "seam_paired.csv", ("Teil", "Kamera", "KMG"), rows)


def _masters(folder: Path, rng: np.random.Generator) -> None:
    """Write three masters of the seam, ten readings each."""
    rows = [
        (f"{known:.5f}".replace(".", ","), _inches(_read(known, "camera", rng)))
        for known in np.linspace(*SEAM, 3)
        for _ in range(10)
    ]
    _write(folder / "masters_seam.csv", ("Normal", "Naht"), rows)


def _over_time(folder: Path, rng: np.random.Generator) -> None:
    """Write the middle master as the camera read it between the strokes of the run."""
    known = sum(SEAM) / 2
    rows = [
        (stroke, _inches(known), _inches(_read(known + DRIFT * stroke / 1000, "camera", rng)))
        for stroke in range(EVERY, STROKES + 1, EVERY)
    ]
    _write(folder / "seam_over_time.csv", ("Stroke", "Normal", "Naht"), rows)


def _pulled(folder: Path, rng: np.random.Generator) -> None:
    """Write pulled parts of ten bands, shared by three testers, with the width the camera had read before."""
    bands = BAND_SD * rng.standard_normal(BANDS)
    rows = []
    for band in range(BANDS):
        for who, shift in TESTERS.items():
            for _ in range(PULLED):
                width = rng.normal(*PULLED_SIZES)
                force = FORCE_AT_NONE + FORCE_PER_INCH * width + bands[band] + shift
                force += SPECIMEN_SD * rng.standard_normal()
                read = _inches(_read(width, "camera", rng))
                rows.append((f"B{81 + band}", who, read, f"{force:.1f}".replace(".", ",")))
    _write(folder / "pull.csv", ("Band", "Pruefer", "Naht", "Kraft"), rows)


def _inches(value: Any) -> str:
    return f"{float(value):.5f}".replace(".", ",")


def _write(path: Path, names: Iterable[str], rows: Iterable[Iterable[Any]]) -> None:
    lines = [";".join(map(str, row)) for row in (names, *rows)]
    path.write_bytes(("\n".join(lines) + "\n").encode("cp1252"))
