"""Two scripted students of the practice studies: one who looks at everything, and one who reads the index.

Both read the student's folder and nothing else: study.toml, the csv files, and the form's list of kinds. What kind of fault
leads to which decision is the trade's, written here a second time.
"""

from __future__ import annotations

import json
import tomllib
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scipy import stats

UNKNOWN, FAILS = "cannot be judged", "does not meet"
APPROVAL, MEETS = "customer approval required", "meets"
ORDER = (MEETS, APPROVAL, FAILS, UNKNOWN)
#: What each kind allows, and what one asks for.
ALLOWS = {
    **dict.fromkeys(("coil_apart", "tool_wear", "jump", "restless", "alike", "over_adjusted"), APPROVAL),
    **dict.fromkeys(("bad_lane", "skewed", "excluded", "implausible", "wide_limits", "blind_inspector"), FAILS),
    "parts_alike": APPROVAL,
}  # fmt: skip
ASK = {
    **dict.fromkeys(("coil_apart", "tool_wear", "jump", "restless", "alike", "over_adjusted", "bad_lane"), "cause"),
    **dict.fromkeys(("excluded", "implausible"), "nothing_left_out"),
    **dict.fromkeys(("copied_readings", "missing_large", "copied_trial", "sent_twice", "bins_differ", "reordered"), "as_written"),
    **dict.fromkeys(("coarse", "noisy_gauge", "bias", "linearity", "camera_drift"), "gauge"),
    **dict.fromkeys(("person_apart", "blind_inspector"), "people"),
    **dict.fromkeys(("parts_alike", "few_bad_parts"), "parts"),
    "sorted_parts": "before_sorting", "skewed": "distribution", "wide_limits": "drawing", "overdue": "calibration",
}  # fmt: skip


@dataclass
class Reading:
    """What was found while reading a folder."""

    found: list[tuple[str, str, str, float]] = field(default_factory=list)

    def add(self, kind: str, about: str, number: float, where: object = "") -> None:
        """Note a fault."""
        self.found.append((kind, about, str(where), float(number)))

    def decisions(self, names: tuple[str, ...]) -> dict[str, str]:
        """The strongest of what was found."""
        return {
            name: max(
                [MEETS, *(ALLOWS.get(k, UNKNOWN) for k, a, _, _ in self.found if a == name)],
                key=ORDER.index,
            )
            for name in names
        }


def write_form(
    folder: Path,
    who: str,
    decisions: dict[str, str],
    reading: Reading,
    facts: dict[str, str] | None = None,
) -> None:
    """Fill in the form; `facts` say what a decision rests on where no fault was found."""
    lines = [f"student = {json.dumps(who)}"]
    for name, decision in decisions.items():
        seen = [f"{k} with {n:.4g}" for k, a, _, n in reading.found if a == name]
        reason = f"found in the files: {', '.join(seen)}" if seen else (facts or {}).get(name, "")
        lines += [
            f"[decision.{name}]",
            f"decision = {json.dumps(decision)}",
            f"reason = {json.dumps(reason)}",
        ]
    for kind, about, where, number in reading.found:
        lines += ["[[fault]]", f'kind = "{kind}"', f'about = "{about}"', f'where = "{where}"']
        lines += [
            f'number = "{number:.6g}"',
            f'ask = "{ASK[kind]}"',
            f'reason = "the data of {about} show {kind} with {number:.4g}"',
        ]
    (folder / "decisions.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")


def expert(folder: Path) -> None:
    """Look at everything, decide, and fill in the form."""
    study = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
    reading = Reading()
    run = pd.read_csv(folder / "data" / "run.csv")
    run = _record(folder, study, run, reading)
    drawing = pd.read_csv(folder / "data" / "drawing.csv").set_index("characteristic")
    measured = [item for item in study["characteristic"] if "upper" in item]
    for item in measured:
        _limits(item, drawing.loc[item["id"]], reading)
        _run(item, study, run, folder, reading)
        _crossed(item, folder, reading)
        _masters(item, folder, reading)
    _judged(folder, reading)
    names = (*(item["id"] for item in measured), "appearance", "record")
    facts = {item["id"]: _index_said(item, run[item["id"]]) for item in measured}
    facts["appearance"] = "all of the 40 parts were judged twice by three people"
    facts["record"] = f"all of the {len(run):,} rows agree with bins and calibration"
    write_form(folder, "Expert", reading.decisions(names), reading, facts)


def _index_said(item: Any, x: Any) -> str:
    sides = [item["upper"] - x.mean()] + ([x.mean() - item["lower"]] if "lower" in item else [])
    return f"taken as normal the index of {item['id']} is {min(sides) / (3 * x.std()):.2f}"


def _record(folder: Path, study: Any, run: pd.DataFrame, reading: Reading) -> pd.DataFrame:
    twice = run.duplicated("image")
    if twice.sum() > 20:
        reading.add("sent_twice", "record", twice.sum())
    run = run[~twice].reset_index(drop=True)
    back = float((np.diff(run["image"]) < 0).mean())
    if back > 0.02:
        reading.add("reordered", "record", 100 * back)
        run = run.sort_values("image", ignore_index=True)
        run["stroke"] = np.arange(1, len(run) + 1)
    scrap = int(pd.read_csv(folder / "data" / "bins.csv")["scrap"].sum())
    lacking = scrap - int((run["verdict"] == "nok").sum())
    if lacking > 10:
        gone = int(run["image"].max() - run["image"].min()) + 1 - len(run)
        if gone > 10:
            reading.add("sorted_parts", _cut(study, run), 100 * lacking / (len(run) + lacking))
        else:
            reading.add("bins_differ", "record", lacking)
    due = pd.Timestamp(study["gauge"][0]["due"])
    late = (pd.Timestamp(study["study"]["date"]) - due).days
    if late > 0:
        reading.add("overdue", "record", late)
    return run


def _cut(study: Any, run: pd.DataFrame) -> str:
    """The characteristic whose readings end at its limits."""
    near: dict[str, float] = {}
    for item in study["characteristic"]:
        if "lower" in item:
            half = (item["upper"] - item["lower"]) / 2
            away = (run[item["id"]] - item["lower"] - half).abs() / half
            near[item["id"]] = float(((away > 0.9) & (away <= 1)).mean())
    return max(near, key=lambda name: near[name])


def _limits(item: Any, drawn: Any, reading: Reading) -> None:
    if abs(item["upper"] - drawn["upper"]) > 1e-6:
        reading.add("wide_limits", item["id"], drawn["upper"])


def _run(item: Any, study: Any, run: pd.DataFrame, folder: Path, reading: Reading) -> None:
    name = item["id"]
    stroke = run["stroke"].to_numpy()
    x = run[name].to_numpy(float)
    missing = float(np.isnan(x).mean())
    outside = (x > item["upper"]) | (x < item.get("lower", -np.inf))
    if "plausible" in item:
        low, high = item["plausible"]
        left = (x < low) | (x > high)
        if left.sum() > 10:
            reading.add("implausible", name, left.sum())
        x = np.where(left, np.nan, x)
    for aside in study.get("set_aside", []):
        if aside.get("characteristic") == name:
            inside = (stroke >= aside["first"]) & (stroke <= aside["last"])
            if (outside & inside).sum() > 5:
                reading.add("excluded", name, (outside & inside).sum(), aside["first"])
                x = np.where(inside, np.nan, x)
    if missing > 0.03:
        reading.add("missing_large", name, 100 * missing)
    levels = np.unique(x[~np.isnan(x)])
    if levels.size < 40:
        reading.add("coarse", name, np.median(np.diff(levels)))
        return
    if any(kind == "sorted_parts" and about == name for kind, about, _, _ in reading.found):
        return
    _copies(name, stroke, x, reading)
    if stats.skew(x, nan_policy="omit") > 1.2:
        reading.add("skewed", name, stats.skew(x, nan_policy="omit"))
        return
    _movements(item, run, x, folder, reading)


def _copies(name: str, stroke: Any, x: Any, reading: Reading) -> None:
    width = 15
    windows: dict[bytes, int] = {}
    rows = np.nan_to_num(x, nan=-9.0)
    hits = []
    for at in range(len(rows) - width):
        if (rows[at : at + width] == -9.0).sum() > 3:
            continue
        key = rows[at : at + width].tobytes()
        if key in windows:
            hits.append(at)
        else:
            windows[key] = at
    if hits:
        reading.add("copied_readings", name, len(hits) + width - 1, int(stroke[hits[0]]))


def _movements(item: Any, run: pd.DataFrame, x: Any, folder: Path, reading: Reading) -> None:
    """One shift or trend, what neighbours share, lanes, and a restless stretch."""
    name, good = item["id"], ~np.isnan(x)
    y, stroke = x[good], run["stroke"].to_numpy(float)[good]
    coil, lane = run["coil"].to_numpy()[good], run["lane"].to_numpy()[good]
    models: list[tuple[str, Any, Any]] = [("tool_wear", "", stroke / 1000)]
    models += [("coil_apart", each, (coil == each).astype(float)) for each in np.unique(coil)]
    grid = np.quantile(stroke, np.linspace(0.1, 0.9, 401))
    models += [("jump", int(at), (stroke > at).astype(float)) for at in grid]
    fits = [
        (np.corrcoef(column, y)[0, 1] ** 2, *model) for model in models for column in [model[2]]
    ]
    share, kind, where, column = max(fits, key=lambda fit: fit[0])
    slope = np.polyfit(column, y, 1)
    left = y - np.polyval(slope, column)
    neighbours = float(np.corrcoef(left[1:], left[:-1])[0, 1])
    raw = float(np.corrcoef(y[1:], y[:-1])[0, 1])
    if neighbours > 0.5:
        reading.add("alike", name, raw)
        return
    if neighbours < -0.3:
        reading.add("over_adjusted", name, raw)
        return
    if _drifts(item, folder, left.std(), reading) and kind == "tool_wear":
        share = 0.0
    if share > 0.2:
        reading.add(kind, name, slope[0], where)
    sds = {each: float(left[lane == each].std()) for each in np.unique(lane)}
    worst = max(sds, key=lambda each: sds[each])
    ratio = sds[worst] / min(sds.values())
    if ratio > 1.6:
        reading.add("bad_lane", name, ratio, worst)
        return
    scan = [(left[at : at + 320].std(), at) for at in range(0, len(left) - 320, 10)]
    largest, begin = max(scan)
    rest = np.concatenate([left[:begin], left[begin + 320 :]]).std()
    if largest / rest > 1.5:
        reading.add("restless", name, largest / rest, int(stroke[begin + 160]))


def _drifts(item: Any, folder: Path, sd: float, reading: Reading) -> bool:
    table = pd.read_csv(folder / "data" / f"drift_{item['id']}.csv")
    fit = stats.linregress(table["stroke"] / 1000, table["value"] - table["reference"])
    drifts = bool(fit.pvalue < 1e-4 and abs(fit.slope) * 2.4 > sd)
    if drifts:
        reading.add("camera_drift", item["id"], fit.slope)
    return drifts


def _crossed(item: Any, folder: Path, reading: Reading) -> None:
    name = item["id"]
    tolerance = item["upper"] - item.get("lower", 0.0)
    table = pd.read_csv(folder / "data" / f"crossed_{name}.csv")
    wide = table.pivot(index=["part", "appraiser"], columns="trial", values="value")
    same = int((wide[2] == wide[3]).sum())
    if same > 20:
        reading.add("copied_trial", name, same)
        return
    repeat = float(np.sqrt(wide.var(axis=1).mean()))
    if 6 * repeat / tolerance > 0.25:
        reading.add("noisy_gauge", name, 600 * repeat / tolerance)
        return
    people = table.groupby("appraiser")["value"].mean()
    apart = {who: people[who] - people.drop(who).mean() for who in people.index}
    who = max(apart, key=lambda each: abs(apart[each]))
    if abs(apart[who]) > 0.05 * tolerance:
        reading.add("person_apart", name, apart[who], who)
        return
    parts = float(table.groupby("part")["value"].mean().std())
    if parts < 0.03 * tolerance:
        reading.add("parts_alike", name, parts)


def _masters(item: Any, folder: Path, reading: Reading) -> None:
    name = item["id"]
    table = pd.read_csv(folder / "data" / f"masters_{name}.csv")
    off = table["value"] - table["reference"]
    fit = stats.linregress(table["reference"], off)
    if abs(fit.slope) > 0.1 and fit.pvalue < 1e-6:
        reading.add("linearity", name, fit.slope)
    elif abs(off.mean()) > 0.05 * (item["upper"] - item.get("lower", 0.0)):
        reading.add("bias", name, off.mean())


def _judged(folder: Path, reading: Reading) -> None:
    table = pd.read_csv(folder / "data" / "appearance.csv")
    bad = table[table["reference"] == "nok"]
    count = bad["part"].nunique()
    if count < 6:
        reading.add("few_bad_parts", "appearance", count)
        return
    missed = (bad["judgement"] == "ok").groupby(bad["appraiser"]).mean()
    who = str(missed.idxmax())
    if missed[who] > 0.15:
        reading.add("blind_inspector", "appearance", 100 * missed[who], who)


def naive(folder: Path) -> dict[str, str]:
    """Believe study.toml and the tables as they stand: mean, standard deviation, an index and %GRR; name no fault."""
    study = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
    run = pd.read_csv(folder / "data" / "run.csv")
    decisions, facts = {}, {}
    for item in study["characteristic"]:
        if "upper" not in item:
            continue
        x = run[item["id"]]
        for aside in study.get("set_aside", []):
            if aside["characteristic"] == item["id"]:
                x = x[~run["stroke"].between(aside["first"], aside["last"])]
        if "plausible" in item:
            x = x[x.between(*item["plausible"])]
        sides = [item["upper"] - x.mean()] + ([x.mean() - item["lower"]] if "lower" in item else [])
        index = min(sides) / (3 * x.std())
        facts[item["id"]] = _index_said(item, x)
        table = pd.read_csv(folder / "data" / f"crossed_{item['id']}.csv")
        cells = table.groupby(["part", "appraiser"])["value"]
        ndc = 1.41 * table.groupby("part")["value"].mean().std() / np.sqrt(cells.var().mean())
        decisions[item["id"]] = (
            UNKNOWN if ndc < 5 else FAILS if index < 1.33 else APPROVAL if index < 1.67 else MEETS
        )
    decisions |= {"appearance": MEETS, "record": MEETS}
    write_form(folder, "Naive", decisions, Reading(), facts)
    return decisions


def copycat(folder: Path, decision: str) -> None:
    """Decide everything alike, with a reason made of keywords; name no fault."""
    names = ("width", "height", "burr", "appearance", "record")
    reason = "bias gauge drift jump lane coil, Ppk 1.2 below 1.67"
    write_form(
        folder, "Copycat", dict.fromkeys(names, decision), Reading(), dict.fromkeys(names, reason)
    )


def lister(folder: Path, decisions: dict[str, str], kinds: dict[str, tuple[str, ...]]) -> None:
    """Decide as most such studies are, and name every kind of fault once, with a number out of the air."""
    reading = Reading()
    for kind, about in kinds.items():
        reading.add(kind, about[0], 1.0)
    write_form(folder, "Lister", decisions, reading, _indices(folder))


@dataclass(frozen=True)
class Experience:
    """What somebody knows who has seen the truth of many studies of a level, and does not look at this one.

    Attributes
    ----------
    decisions : dict of str to str
        The most frequent of each.
    faults : tuple of (str, str, str, float)
        Kind, about, most frequent place and median number of each that is there often enough to be named unseen.
    """

    decisions: dict[str, str]
    faults: tuple[tuple[str, str, str, float], ...]


def experience(truths: list[dict[str, Any]]) -> Experience:
    """Learn from opened truths what is most frequent."""
    names = truths[0]["decisions"]
    decisions = {n: Counter(t["decisions"][n] for t in truths).most_common(1)[0][0] for n in names}
    seen: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for truth in truths:
        for fault in truth["faults"]:
            seen.setdefault((fault["kind"], fault["about"]), []).append(fault)
    named = []
    for (kind, about), those in seen.items():
        share = len(those) / len(truths)
        # Named, with what is asked for and a reason, it brings five points at most where it is, and costs two where not.
        if 5 * share > 2 * (1 - share):
            place = Counter(one["where"] for one in those).most_common(1)[0][0]
            number = float(np.median([one["number"] for one in those]))
            named.append((kind, about, place, number))
    return Experience(decisions, tuple(named))


def guesser(folder: Path, known: Experience) -> None:
    """Fill in what is most frequent, faults too, with reasons that bear a number of the study."""
    reading = Reading(list(known.faults))
    write_form(folder, "Guesser", known.decisions, reading, _indices(folder))


def _indices(folder: Path) -> dict[str, str]:
    """A sentence for each decision, with a number that takes no thought."""
    study = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
    run = pd.read_csv(folder / "data" / "run.csv")
    measured = [item for item in study["characteristic"] if "upper" in item]
    said = {item["id"]: _index_said(item, run[item["id"]]) for item in measured}
    said["appearance"] = "all of the 40 parts were judged twice by three people"
    said["record"] = f"the record has {len(run):,} rows of parts in all"
    return said
