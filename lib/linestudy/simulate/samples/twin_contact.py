"""Write the second sample study: a two-out tool with wear, regrinds, a bad lane and ugly files, all of it invented.

Model: lane k makes ``level_k + wear · strokes since the last regrind + coil + noise``; burr is a gamma variable from zero,
worse in lane R. The camera reads with noise and without bias; the sorter looks at a second reading, so it
lets some bad parts pass and throws some good ones away. The truth of all of it is in ``truth.json``.
"""

from __future__ import annotations

import gzip
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray
from linestudy.simulate.samples.twin_gauges import (
    BEFORE_CLEANING,
    before_cleaning,
    judged_by_eye,
    truth_of_gauges,
)
from linestudy.simulate.samples.twin_toml import STUDY_TOML
from linestudy.simulate.samples.twin_weld import truth_of_weld, weld_studies

if TYPE_CHECKING:
    import pandas as pd

SEED = 20260412
STROKES = 8_400
RATE = 60
LANES = ("L", "R")
REGRINDS = (2_801, 5_601)
COIL_LENGTH = 1_400
#: First stroke of each job, and what it is called; its counter begins at one.
JOBS = ((1, "A-4711"), (3_301, "A-4712"), (6_001, "A-4720"))
BEGIN = "2026-04-12T06:00:00"
CAMERA_SD = {"height": 8e-5, "window": 3e-5, "burr": 1e-5}
SORTER_SD = 4e-5
#: Accepted parts of either kind whose pictures are kept.
PICTURED = 20
QUANTILES = (0.00135, 0.5, 0.99865)


@dataclass(frozen=True)
class Lane:
    """What one lane makes of one characteristic, in inches.

    Attributes
    ----------
    level, spread : float
        Mean at a fresh tool, and standard deviation from part to part.
    shape : float or None
        Shape of the gamma distribution from zero that it follows; None for a normal one.
    wear_per_thousand : float
        Change of the mean per thousand strokes.
    coil_sd : float
        Between coils.
    """

    level: float
    spread: float
    shape: float | None = None
    wear_per_thousand: float = 0.0
    coil_sd: float = 0.0


FEATURES: dict[str, tuple[Lane, Lane]] = {
    "height": (Lane(0.11805, 0.00050), Lane(0.11770, 0.00050)),
    "window": (
        Lane(0.05020, 0.00010, wear_per_thousand=-0.00015),
        Lane(0.05024, 0.00010, wear_per_thousand=-0.00015),
    ),
    "burr": (Lane(0.00030, 0.00015, shape=4.0), Lane(0.00040, 0.00020, shape=4.0)),
}
LIMITS: dict[str, tuple[float | None, float | None]] = {
    "height": (0.1150, 0.1210),
    "window": (0.0490, 0.0510),
    "burr": (None, 0.0012),
}
COLUMNS = {"height": "Hoehe", "window": "Fenster", "burr": "Grat"}
REASONS = {"height": "Hoehe", "window": "Fenster", "burr": "Grat"}


def write_twin_contact(folder: str | Path, *, seed: int = SEED, pictures: bool = True) -> Path:
    """Write the study of the twin contact, the same rows for the same seed.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where study.toml, data/ and truth.json go; made if absent.
    seed : int
        Every draw follows from it.
    pictures : bool
        Whether the pictures of rejected and some accepted parts are drawn too.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    OSError
        The folder cannot be written.

    See Also
    --------
    write_sample : The first study, one-out.

    Examples
    --------
    >>> import tempfile
    >>> folder = write_twin_contact(tempfile.mkdtemp(), pictures=False)
    >>> sorted(path.name for path in folder.iterdir())
    ['data', 'study.toml', 'truth.json', 'weld']
    """
    target = Path(folder)
    (target / "data").mkdir(parents=True, exist_ok=True)
    log, true = _log(seed)
    _write_log(target / "data" / "log.csv.gz", _as_written(log, seed))
    _rejects(target / "data", log, true, seed, pictures)
    _crossed(target / "data", seed)
    earlier = _study_parts("burr", generator(seed, "twin", "crossed", "burr"))
    sd = BEFORE_CLEANING * CAMERA_SD["burr"]
    before_cleaning(target / "data", seed, earlier, sd)
    judged_by_eye(target / "data", seed)
    _masters(target / "data", seed)
    weld_studies(target / "weld", seed)
    _bins(target / "data", log)
    (target / "study.toml").write_text(STUDY_TOML.format(seed=seed), encoding="utf-8")
    text = json.dumps(_truth(log, true, seed), indent=1, sort_keys=True)
    (target / "truth.json").write_text(text + "\n", encoding="utf-8")
    return target


def sizes(
    feature: str, lane: int, strokes: FloatArray, rng: np.random.Generator, coils: FloatArray
) -> FloatArray:
    """Draw the true sizes of the parts of one lane, in inches.

    Parameters
    ----------
    feature : str
    lane : int
        0 or 1.
    strokes : numpy.ndarray of float, shape (n,)
    rng : numpy.random.Generator
    coils : numpy.ndarray of float, shape (n,)
        Standard normal shift of each part's coil.

    Returns
    -------
    numpy.ndarray of float, shape (n,)
    """
    p = FEATURES[feature][lane]
    starts = np.array([1, *REGRINDS])
    since = strokes - starts[np.searchsorted(starts, strokes, side="right") - 1]
    if p.shape is not None:
        return np.asarray(rng.gamma(p.shape, p.level / p.shape, strokes.size), dtype=float)
    noise = p.spread * rng.standard_normal(strokes.size)
    return np.asarray(
        p.level + p.wear_per_thousand * since / 1000 + p.coil_sd * coils + noise, dtype=float
    )


def _log(seed: int) -> tuple[pd.DataFrame, dict[str, FloatArray]]:
    """Simulate every part, before the log was written with its defects, and its true sizes."""
    import pandas as pd

    stroke = np.repeat(np.arange(1, STROKES + 1), len(LANES)).astype(float)
    lane = np.tile(np.arange(len(LANES)), STROKES)
    coil = (stroke.astype(int) - 1) // COIL_LENGTH
    begins = np.array([first for first, _ in JOBS])
    job = np.searchsorted(begins, stroke, side="right") - 1
    # Half an hour of setting between two jobs.
    minutes = stroke / RATE + 30.0 * job
    log = pd.DataFrame(
        {
            "stroke": stroke,
            "Auftrag": [JOBS[i][1] for i in job],
            "Hub": (stroke - begins[job] + 1).astype(int),
            "Zeit": pd.Timestamp(BEGIN) + pd.to_timedelta(np.round(minutes * 60, 1), unit="s"),
            "Nest": np.array(LANES)[lane],
            "Coil": [f"B{81 + number}" for number in coil],
        }
    )
    true: dict[str, FloatArray] = {}
    bad = np.zeros(stroke.size, dtype=bool)
    reason = np.full(stroke.size, "", dtype=object)
    for feature, column in COLUMNS.items():
        rng = generator(seed, "twin", feature)
        shifts = rng.standard_normal(int(coil.max()) + 1)[coil]
        size = np.empty(stroke.size)
        for k in range(len(LANES)):
            here = lane == k
            size[here] = sizes(feature, k, stroke[here], rng, shifts[here])
        true[feature] = size
        log[column] = np.abs(size + CAMERA_SD[feature] * rng.standard_normal(size.size))
        low, high = LIMITS[feature]
        # The sorter judges another reading than the one that is logged.
        seen = size + SORTER_SD * rng.standard_normal(size.size)
        out = (seen > high) if high is not None else np.zeros(size.size, dtype=bool)
        out = out | (seen < low) if low is not None else out
        reason[out & (reason == "")] = REASONS[feature]
        bad |= out
    log["Urteil"] = np.where(bad, "n.i.O.", "i.O.")
    log["Grund"] = reason
    log["Bild"] = np.where(
        bad | _kept(log, seed),
        [
            f"bilder/{int(number):05d}{nest}.png"
            for number, nest in zip(stroke, log["Nest"], strict=True)
        ],
        "",
    )
    return log, true


def _kept(log: pd.DataFrame, seed: int) -> Any:
    """Choose accepted parts whose pictures are kept: some near a limit of the burr, some at random."""
    rng = generator(seed, "twin", "kept pictures")
    burr = log["Grat"].to_numpy()
    good = log["Urteil"].to_numpy() == "i.O."
    high = LIMITS["burr"][1] or 0.0
    near = np.flatnonzero(good & (burr > high - 0.1 * (high - np.median(burr))))
    kept = np.concatenate(
        [rng.choice(near, min(PICTURED, near.size), replace=False), rng.choice(len(log), PICTURED)]
    )
    return np.isin(np.arange(len(log)), kept)


def _as_written(log: pd.DataFrame, seed: int) -> pd.DataFrame:
    """Write the log as the line's computer does: decimal commas, no-reads, a block sent twice, lost rows."""
    import pandas as pd

    rng = generator(seed, "twin", "defects")
    text = log.drop(columns="stroke").astype({"Hub": str})
    text["Zeit"] = log["Zeit"].dt.strftime("%d.%m.%Y %H:%M:%S.%f").str[:-5]
    for feature, column in COLUMNS.items():
        cells = log[column].map("{:.5f}".format).str.replace(".", ",", regex=False)
        text[column] = cells.mask(rng.random(len(log)) < 0.001, "999,99")
        del feature
    lost = rng.choice(len(log), 12, replace=False)
    block = text.iloc[6_000:6_120]
    whole = pd.concat([text.iloc[:6_120], block, text.iloc[6_120:]])
    return whole.drop(index=whole.index[np.sort(lost[lost < 6_000])])


def _write_log(path: Path, text: pd.DataFrame) -> None:
    head = "Prüfprotokoll Stanze 7;;;;;;;;;;\nWerkzeug: TC-12, zweifach;;;;;;;;;;\n"
    units = ";".join("[in]" if name in COLUMNS.values() else "" for name in text)
    lines = text.to_csv(index=False, sep=";", lineterminator="\n").split("\n", 1)
    footer = f"Summe;{len(text)};;;;;;;;;\n"
    content = f"{head}{lines[0]}\n{units}\n{lines[1]}{footer}".encode("cp1252")
    buffer = io.BytesIO()
    with gzip.GzipFile(filename="", mode="wb", fileobj=buffer, compresslevel=9, mtime=0) as stream:
        stream.write(content)
    path.write_bytes(buffer.getvalue())


def _rejects(
    folder: Path, log: pd.DataFrame, true: dict[str, FloatArray], seed: int, pictures: bool
) -> None:
    """Draw a small picture of each rejected part, and of accepted ones that were kept."""
    if not pictures:
        return
    from PIL import Image

    (folder / "bilder").mkdir(exist_ok=True)
    rng = generator(seed, "twin", "pictures")
    pictured = log.index[log["Bild"] != ""]
    burr, height = true["burr"], true["height"]
    for row in pictured:
        image = picture_of(burr[row], height[row], rng)
        Image.fromarray(image).save(folder / str(log["Bild"][row]), optimize=True)


def picture_of(burr: float, height: float, rng: np.random.Generator) -> Any:
    """Draw a part as the camera might see it, 40 by 24 grey pixels, its burr above the edge.

    Parameters
    ----------
    burr, height : float
        [in] Of the part.
    rng : numpy.random.Generator

    Returns
    -------
    numpy.ndarray of uint8, shape (24, 40)
    """
    image = np.full((24, 40), 40.0)
    edge = 14 - round((height - 0.118) / 0.0005)
    image[edge:, 6:34] = 190.0
    reach = int(min(burr / 0.00012, 12))
    for column in range(6, 34):
        tall = max(round(reach * (0.4 + 0.6 * rng.random())), 0)
        image[max(edge - tall, 0) : edge, column] = 150.0
    # Few grey steps keep the files small.
    noisy = image + 12 * rng.standard_normal(image.shape)
    return np.clip(np.round(noisy / 24) * 24, 0, 255).astype(np.uint8)


def _study_parts(feature: str, rng: np.random.Generator) -> FloatArray:
    """Draw the true sizes of the ten parts of a gauge study, in inches."""
    low, high = LIMITS[feature]
    middle = FEATURES[feature][0].level
    reach = 0.6 * ((high or 0.0) - middle)
    part = middle + reach * np.linspace(-1 if low is not None else -0.5, 1, 10)
    rng.shuffle(part)
    return part


def _crossed(folder: Path, seed: int) -> None:
    """Write ten parts, three appraisers, three trials: a row for each part, a block for each characteristic."""
    import pandas as pd

    people = {"A": 0.0, "B": 0.0, "C": 0.0}
    table: dict[str, Any] = {"Teil": np.arange(1, 11)}
    for feature, column in COLUMNS.items():
        rng = generator(seed, "twin", "crossed", feature)
        part = _study_parts(feature, rng)
        for name in people:
            shift = 0.3 * CAMERA_SD[feature] * rng.standard_normal()
            for trial in (1, 2, 3):
                read = part + shift + CAMERA_SD[feature] * rng.standard_normal(10)
                table[f"{column} {name}{trial}"] = [f"{v:.5f}".replace(".", ",") for v in read]
    text = pd.DataFrame(table).to_csv(index=False, sep=";", lineterminator="\n")
    (folder / "msa.csv").write_bytes(text.encode("cp1252"))


def _masters(folder: Path, seed: int) -> None:
    """Write three masters for each characteristic, ten readings each."""
    import pandas as pd

    rows = []
    for feature in COLUMNS:
        rng = generator(seed, "twin", "masters", feature)
        low, high = LIMITS[feature]
        assert high is not None
        for known in np.linspace(low if low is not None else 0.0002, high, 3):
            for _ in range(10):
                read = known + CAMERA_SD[feature] * rng.standard_normal()
                rows.append((feature, f"{known:.5f}", f"{read:.5f}"))
    for feature in COLUMNS:
        own = [row[1:] for row in rows if row[0] == feature]
        table = pd.DataFrame(own, columns=["Master", "Reading"])
        text = table.to_csv(index=False, lineterminator="\n")
        (folder / f"masters_{feature}.csv").write_text(text, encoding="utf-8")


def _bins(folder: Path, log: pd.DataFrame) -> None:
    """Write the parts in the bins of every half hour."""
    period = log["Zeit"].dt.floor("30min").dt.strftime("%Y-%m-%dT%H:%M")
    counts = (log["Urteil"] == "i.O.").groupby(period).agg(["sum", "size"])
    lines = [f"{name},{good},{n - good}" for name, good, n in counts.itertuples()]
    text = "\n".join(["Period,Good,Scrap", *lines]) + "\n"
    (folder / "bins.csv").write_text(text, encoding="utf-8")


def _truth(log: pd.DataFrame, true: dict[str, FloatArray], seed: int) -> dict[str, Any]:
    outside = np.zeros(len(log), dtype=bool)
    found: dict[str, Any] = {}
    for feature, lanes in FEATURES.items():
        low, high = LIMITS[feature]
        outside |= (true[feature] > (high or np.inf)) | (true[feature] < (low or -np.inf))
        found[feature] = {
            "lanes": {name: vars(lane) for name, lane in zip(LANES, lanes, strict=True)},
            "camera_sd": CAMERA_SD[feature],
            **true_indices(feature),
        }
    accepted = (log["Urteil"] == "i.O.").to_numpy()
    return {
        "written_by": "python -m linestudy.simulate twin_contact FOLDER",
        "seed": seed,
        "strokes": STROKES,
        "parts": len(log),
        "regrinds_at": list(REGRINDS),
        "jobs": [{"first_stroke": first, "job": name} for first, name in JOBS],
        "sorter_sd": SORTER_SD,
        "escapes": int((outside & accepted).sum()),
        "overkill": int((~outside & ~accepted).sum()),
        "rejected": int((~accepted).sum()),
        "gauge_studies": truth_of_gauges(CAMERA_SD["burr"]),
        "weld": truth_of_weld(),
        "characteristics": found,
    }


def true_indices(feature: str, draws: int = 2_000_000) -> dict[str, Any]:
    """Compute true Ppk of readings, by lane and of the whole tool, over the whole tool life.

    Parameters
    ----------
    feature : str
    draws : int
        Parts of each lane that represent the long run.

    Returns
    -------
    dict
        ``Ppk_lanes`` and ``Ppk_tool``.
    """
    rng = generator(SEED, "twin", "truth", feature)
    stroke = np.tile(np.arange(1.0, STROKES + 1), draws // STROKES)
    made = []
    for k in range(len(LANES)):
        size = sizes(feature, k, stroke, rng, np.zeros(stroke.size))
        made.append(np.abs(size + CAMERA_SD[feature] * rng.standard_normal(size.size)))
    low, high = LIMITS[feature]
    return {
        "Ppk_lanes": {
            name: round(_ppk(values, low, high), 3)
            for name, values in zip(LANES, made, strict=True)
        },
        "Ppk_tool": round(_ppk(np.concatenate(made), low, high), 3),
    }


def _ppk(values: FloatArray, lower: float | None, upper: float | None) -> float:
    low, middle, high = np.quantile(values, QUANTILES)
    sides = [] if upper is None else [(upper - middle) / (high - middle)]
    sides += [] if lower is None else [(middle - lower) / (middle - low)]
    return float(min(sides))
