"""The same script under every kernel of linear algebra that this processor can run, with one thread and two.

NumPy's OpenBLAS takes its kernel from OPENBLAS_CORETYPE when it is loaded, so each runs in a process of its own.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from typing import Any

#: Kernel → what the processor must offer for it, as NumPy names it.
KERNELS = {"Nehalem": "SSE42", "Haswell": "AVX2", "Zen": "AVX2", "SkylakeX": "AVX512_SKX"}


def kernels() -> tuple[str, ...]:
    """Kernels that this processor can run; the first is the plainest."""
    from numpy._core._multiarray_umath import __cpu_features__ as offered

    return tuple(name for name, needs in KERNELS.items() if offered.get(needs))


def under_each_kernel(script: str) -> dict[str, Any]:
    """Run a script under each kernel, and under the first one with two threads.

    Parameters
    ----------
    script : str
        Python source; it prints JSON.

    Returns
    -------
    dict of str to object
        Kernel and threads → what the script printed.
    """
    runs = [(name, 1) for name in kernels()] + [(name, 2) for name in kernels()[-1:]]
    found = {}
    for name, threads in runs:
        settings = {"OPENBLAS_CORETYPE": name, "OPENBLAS_NUM_THREADS": str(threads)}
        done = subprocess.run(
            [sys.executable, "-c", script],
            env=os.environ | settings | {"OMP_NUM_THREADS": str(threads)},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, f"{name}: {done.stderr[-2000:]}"
        found[f"{name}, {threads} thread(s)"] = json.loads(done.stdout)
    return found
