"""Write the sample study: the line log with what real logs have, and every gauge study."""

from __future__ import annotations

import gzip
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray
from linestudy.simulate import studies
from linestudy.simulate.samples import scenario as line
from linestudy.simulate.samples.sample_toml import study_toml

if TYPE_CHECKING:
    import pandas as pd

NO_READ = "9999"


def write_sample(folder: str | Path, *, seed: int = line.SEED) -> Path:
    """Write the study of the fork receptacle, the same bytes for the same seed.

    Parameters
    ----------
    folder : str or pathlib.Path
        Where study.toml, data/ and truth.json go; made if absent.
    seed : int
        Every draw follows from it.

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
    linestudy.simulate.run : Simulate a run of a process of your own.
    linestudy.start_study : Write a small commented study to begin with.

    Examples
    --------
    >>> import tempfile
    >>> folder = write_sample(tempfile.mkdtemp())  # doctest: +SKIP
    >>> sorted(path.name for path in folder.iterdir())  # doctest: +SKIP
    ['data', 'study.toml', 'truth.json']
    """
    target = Path(folder)
    (target / "data").mkdir(parents=True, exist_ok=True)
    log, true = _run_log(seed)
    damaged = _with_defects(log, seed)
    _write_gz(target / "data" / "run.csv.gz", damaged)
    _gauge_studies(target / "data", seed)
    _pull_and_appearance(target / "data", seed)
    _bins(target / "data", log)
    (target / "study.toml").write_text(study_toml(seed), encoding="utf-8")
    truth = json.dumps(_truth(true, seed), indent=1, sort_keys=True)
    (target / "truth.json").write_text(truth + "\n", encoding="utf-8")
    return target


def _run_log(seed: int) -> tuple[pd.DataFrame, dict[str, Any]]:
    """Simulate every part of two hours, before the log was damaged, and its true sizes."""
    import pandas as pd

    strokes = np.arange(1, line.STROKES + 1)
    coil = np.searchsorted(line.COILS_FROM, strokes, side="left") - 1
    minutes = strokes / line.LINE_RATE
    purged = np.zeros(strokes.size, dtype=bool)
    for after, pause in line.STOPS:
        minutes = minutes + pause * (strokes > after)
        purged |= (strokes > after) & (strokes <= after + line.PURGED_AFTER_STOP)
    clock = pd.Timestamp(line.BEGIN) + pd.to_timedelta(np.round(minutes * 60, 1), unit="s")
    stop = np.searchsorted([after for after, _ in line.STOPS], strokes, side="left")
    log = pd.DataFrame(
        {
            "Stroke": strokes,
            "Time": clock,
            "Coil": [f"C{417 + number}" for number in coil],
            "Run": stop + 1,
            "Station": np.where(strokes % 2 == 0, "left", "right"),
        }
    )
    good = np.ones(strokes.size, dtype=bool)
    true = {}
    for feature in line.FEATURES:
        rng = generator(seed, "sample", "run", feature.id)
        shifts = rng.standard_normal(len(line.COILS_FROM))[coil]
        sizes = feature.process.draw(rng, strokes, shifts)
        # The first parts after a stop have cooled down: they scatter more and are purged.
        sizes = np.where(purged, sizes + 0.6 * feature.process.spread, sizes)
        readings = feature.camera.read(rng, sizes, strokes=strokes, magnitude=feature.magnitude)
        readings = np.round(readings, 3)
        low = -np.inf if feature.lower is None else feature.lower
        good &= (readings >= low) & (readings <= feature.upper)
        log[feature.column] = readings
        true[feature.id] = sizes
    log["Verdict"] = np.where(purged, "purged", np.where(good, "ok", "nok"))
    log["Image"] = [f"qc28_{number:06d}.png" for number in strokes]
    return log, true


def _with_defects(log: pd.DataFrame, seed: int) -> pd.DataFrame:
    """Damage the log as the line's computer wrote it: no-reads, a repeated block, a clock change."""
    import pandas as pd

    rng = generator(seed, "sample", "defects")
    text = log.astype({"Stroke": str, "Run": str})
    back = log["Time"] >= pd.Timestamp(line.CLOCK_BACK_AT)
    shown = log["Time"].where(~back, log["Time"] - pd.Timedelta(hours=1))
    text["Time"] = shown.dt.strftime("%Y-%m-%dT%H:%M:%S.%f").str[:-5]
    columns = [feature.column for feature in line.FEATURES]
    for column in columns:
        cells = log[column].map("{:.3f}".format)
        lost = rng.random(len(log)) < 0.0015
        text[column] = cells.mask(lost, NO_READ)
    # Readings that no part can have: the camera measured a burr, a drop of oil, or nothing.
    for column, value in (
        ("ThroatGap", "0.000"),
        ("BladeWidth", "28.020"),
        ("TineOffset", "-0.271"),
        ("SeamWidth", "1.999"),
        ("ShoulderLength", "0.000"),
        ("SeamWidth", "0.000"),
    ):
        text.loc[int(rng.integers(1000, len(log) - 1000)), column] = value
    # After a reconnect the last block of rows was sent once more.
    begin = 12_040
    block = text.iloc[begin - 240 : begin]
    return pd.concat([text.iloc[:begin], block, text.iloc[begin:]], ignore_index=True)


def _write_gz(path: Path, table: pd.DataFrame) -> None:
    buffer = io.BytesIO()
    # No name and no time inside: the same rows give the same bytes.
    with gzip.GzipFile(filename="", mode="wb", fileobj=buffer, compresslevel=9, mtime=0) as stream:
        stream.write(table.to_csv(index=False, lineterminator="\n").encode())
    path.write_bytes(buffer.getvalue())


def _write(path: Path, table: pd.DataFrame) -> None:
    path.write_text(table.to_csv(index=False, lineterminator="\n"), encoding="utf-8")


def _gauge_studies(folder: Path, seed: int) -> None:
    """Write crossed studies of camera and CMM, masters, a drift record, fifty parts on both."""
    import pandas as pd

    setters, operators = ("Ines", "Jan", "Kofi"), ("Lea", "Milan", "Noor")
    wide: dict[str, dict[str, Any]] = {
        "camera_crossed": {},
        "cmm_crossed": {},
        "masters": {},
        "drift": {},
        "paired": {},
    }
    for feature in line.FEATURES:
        f, magnitude = feature, feature.magnitude
        rng = generator(seed, "sample", "parts", f.id)
        chosen = np.arange(1, 61) * 500 + np.arange(60) % 2
        parts = f.process.draw(rng, chosen, rng.standard_normal(chosen.size))
        ten = np.sort(parts)[::6][:10]
        keys = ["part", "appraiser", "trial"]
        for name, gauge, people, digits in (
            ("camera_crossed", f.camera, setters, 3),
            ("cmm_crossed", f.cmm, operators, 4),
        ):
            table = studies.crossed(
                ten,
                gauge,
                appraisers=people,
                trials=3,
                seed=seed,
                purpose=f"{name} {f.id}",
                magnitude=magnitude,
            )
            table = table.sort_values(keys, key=_numbers_first, kind="stable")
            wide[name] |= _columns(
                table, keys, f.column if digits == 3 else f.cmm_column, "value", digits
            )
        table = studies.reference(
            f.masters,
            f.camera,
            trials=12,
            seed=seed,
            purpose=f"masters {f.id}",
            magnitude=magnitude,
        )
        table["reading"] = [str(i % 12 + 1) for i in range(len(table))]
        wide["masters"] |= _columns(table, ["part", "reading"], f.column, "value", 3)
        wide["masters"] |= _columns(table, ["part", "reading"], f"{f.column}Master", "reference", 4)
        checks = np.arange(0, line.STROKES + 1, 520)
        checks[0] = 1
        table = studies.drift(f.masters[2], f.camera, checks, seed=seed, purpose=f"drift {f.id}")
        wide["drift"] |= _columns(table, ["order"], f.column, "value", 3)
        wide["drift"] |= _columns(table, ["order"], f"{f.column}Master", "reference", 4)
        table = studies.paired(
            parts[:50], f.camera, f.cmm, seed=seed, purpose=f"paired {f.id}", magnitude=magnitude
        )
        wide["paired"] |= _columns(table, ["part"], f.column, "first", 3)
        wide["paired"] |= _columns(table, ["part"], f"CMM_{f.cmm_column}", "second", 4)
    for name, columns in wide.items():
        _write(folder / f"{name}.csv", pd.DataFrame(columns))


_TITLES = {
    "part": "Part",
    "appraiser": "Operator",
    "trial": "Trial",
    "reading": "Reading",
    "order": "Stroke",
}


def _columns(
    table: pd.DataFrame, keys: list[str], title: str, value: str, digits: int
) -> dict[str, Any]:
    """Return key columns and one value column, as the wide file has them."""
    columns: dict[str, Any] = {_TITLES[key]: table[key].to_numpy() for key in keys}
    columns[title] = [f"{number:.{digits}f}" for number in table[value]]
    return columns


def _numbers_first(series: pd.Series[Any]) -> pd.Series[Any]:
    return series.astype(int) if series.name in ("part", "trial") else series


def _pull_and_appearance(folder: Path, seed: int) -> None:
    pull = studies.nested(
        line.PULL_MEAN, line.PULL_SDS, (12, 6), levels=("batch",), seed=seed, purpose="pull"
    )
    # The camera read each seam before it was pulled: half of a force's variance goes with the width.
    force = pull["value"].to_numpy()
    rng = generator(seed, "sample", "pulled seams")
    share = line.PULL_BY_WIDTH**0.5
    width = line.PULLED_WIDTH[0] + line.PULLED_WIDTH[1] * (
        share * (force - line.PULL_MEAN) / np.hypot(*line.PULL_SDS)
        + (1 - share**2) ** 0.5 * rng.standard_normal(len(pull))
    )
    pull["value"] = pull["value"].map("{:.1f}".format)
    pull["width"] = [f"{one:.3f}" for one in width]
    pull.insert(1, "specimen", [str(i % 6 + 1) for i in range(len(pull))])
    titles = {"batch": "Batch", "specimen": "Specimen", "value": "Force", "width": "SeamWidth"}
    _write(folder / "pull.csv", pull.rename(columns=titles))
    rng = generator(seed, "sample", "appearance")
    quality = np.concatenate([rng.normal(0.52, 0.24, 30), rng.normal(-0.10, 0.24, 20)])
    judged = studies.judged(
        rng.permutation(quality),
        0.2,
        appraisers=line.APPRAISERS,
        trials=2,
        seed=seed,
        purpose="appearance",
    )
    words = {True: "ok", False: "not ok"}
    for column in ("judgement", "reference"):
        judged[column] = judged[column].map(words)
    titles = {
        "part": "Part",
        "appraiser": "Appraiser",
        "trial": "Round",
        "judgement": "Judgement",
        "reference": "Reference",
    }
    _write(folder / "appearance.csv", judged.rename(columns=titles))


def _bins(folder: Path, log: pd.DataFrame) -> None:
    """Write the counts of each bin per quarter hour of the true clock."""
    quarter = log["Time"].dt.floor("15min").dt.strftime("%Y-%m-%dT%H:%M")
    counts = log.groupby([quarter, "Verdict"]).size().unstack(fill_value=0)
    counts = counts.reindex(columns=["ok", "nok", "purged"], fill_value=0)
    counts.columns = ["Accepted", "Rejected", "Purged"]
    counts.insert(0, "Quarter", counts.index)
    _write(folder / "bins.csv", counts)


def _truth(true: dict[str, Any], seed: int) -> dict[str, Any]:
    """Return the parameters behind the data, and the Ppk of infinitely many parts of this run."""
    found: dict[str, Any] = {
        "seed": seed,
        "written_by": "python -m linestudy.simulate FOLDER",
        "strokes": line.STROKES,
        "regrind_at": line.REGRIND_AT,
        "wipes_at": list(line.WIPES),
        "coils_from": list(line.COILS_FROM),
        "stops_after": [after for after, _ in line.STOPS],
        "pull": {
            "mean": line.PULL_MEAN,
            "sd_batch": line.PULL_SDS[0],
            "sd_specimen": line.PULL_SDS[1],
            "share_of_variance_with_width": line.PULL_BY_WIDTH,
            "width_read": list(line.PULLED_WIDTH),
        },
        "appraisers": {
            name: {"limit_shift": s, "blur": b} for name, (s, b) in line.APPRAISERS.items()
        },
        "characteristics": {},
    }
    for feature in line.FEATURES:
        p, camera = feature.process, feature.camera
        found["characteristics"][feature.id] = {
            "level": p.level,
            "spread": p.spread,
            "gamma_shape": p.skewness_shape,
            "wear_per_thousand": p.wear_per_thousand,
            "coil_sd": p.coil_sd,
            "stations": list(p.stations),
            "lag_one": p.serial,
            "folded": p.folded,
            "camera": {
                "repeatability": camera.repeatability,
                "setter_sd": camera.appraiser_sd,
                "bias": camera.bias,
                "soiling_per_thousand": camera.soiling_per_thousand,
            },
            "cmm": {
                "repeatability": feature.cmm.repeatability,
                "operator_sd": feature.cmm.appraiser_sd,
            },
            **_true_capability(feature, seed),
        }
    return found


def _true_capability(feature: line.Feature, seed: int) -> dict[str, float]:
    """Compute quantile Ppk of this run's parts and of the camera's readings, by a long simulation.

    The coils are the four of this run; noise is drawn anew two hundred times over.
    """
    rng = generator(seed, "sample", "run", feature.id)
    coil_shifts = rng.standard_normal(len(line.COILS_FROM))
    strokes = np.arange(1, line.STROKES + 1)
    coil = np.searchsorted(line.COILS_FROM, strokes, side="left") - 1
    again = generator(seed, "sample", "truth", feature.id)
    parts, readings = [], []
    for _ in range(200):
        sizes = feature.process.draw(again, strokes, coil_shifts[coil])
        parts.append(sizes)
        readings.append(
            feature.camera.read(again, sizes, strokes=strokes, magnitude=feature.magnitude)
        )
    return {
        "Ppk_parts": round(_quantile_ppk(np.concatenate(parts), feature), 3),
        "Ppk_readings": round(_quantile_ppk(np.concatenate(readings), feature), 3),
    }


def _quantile_ppk(values: FloatArray, feature: line.Feature) -> float:
    x, counts = np.unique(values, return_counts=True)
    # Rounded readings: the share up to the edge of a step is that of what was rounded.
    edges = np.append((x[1:] + x[:-1]) / 2, x[-1])
    low, middle, high = np.interp([0.00135, 0.5, 0.99865], np.cumsum(counts) / values.size, edges)
    upper = (feature.upper - middle) / (high - middle)
    if feature.lower is None:
        return float(upper)
    return float(min(upper, (middle - feature.lower) / (middle - low)))
