"""How often honest records contradict themselves, and how often touched ones do: simulate, keep, write.

``python tests/proof/contradictions.py CACHE RUNS FEW`` simulates so many honest studies and so few of each manipulation, size and
rounding (three times as many of crossed studies), keeps each piece in CACHE, goes on where it was broken off, and writes
``report/contradictions.json`` and CONTRADICTIONS.md at its end.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "helpers"))

from honest_readings import (  # noqa: E402
    DONE,
    DONE_TO_STUDIES,
    SHAPES,
    SIZES,
    STEPS,
    crossed,
    readings,
)

from linestudy.numerics import generator  # noqa: E402
from linestudy.verdict.soundness.cell_copies import copied_trial, doubled_readings  # noqa: E402
from linestudy.verdict.soundness.gauge_copies import copied_appraiser, copied_part  # noqa: E402
from linestudy.verdict.soundness.masters_values import values_of_readings  # noqa: E402
from linestudy.verdict.soundness.reading_doubts import doubts_of_readings  # noqa: E402
from linestudy.verdict.soundness.study_copies import copied_study, parts_again  # noqa: E402
from linestudy.verdict.soundness.trial_copies import copied_lines  # noqa: E402

KEPT = HERE / "report" / "contradictions.json"
REPORT = HERE / "CONTRADICTIONS.md"
LEVEL = 0.001
#: Honest studies in a piece that is kept by itself.
_PIECE = 132
#: Sizes and roundings at which power is told.
POWER = tuple((n, step) for n in (125, 600, 5000) for step in (0.02, 0.1, 0.5))
#: Steps of crossed studies, in standard deviations of repetition.
STUDY_STEPS = (0.05, 0.2, 0.5, 1.0)
Columns = tuple[Any, Any, Any, Any]


def fires(doubts: tuple[Any, ...]) -> str:
    """What the rule says of them: the kind that alarms at the rule's level, or nothing."""
    loud = [one for one in doubts if one is not None and one.p * len(doubts) < LEVEL]
    return min(loud, key=lambda one: one.p).what if loud else ""


def of_readings(y: Any) -> str:
    return fires(doubts_of_readings(y, np.arange(y.size) // 5))


def of_study(columns: Columns, other: Columns, masters: tuple[Any, Any]) -> str:
    """What a crossed study is found to be, beside that of another gauge and its masters."""
    part, who, trial, value = columns
    found = (
        copied_lines(part, who, trial, value),
        parts_again(part, value),
        copied_study(_framed(columns), _framed(other), "another gauge", True),
        values_of_readings(*masters),
        copied_appraiser(*columns),
        copied_part(*columns),
        doubled_readings(part, who, value),
        copied_trial(part, who, trial, value),
    )
    return fires(tuple(one for one in found if one is not None))


def _framed(columns: Columns) -> pd.DataFrame:
    return pd.DataFrame(dict(zip(("part", "appraiser", "trial", "value"), columns, strict=True)))


def masters(draw: Any, step: float) -> tuple[Any, Any]:
    """Five masters read twelve times each; repetition has a standard deviation of one."""
    known = np.round(np.linspace(0, 40, 5) / step) * step
    return known.repeat(12), np.round((known.repeat(12) + draw.normal(size=60)) / step) * step


def honest(runs: int, begin: int = 0) -> dict[str, Any]:
    """False alarms of readings and of gauge studies together."""
    alarms: dict[str, int] = {}
    either = 0
    names = list(SHAPES)
    for run in range(begin, begin + runs):
        draw = generator(3, "honest records", str(run))
        shape, n = names[run % len(names)], SIZES[(run // len(names)) % len(SIZES)]
        step = STEPS[int(draw.integers(len(STEPS)))]
        y = readings(draw, shape, n, step)
        parts, people, trials = ((10, 3, 3), (10, 3, 2), (10, 2, 2), (5, 2, 3))[run % 4]
        plan = (parts, people, trials, float(draw.choice([0.05, 0.5, 2, 4])), run % 3 == 0)
        study = crossed(draw, *plan)
        second = of_study(study, crossed(draw, *plan), masters(draw, plan[3]))
        first = of_readings(y)
        either += bool(first or second)
        for what in (first, second):
            if what:
                name = f"{what}: {shape}, n = {n}, step {step}" if what == first else what
                alarms[name] = alarms.get(name, 0) + 1
    return {"runs": runs, "alarms": either, "which": alarms}


def power(runs: int, names: Sequence[str] = tuple(DONE)) -> list[dict[str, Any]]:
    """Share of touched records that are found, by what was done, size and rounding."""
    rows = []
    for name in names:
        done = DONE[name]
        for n, step in POWER:
            hits = 0
            for run in range(runs):
                draw = generator(3, "touched records", name, str(n), str(step), str(run))
                y = readings(draw, ("normal", "gamma", "t, 3 df")[run % 3], n, step)
                hits += bool(of_readings(done(draw, y, step)))
            rows.append({"what": name, "n": n, "step": step, "found": hits, "runs": runs})
    return rows


def power_of_studies(
    runs: int, names: Sequence[str] = tuple(DONE_TO_STUDIES)
) -> list[dict[str, Any]]:
    """Share of touched crossed studies of 10 x 3 x 3 that are found, by what was done and step."""
    rows = []
    for name in names:
        done = DONE_TO_STUDIES[name]
        for step in STUDY_STEPS:
            hits = 0
            for run in range(runs):
                draw = generator(3, "touched studies", name, str(step), str(run))
                plan = (20 if "names" in name else 10, 3, 3, step, run % 2 == 1)
                other, known = crossed(draw, *plan), masters(draw, step)
                study, known = done(draw, crossed(draw, *plan), other, known, step)
                hits += bool(of_study(study, other, known))
            rows.append({"what": name, "step": step, "found": hits, "runs": runs})
    return rows


#: Rules by which a record contradicts itself.
_OF_RECORD = (
    "readings as measured",
    "gauge study as measured",
    "names of parts and people",
    "counter and clock",
    "bins against log",
    "verdicts against readings",
    "short run against run",
)


def of_plants() -> str:
    """What all rules on the record said of whole folders of honest plants, which came later than the counts above."""
    file = HERE / "report" / "plants.json"
    if not file.is_file():
        return ""
    levels = json.loads(file.read_text(encoding="utf-8"))["levels"]
    studies = sum(row["studies"] for row in levels)
    alarms = {
        rule: sum(row["rules"].get(rule, 0) for row in levels)
        for rule in _OF_RECORD
        if any(rule in row["rules"] for row in levels)
    }
    said = ", ".join(f"{rule} {n}" for rule, n in alarms.items()) or "none"
    return (
        f"\nWith all tests of today, copies in any order, copies that were changed and readings too regular among them, {studies} whole folders of honest "
        f"plants (REPORT.md) were read: objected to by a rule on the record were {said}. The power below is older than those tests.\n"
    )


def text(kept: dict[str, Any]) -> str:
    """CONTRADICTIONS.md."""
    told = kept["honest"]
    parts = [
        "# Contradictions in a record, measured\n\nEach test is held at 0.001 for a characteristic. Honest are readings of "
        f"{len(SHAPES)} shapes (normal, skewed, heavy-tailed, stations named by nobody, wear, correlated up to 0.98, over-adjusted), "
        f"{min(SIZES)} to {max(SIZES):,} of them, in steps of 0.001 to 1 standard deviation, and crossed studies of four plans beside "
        "those of another gauge and five masters.\n\n"
        f"False alarms of all tests together: {told['alarms']} of {told['runs']:,} honest studies "
        f"({100 * told['alarms'] / told['runs']:.2f} %).\n",
    ]
    # Of studies measured again by themselves, after tests were added to them.
    alone = kept.get("studies_alone")
    if alone:
        parts.append(
            f"\nThe crossed studies among these, measured again with the tests on trials typed off others, studies of other gauges, parts "
            f"read again and masters' own values beside the former ones, and with steps that make no copy: {alone['alarms']} of the first "
            f"{alone['runs']:,}. The number above, and the power over readings, are older than these, and than the tests on gaps that were filled "
            "and on parts sorted at two limits inside the tolerance.\n"
        )
    parts.append(of_plants())
    if told["which"]:
        parts.append(
            "\n" + "".join(f"- {name}: {n}\n" for name, n in sorted(told["which"].items()))
        )
    heads = "".join(f" {n:,}, {step:g} |" for n, step in POWER)
    parts.append(
        "\n## Power\n\nShare found of touched records (a third each normal, gamma and t with 3 df), by readings and step in "
        f"standard deviations; {kept['power'][0]['runs']} studies each.\n\n| what was done |{heads}\n|---|{'---|' * len(POWER)}\n"
    )
    for name in DONE:
        own = [row for row in kept["power"] if row["what"] == name]
        cells = "".join(f" {100 * row['found'] / row['runs']:.0f} |" for row in own)
        parts.append(f"| {name} |{cells}\n")
    heads = "".join(f" {step:g} |" for step in STUDY_STEPS)
    parts.append(
        "\nShare found of touched crossed studies (half of them with heavy tails), by step in standard deviations of repetition; "
        f"{kept['studies'][0]['runs']} studies each.\n\n| what was done |{heads}\n|---|{'---|' * len(STUDY_STEPS)}\n"
    )
    for name in DONE_TO_STUDIES:
        own = [row for row in kept["studies"] if row["what"] == name]
        cells = "".join(f" {100 * row['found'] / row['runs']:.0f} |" for row in own)
        parts.append(f"| {name} |{cells}\n")
    parts.append(
        "\nWhat is not found: single good readings put in the place of bad ones here and there, averages of separate groups "
        "rounded again, readings in another order. The decision sheet prints counts, first and last readings, coils, masters "
        "and bins for the reader to hold against records of their own.\n"
    )
    return "".join(parts)


def cells(runs: int, few: int) -> Iterator[tuple[str, Callable[[], Any]]]:
    """All that is counted, in pieces of some minutes at most, each with its name."""
    for begin in range(0, runs, _PIECE):
        yield f"honest {begin}", partial(honest, min(_PIECE, runs - begin), begin)
    for what in DONE:
        yield f"power, {few} runs: {what}", partial(power, few, (what,))
    for what in DONE_TO_STUDIES:
        yield f"studies, {3 * few} runs: {what}", partial(power_of_studies, 3 * few, (what,))


def kept_of(pieces: dict[str, Any]) -> dict[str, Any]:
    """Put the pieces together to what the report is written from."""
    told = [piece for name, piece in pieces.items() if name.startswith("honest")]
    which: Counter[str] = Counter()
    for piece in told:
        which.update(piece["which"])
    counts = {name: sum(piece[name] for piece in told) for name in ("runs", "alarms")}
    rows = {
        kind: [row for name, piece in pieces.items() if name.startswith(kind) for row in piece]
        for kind in ("power", "studies")
    }
    return {"honest": {**counts, "which": dict(which)}, **rows}


if __name__ == "__main__":
    cache, runs, few = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    pieces = json.loads(cache.read_text(encoding="utf-8")) if cache.is_file() else {}
    wanted = dict(cells(runs, few))
    for name, work in wanted.items():
        if name not in pieces:
            pieces[name] = work()
            cache.write_text(json.dumps(pieces), encoding="utf-8")
    kept = kept_of({name: pieces[name] for name in wanted})
    KEPT.write_text(json.dumps(kept, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    REPORT.write_text(text(kept), encoding="utf-8")
