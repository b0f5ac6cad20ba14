"""How far the stored numbers move with the numerical library's kernel: what the tolerances rest on.

``python tests/unchanged/kernels.py`` runs every scene once for each kernel this processor can run, each in a process
of its own, and prints for every scene that moves by more than 1e-9 how far. A scene that moves further than its
tolerance is marked.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "helpers"))
from beside import load  # noqa: E402

#: Of OpenBLAS; one that the processor lacks ends its process, and is left out.
KERNELS = ("Haswell", "Zen", "SkylakeX", "Nehalem")


def outcomes() -> dict[str, Any]:
    """What every scene gives in this process."""
    stored = load("unchanged_stored", HERE / "stored.py")
    scenes = load("unchanged_scenes", HERE / "scenes.py").SCENES
    for room in ("gauges", "stability", "shape", "capability"):
        load(f"unchanged_scenes_of_{room}", HERE / f"scenes_of_{room}.py")
    return {name: stored.outcome(call) for name, call in scenes.items()}


def moved(old: Any, new: Any) -> float:
    """The largest difference, relative to the largest number of its line."""
    if isinstance(old, str) or isinstance(new, str):
        return 0.0 if old == new else float("inf")
    if old.keys() != new.keys():
        return float("inf")
    worst = 0.0
    for name, before in old.items():
        scale = max(map(abs, before)) or 1.0
        if len(before) != len(new[name]):
            return float("inf")
        for a, b in zip(before, new[name], strict=True):
            # Below this both are zero but for rounding.
            worst = max(worst, max(abs(a - b) - 1e-12, 0.0) / scale)
    return worst


def main() -> None:
    """Print what moves."""
    found = {}
    for kernel in KERNELS:
        done = subprocess.run(
            [sys.executable, str(Path(__file__).resolve()), "outcomes"],
            env=os.environ | {"OPENBLAS_CORETYPE": kernel, "OPENBLAS_NUM_THREADS": "1"},
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode == 0:
            found[kernel] = json.loads(done.stdout)
        else:
            print(f"{kernel}: not on this processor, or it failed: {done.stderr[-200:]}")
    of = load("unchanged_tolerances", HERE / "tolerances.py").of
    first, *others = found
    for name in found[first]:
        worst = max(moved(found[first][name], found[other][name]) for other in others)
        if worst > 1e-9:
            print(f"{worst:.1e} {'BEYOND' if worst > of(name)[0] else '      '} {name}")


if __name__ == "__main__":
    if sys.argv[1:] == ["outcomes"]:
        print(json.dumps(outcomes()))
    else:
        main()
