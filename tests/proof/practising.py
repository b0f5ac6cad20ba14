"""Whether practice studies can be solved: an expert and a naive student over many seeds; simulate, keep, write.

``python tests/proof/practising.py SEEDS`` writes so many studies of each level in turn and keeps what both
students got in ``report/practice.json`` and PRACTICE.md.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any
from unittest import mock

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "helpers"))

from practice_students import (  # noqa: E402
    ORDER,
    copycat,
    experience,
    expert,
    guesser,
    lister,
    naive,
)

from linestudy.simulate.practice import (  # noqa: E402
    KINDS,
    LEVELS,
    grade,
    grading,
    truth_of,
    write_practice,
)

KEPT = HERE / "report" / "practice.json"
REPORT = HERE / "PRACTICE.md"
#: Any salt will do; that this one is known makes the count one that can be made again.
SALT = b"proof of practice"


def campaign(seeds: range) -> dict[str, Any]:
    """Both students over seeds, levels in turn."""
    expert_points = {level: [0.0, 0.0] for level in LEVELS}
    naive_points = {level: [0.0, 0.0] for level in LEVELS}
    cheap: dict[str, dict[int, list[float]]] = {
        who: {level: [] for level in LEVELS} for who in ("alike", "lister", "guesser")
    }
    planted: Counter[str] = Counter()
    named: Counter[str] = Counter()
    invented: Counter[str] = Counter()
    # Forms change and files do not: what a study holds is computed once for all students.
    numbers = mock.patch.object(grading, "numbers_of_study", cache(grading.numbers_of_study))
    with tempfile.TemporaryDirectory() as place, numbers:
        folders = {
            seed: write_practice(
                Path(place) / f"{seed}", seed=seed, level=_level(seed), salt=SALT, with_salt=True
            )
            for seed in seeds
        }
        truths = {seed: truth_of(folder) for seed, folder in folders.items()}
        kinds = {kind: one.about for kind, one in KINDS.items()}
        for seed, folder in folders.items():
            level = _level(seed)
            shares = []
            for decision in ORDER:
                copycat(folder, decision)
                shares.append(grade(folder).share)
            cheap["alike"][level].append(max(shares))
            others = [t for s, t in truths.items() if s != seed and _level(s) == level]
            if others:
                known = experience(others)
                lister(folder, known.decisions, kinds)
                cheap["lister"][level].append(grade(folder).share)
                guesser(folder, known)
                cheap["guesser"][level].append(grade(folder).share)
            for student, points in ((naive, naive_points), (expert, expert_points)):
                student(folder)
                found = grade(folder)
                points[level][0] += found.points
                points[level][1] += found.of
            planted.update(fault["kind"] for fault in truths[seed]["faults"])
            for line in found.lines:
                kind = line.what.split(": ")[-1]
                named[kind] += line.points == 3 and line.of == 3
                invented[kind] += line.points < 0
    return {
        "seeds": len(seeds),
        "expert": {str(level): both for level, both in expert_points.items()},
        "naive": {str(level): both for level, both in naive_points.items()},
        **{
            who: {
                str(level): [sum(s) / max(len(s), 1), max(s, default=0.0)]
                for level, s in by_level.items()
            }
            for who, by_level in cheap.items()
        },
        "kinds": {
            kind: {"planted": planted[kind], "named": named[kind], "invented": invented[kind]}
            for kind in KINDS
        },
    }


def _level(seed: int) -> int:
    """Levels in turn."""
    return 1 + seed % len(LEVELS)


def share(points: dict[str, list[float]]) -> float:
    """Points got of those to be had, over all levels."""
    return sum(got for got, _ in points.values()) / sum(of for _, of in points.values())


def text(kept: dict[str, Any]) -> str:
    """PRACTICE.md."""
    lines = [
        "# Practice studies: can they be solved, and are their traps traps",
        "",
        f"{kept['seeds']} studies of `linestudy practice`, the four levels in turn, each read by scripted students who see the",
        "student's folder alone (tests/helpers/practice_students.py). The expert looks at everything; the naive one computes mean, SD,",
        "index and ndc as study.toml has them, and names no fault. A copycat decides everything alike, with a reason made of keywords:",
        "of the four decisions there are, the one that brings most points in that study counts (mean and largest share). Effects are at least as large as the docstrings in",
        "`simulate/practice/` state. The expert was written beside the faults, so this shows that the data hold what is",
        "planted and that the rubric pays for it; it does not show that a person finds it.",
        "",
        "| level | faults | expert | naive | copycat, mean | copycat, largest |",
        "|---|---|---|---|---|---|",
    ]
    for level, count in LEVELS.items():
        both = [kept[who][str(level)] for who in ("expert", "naive")]
        shares = [*(got / of for got, of in both), *kept["alike"][str(level)]]
        lines.append(
            f"| {level} | {count} | " + " | ".join(f"{100 * one:.1f} %" for one in shares) + " |"
        )
    both = [share(kept[who]) for who in ("expert", "naive")]
    lines.append("| all | | " + " | ".join(f"{100 * one:.1f} %" for one in both) + " | | |")
    lines += [
        "",
        "| kind | planted | named by the expert | named where it was not |",
        "|---|---|---|---|",
    ]
    for kind, row in kept["kinds"].items():
        lines.append(f"| {kind} | {row['planted']} | {row['named']} | {row['invented']} |")
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    kept = campaign(range(int(sys.argv[1])))
    KEPT.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    REPORT.write_text(text(kept), encoding="utf-8")
    print(f"expert {share(kept['expert']):.1%}, naive {share(kept['naive']):.1%}")
