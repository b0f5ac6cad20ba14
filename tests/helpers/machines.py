"""The same script under every kernel of the processor's linear algebra, and with one and two threads.

OpenBLAS chooses the code for its sums by processor; ``OPENBLAS_CORETYPE`` makes it take another's. Each run
is a process of its own, since a library that is loaded does not change its mind. Kernels that the processor at
hand cannot run are left out.

A script prints one JSON object: from a name to ``[number, scale]``, the scale being what a difference is
held against (a standard error, the width of an interval), or to a text, which must be the same everywhere.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

#: What each kernel needs of the processor, by the names that NumPy gives its features.
NEEDS = {
    "Nehalem": ("SSE42",),
    "Haswell": ("AVX2", "FMA3"),
    "Zen": ("AVX2", "FMA3"),
    "SkylakeX": ("AVX512F", "AVX512BW", "AVX512DQ", "AVX512VL"),
}

Numbers = dict[str, Any]


def kernels() -> list[str]:
    """Names of the kernels that this processor runs; none where it is not of that make."""
    from numpy._core._multiarray_umath import __cpu_features__ as features

    return [name for name, needs in NEEDS.items() if all(features.get(one) for one in needs)]


def under_each(script: Path, timeout: float = 1200) -> dict[str, Numbers]:
    """What a script prints under each kernel with one thread, and under the own kernel with two.

    Parameters
    ----------
    script : pathlib.Path
    timeout : float
        Seconds for each run.

    Returns
    -------
    dict of str to dict
        By a name of the surroundings; as it comes first.
    """
    surroundings: dict[str, dict[str, str]] = {
        "one thread": _threads(1),
        "two threads": _threads(2),
    }
    for kernel in kernels():
        surroundings[kernel] = {"OPENBLAS_CORETYPE": kernel} | _threads(1)
    found = {}
    for name, changed in surroundings.items():
        said = subprocess.run(
            [sys.executable, str(script)],
            env=os.environ | changed,
            capture_output=True,
            text=True,
            check=True,
            timeout=timeout,
        )
        found[name] = json.loads(said.stdout)
    return found


def _threads(count: int) -> dict[str, str]:
    return {name: str(count) for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")}


def farthest(one: Numbers, other: Numbers, allowed: Callable[[str], float]) -> tuple[float, str]:
    """Largest difference between two sets of numbers, over what is allowed of its scale, and where.

    Infinite where a name is missing on one side or a text differs.
    """
    worst = (0.0, "")
    for name in one.keys() | other.keys():
        a, b = one.get(name), other.get(name)
        if isinstance(a, list) and isinstance(b, list):
            apart = abs(a[0] - b[0]) / a[1] / allowed(name) if a[0] != b[0] else 0.0
        else:
            apart = 0.0 if a == b else float("inf")
        worst = max(worst, (apart, name))
    return worst
