"""The operating characteristics of the decision: simulate the grid, keep its cells, write OPERATING.md.

``python tests/proof/operating.py FOLDER [SECONDS]`` simulates as much of the grid as fits and may be
stopped and called again: every cell is kept in FOLDER and continued. ``python tests/proof/operating.py
FOLDER --report`` takes what is there into ``report/operating.json``, draws the picture and writes
OPERATING.md. The whole grid also runs under the marker ``operating_characteristics``.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
KEPT = HERE / "report" / "operating" / "cells.json"
REJECTION = HERE / "report" / "operating" / "rejection.json"
SORTED = HERE / "report" / "operating" / "sorted.json"
RECOGNITION = HERE / "report" / "operating" / "recognition.json"
PICTURE = HERE / "report" / "operating" / "operating.svg"
REPORT = HERE / "OPERATING.md"

#: Rounds of the grid, coarse first: readings of a study → studies of each process.
ROUNDS: tuple[dict[int, int], ...] = (
    {5000: 50},
    {125: 100},
    {1000: 60},
    {5000: 100},
    {125: 200},
    {1000: 120},
    {5000: 250},
    {125: 400},
    {1000: 250},
    {5000: 500, 125: 1000, 1000: 500},
)
_HEAVY, _OUTLIERS = "tail that 125 parts cannot show", "outliers"
#: Power from which a rate is asked of a process that is not in control.
DETECTABLE = 0.90
#: Best attainable by the plan of the grid: no figure is asked of them at a true index of 2.
_BEST = ("t, 3 df", "t, 4 df")


def simulate(folder: Path, seconds: float | None = None) -> list[Any]:
    """Simulate the rounds of the grid, as far as the time goes."""
    import time

    from linestudy.simulate.operating import run_grid, truths

    begin, done = time.monotonic(), []
    for sizes in ROUNDS:
        left = None if seconds is None else seconds - (time.monotonic() - begin)
        if left is not None and left <= 0:
            break
        done = run_grid(truths(), sizes, folder, left)
    return done


def gathered(folder: Path) -> list[dict[str, Any]]:
    """All cells kept in a folder, by number of readings and process."""
    cells = [json.loads(file.read_text()) for file in sorted(folder.glob("*.json"))]
    return sorted((cell for cell in cells if cell["runs"]), key=lambda c: -c["n"])


def requirement(
    cell: dict[str, Any], kind: str, in_control: bool, bounded: bool
) -> list[tuple[str, float, str, float]]:
    """What is asked of a cell: (what, measured share, "at most" or "at least", limit)."""
    from linestudy.simulate.operating import INDICES

    runs, n = cell["runs"], cell["n"]

    def share(key: str, index: float) -> float:
        return cell[key][INDICES.index(index)] / runs

    asked: list[tuple[str, float, str, float]] = []
    if kind == "moving, of any size":
        return []
    if not in_control:
        if n < 5000 and cell["not_in_control"] < DETECTABLE * runs:
            return []  # too small for a study of this size: the power says so
        worst = max(share("meets_estimate", index) for index in INDICES)
        return [("not in control: meets", worst, "at most", 0.05)]
    if n >= 5000:
        asked += [
            ("estimate, true 1.50", share("meets_estimate", 1.50), "at most", 0.05),
            ("estimate, true 1.67", share("meets_estimate", 1.67), "at most", 0.55),
            ("bound, true 1.50", share("meets_bound", 1.50), "at most", 0.01),
            ("bound, true 1.67", share("meets_bound", 1.67), "at most", 0.05),
        ]
        if cell["truth"] not in _BEST:
            asked += [
                ("estimate, true 2.00", share("meets_estimate", 2.00), "at least", 0.90),
                ("bound, true 2.00", share("meets_bound", 2.00), "at least", 0.90),
            ]
    if n == 125:
        limit = {_HEAVY: 0.30, _OUTLIERS: 0.60}.get(kind, 0.10)
        asked += [
            ("estimate, true 1.33", share("meets_estimate", 1.33), "at most", limit),
            ("bound, true 1.33", share("meets_bound", 1.33), "at most", 0.05),
        ]
        if cell["truth"] == "normal":
            asked.append(("estimate, true 2.00", share("meets_estimate", 2.00), "at least", 0.80))
    least = 0.90 if n < 1000 else 0.935
    # Where nothing describes the readings no interval is claimed: the customer's approval is required.
    undescribed = cell["by_rule"].get("distribution", 0) > 0.5 * runs
    if not (kind == _OUTLIERS and n < 1000) and not undescribed:
        asked.append(("bound below the truth", cell["covered"] / runs, "at least", least))
    if cell["truth"] == "normal":
        asked.append(("sound study objected to", share("objected", 2.00), "at most", 0.03))
    return asked


def judged(measured: float, way: str, limit: float, runs: int) -> str:
    """``met``, ``not met``, or ``within error`` where one standard error decides."""
    error = math.sqrt(max(limit * (1 - limit), 1e-4) / runs)
    met = measured <= limit if way == "at most" else measured >= limit
    near = abs(measured - limit) <= error
    return ("met" if met else "not met") + (", within its error" if near and not met else "")


def text(cells: list[dict[str, Any]]) -> str:
    """OPERATING.md."""
    from linestudy.simulate.operating import INDICES, truths

    known = truths()
    parts = [
        "# How often a decision is right, measured\n\nAsked is an index above 1.67, with an adequate gauge. Shares in percent of "
        'simulated studies that end with "meets", by the true index of the process; every study went through '
        "`linestudy.verdict.judge`, which a study folder goes through too. *objected*: some rule but the index objects, at a "
        'true index of 2. *fails*: studies that end with "does not meet" although the true index is 1.67. *below*: the 95 % lower bound lies below a true index of 1.67. *width*: mean logarithm of '
        "estimate over bound. The standard error of a share p is √(p(1 − p)/studies); with 100 studies it is at most "
        "5 points. The same readings through "
        "a folder and `evaluate` give the same index, bound and rulings on the process (`test_whole_studies.py`, one study of a process "
        'each; a part of them each time).\n\n![Share of "meets" against the true index](report/operating/operating.svg)\n',
    ]
    for n in sorted({cell["n"] for cell in cells}, reverse=True):
        shown = "".join(f" {index:.2f} |" for index in INDICES)
        parts.append(
            f"\n## {n:,} readings\n\n| process | studies | on the |{shown} below | width | objected | fails |\n|---|---|---|"
            + "---|" * (len(INDICES) + 4)
            + "\n"
        )
        for cell in (c for c in cells if c["n"] == n):
            runs = cell["runs"]
            for key, name in (("meets_estimate", "estimate"), ("meets_bound", "bound")):
                row = "".join(f" {100 * v / runs:.0f} |" for v in cell[key])
                ends = (
                    f" {100 * cell['covered'] / runs:.1f} | {cell['sum_width'] / runs:.3f} | "
                    f"{100 * cell['objected'][INDICES.index(2.0)] / runs:.1f} | "
                    f"{100 * cell['fails'][INDICES.index(1.67)] / runs:.0f} |"
                    if name == "estimate"
                    else " | | | |"
                )
                title = cell["truth"] if name == "estimate" else ""
                parts.append(f"| {title} | {runs if title else ''} | {name} |{row}{ends}\n")
    parts.append(
        '\n## Power\n\nShare of studies that find a process not in control, by the size of what moves, and the share that "meets" '
        "at a true index of 2. Of a study of 125 or 1,000 readings that finds it in fewer than 90 % no rate is asked.\n\n"
        "| process | readings | studies | not in control | meets, estimate | meets, bound |\n|---|---|---|---|---|---|\n"
    )
    for cell in sorted(cells, key=lambda c: (c["truth"], c["n"])):
        if not known[cell["truth"]].in_control:
            parts.append(
                f"| {cell['truth']} | {cell['n']:,} | {cell['runs']} | "
                f"{100 * cell['not_in_control'] / cell['runs']:.0f} % | "
                f"{100 * cell['meets_estimate'][INDICES.index(2.0)] / cell['runs']:.0f} % | "
                f"{100 * cell['meets_bound'][INDICES.index(2.0)] / cell['runs']:.0f} % |\n"
            )
    parts.append(
        "\n## What was asked and is not met\n\n| readings | process | what | measured | asked | studies |\n|---|---|---|---|---|---|\n"
    )
    met = total = 0
    for cell in cells:
        truth = known[cell["truth"]]
        for what, value, way, limit in requirement(
            cell, truth.kind, truth.in_control, truth.bound is not None
        ):
            total += 1
            verdict = judged(value, way, limit, cell["runs"])
            if verdict == "met":
                met += 1
                continue
            parts.append(
                f"| {cell['n']:,} | {cell['truth']} | {what} | {100 * value:.1f} % | {way} {100 * limit:.1f} % "
                f"| {cell['runs']}{', within its error' if 'within' in verdict else ''} |\n"
            )
    parts.append(f"\n{met} of {total} figures that were asked for are met.\n")
    parts.append(of_attainable(known))
    if SORTED.is_file():
        parts.append(of_sorted(json.loads(SORTED.read_text(encoding="utf-8"))))
    if REJECTION.is_file():
        parts.append(of_rejection(json.loads(REJECTION.read_text(encoding="utf-8"))))
    return "".join(parts)


#: Processes of which the family could be known: SciPy's name, shape parameters, whether folded at nought.
_KNOWN: dict[str, tuple[str, tuple[float, ...], bool]] = {
    "t, 3 df": ("t", (3.0,), False),
    "t, 5 df": ("t", (5.0,), False),
    "lognormal, 0.8, bound": ("lognorm", (0.8,), True),
    "folded t, 4 df, bound": ("t", (4.0,), True),
    "folded t, 6 df, bound": ("t", (6.0,), True),
}


def known_family_error(name: str, draws: int = 100_000) -> float:
    """Standard deviation of the logarithm of the index, times the root of n, were the family known.

    From Fisher's information by simulation, the derivatives by differences; a bound is known and no parameter.
    """
    import numpy as np
    from scipy import stats

    family, shapes, at_nought = _KNOWN[name]
    folded = at_nought and family == "t"
    dist = getattr(stats, family)
    free = np.array([*shapes, 0.0] if at_nought else [*shapes, 0.0, 0.0])

    def frozen(p: Any) -> Any:
        shape, location = tuple(p[: len(shapes)]), 0.0 if at_nought else p[-2]
        return dist(*shape, loc=location, scale=np.exp(p[-1]))

    def log_index(p: Any) -> float:
        at = np.array([0.5, 0.99865])
        middle, outer = frozen(p).ppf((1 + at) / 2 if folded else at)
        return float(np.log((limit - middle) / (outer - middle)))

    middle, outer = frozen(free).ppf(np.array([0.75, 0.999325]) if folded else [0.5, 0.99865])
    limit = middle + 1.67 * (outer - middle)
    x = frozen(free).rvs(draws, random_state=np.random.default_rng(1))
    x = np.abs(x) if folded else x
    steps = 1e-3 * np.eye(free.size)
    score = np.array(
        [(frozen(free + d).logpdf(x) - frozen(free - d).logpdf(x)) / 2e-3 for d in steps]
    )
    slope = np.array([(log_index(free + d) - log_index(free - d)) / 2e-3 for d in steps])
    return float(np.sqrt(slope @ np.linalg.solve(score @ score.T / draws, slope)))


def of_attainable(known: dict[str, Any]) -> str:
    """What theory allows where the table asks for more: the family known, its parameters not."""
    from scipy.stats import norm

    rows = ""
    for name in (item for item in _KNOWN if item in known):
        error = known_family_error(name)
        for n in (125, 5000):
            sd = error / math.sqrt(n)
            passes = float(norm.sf(math.log(1.67 / (1.33 if n == 125 else 1.50)) / sd))
            power = float(norm.cdf((math.log(2.0 / 1.67) - 1.645 * sd) / sd))
            low = "1.33" if n == 125 else "1.50"
            rows += f"| {name} | {n:,} | {100 * passes:.0f} % at {low} | {100 * power:.0f} % |\n"
    return (
        "\n## What theory allows\n\nWere the family known and only its parameters not, the logarithm of the index would "
        "scatter by Fisher's information. The shares that would then be above 1.67 are the best that any method can do; the kit "
        "does not know the family.\n\n| process | readings | estimate above 1.67 | bound above 1.67 at a true 2.00 |\n"
        f"|---|---|---|---|\n{rows}"
    )


def of_sorted(cells: list[dict[str, Any]]) -> str:
    """The section of OPERATING.md about sorted parts."""

    def share(part: float, whole: float) -> str:
        return f"{100 * part / whole:.0f} %" if whole else "none given"

    def total(key: str, of: list[dict[str, Any]]) -> float:
        return float(sum(cell[key] for cell in of))

    def line(name: str, index: str, of: list[dict[str, Any]]) -> str:
        runs, told, untold = (total(key, of) for key in ("runs", "claimed", "uncounted_claimed"))
        return (
            f"| {name} | {index} | {runs:.0f} | {share(total('recognised', of), runs)} | {share(total('meets', of), runs)} | "
            f"{share(told, runs)} | {share(total('covered', of), told)} | {share(untold, runs)} | "
            f"{share(total('uncounted_covered', of), untold)} |\n"
        )

    rows = "".join(
        line("all", f"{i:.1f}", [c for c in cells if c["index"] == i])
        for i in sorted({c["index"] for c in cells})
    ) + "".join(line(c["truth"], f"{c['index']:.1f}", [c]) for c in cells)
    text = (
        "\n## Sorted parts\n\n4,000 parts made, those beyond the limits taken out. *Seen*: the readings alone show the cut at every "
        'limit. *Meets*: the rest ends with "meets" where nothing is told. *Given*, *holds*: an interval of the index before sorting is '
        "given, and holds it, with the count of the rejected and without it. Studies of a process are few; the pooled lines count. "
        "Where no cell says otherwise it was simulated before beta and inverse Gaussian were among the families, which only widens.\n\n| process | index | studies | seen | meets | given, "
        "count | holds | given, no count | holds |\n|---|---|---|---|---|---|---|---|---|\n" + rows
    )
    if RECOGNITION.is_file():
        wrong = json.loads(RECOGNITION.read_text(encoding="utf-8"))
        text += f"\n{wrong['what']}\n"
    return text


#: Family held against the values, process, bound: a family's own process first.
_HELD = (
    ("normal", "normal"),
    ("Student", "t, 5 df"),
    ("gamma", "gamma, shape 4, bound"),
    ("lognormal", "lognormal, 0.8, bound"),
    ("Weibull", "Weibull, shape 1.5, bound"),
    ("folded", "folded t, 6 df, bound"),
    ("normal", "t, 4 df"),
    ("normal", "t, 8 df"),
    ("normal", "Laplace"),
    ("normal", "1.0% outliers of 4 SD"),
    ("normal", "uniform"),
    ("normal", "gamma, shape 4"),
    ("Student", "gamma, shape 4"),
    ("gamma", "lognormal, 0.8, bound"),
    ("lognormal", "gamma, shape 4, bound"),
    ("Weibull", "folded t, 4 df, bound"),
)


def rejection(runs: int = 300) -> list[dict[str, Any]]:
    """How often Anderson and Darling's statistic rejects a family, its own process first."""
    from linestudy.numerics import generator
    from linestudy.simulate.operating import truths
    from linestudy.tails import tails
    from linestudy.tails.admissible import REJECTED

    known, rows = truths(), []
    for n in (125, 5000):
        for family, process in _HELD:
            truth, hits = known[process], 0
            few = runs if n < 1000 else runs // 3
            for run in range(few):
                values, _ = truth.study(generator(1, "rejection", process, str(n), str(run)), n)
                found = tails(values, bound=truth.bound)
                item = next(
                    c for c in (*found.admissible, *found.rejected) if c.name.startswith(family)
                )
                hits += item.ad > REJECTED
            rows.append(
                {"n": n, "family": family, "process": process, "rejected": hits, "runs": few}
            )
    return rows


def of_rejection(rows: list[dict[str, Any]]) -> str:
    """The section of OPERATING.md about it."""
    names = {"Student": "Student's t", "folded": "folded t"}
    lines = "".join(
        f"| {row['n']:,} | {names.get(row['family'], row['family'])} | {row['process']} "
        f"| {100 * row['rejected'] / row['runs']:.1f} % | {row['runs']} |\n"
        for row in rows
    )
    return (
        "\n## How often a family is rejected\n\nBy Anderson and Darling's statistic above 1.1, whatever the family; its own "
        "process first, where the share is the level. A family may also fall behind by a difference of AIC of ten.\n\n"
        f"| readings | family | process | rejected | studies |\n|---|---|---|---|---|\n{lines}"
    )


def draw(cells: list[dict[str, Any]], target: Path) -> None:
    """Share of "meets" against the true index, one curve for each process in control."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    from linestudy.simulate.operating import INDICES, truths

    mpl.rcParams["svg.hashsalt"] = "operating"
    known = truths()
    sizes = sorted({cell["n"] for cell in cells})
    figure = Figure(figsize=(4.2 * len(sizes), 7.2), layout="constrained")
    FigureCanvasSVG(figure)
    grid = figure.subplots(2, len(sizes), sharex=True, sharey=True, squeeze=False)
    for row, (key, name) in enumerate(
        (("meets_estimate", "estimate"), ("meets_bound", "lower bound"))
    ):
        for column, n in enumerate(sizes):
            axes = grid[row][column]
            for cell in (c for c in cells if c["n"] == n):
                truth = known[cell["truth"]]
                share = [100 * v / cell["runs"] for v in cell[key]]
                if not truth.in_control:
                    axes.plot(INDICES, share, color="0.6", lw=0.8, ls=":")
                elif cell["truth"] == "normal":
                    axes.plot(INDICES, share, color="#0b3c5d", lw=2.4, zorder=5)
                else:
                    heavy = truth.kind != "in control"
                    axes.plot(
                        INDICES, share, color="#b5651d" if heavy else "#5a8fb0", lw=0.9, alpha=0.8
                    )
            axes.axvline(1.67, color="0.3", lw=0.8)
            axes.set_title(f"{n:,} readings, decided on the {name}", fontsize=9)
            axes.grid(alpha=0.25)
            if row == 1:
                axes.set_xlabel("true index")
        grid[row][0].set_ylabel('share of "meets" (%)')
    figure.suptitle(
        "Which processes pass 1.67? Dark: normal; blue: other in control; brown: heavy tails and outliers; dotted: "
        "not in control",
        fontsize=9,
    )
    target.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(target, metadata={"Date": None})


def write(folder: Path) -> None:
    """Take the cells of a folder into the report."""
    cells = gathered(folder)
    KEPT.parent.mkdir(parents=True, exist_ok=True)
    KEPT.write_text(json.dumps(cells, indent=0, sort_keys=True) + "\n", encoding="utf-8")
    draw(cells, PICTURE)
    REPORT.write_text(text(cells), encoding="utf-8")


if __name__ == "__main__":
    place = Path(sys.argv[1])
    if "--report" in sys.argv:
        write(place)
    elif "--rejection" in sys.argv:
        REJECTION.write_text(json.dumps(rejection(), indent=0) + "\n", encoding="utf-8")
    else:
        simulate(place, float(sys.argv[2]) if len(sys.argv) > 2 else None)
