"""Other machines, stood in for on this one: the same work in processes with other arithmetic.

OpenBLAS takes its kernel from ``OPENBLAS_CORETYPE``, NumPy leaves out loops named in
``NPY_DISABLE_CPU_FEATURES``, and the C library's ``exp``, ``log`` and ``pow`` take code without fused
multiplication where ``GLIBC_TUNABLES`` hides it (glibc only; elsewhere nobody reads it). All of it is read when a process
starts, so each is a process of its own; nothing of this process changes.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

#: What each kernel needs of the processor, by the names that NumPy gives its features.
NEEDS = {
    "Nehalem": ("SSE42",),
    "Haswell": ("AVX2", "FMA3"),
    "Zen": ("AVX2", "FMA3"),
    "SkylakeX": ("AVX512F", "AVX512BW", "AVX512DQ", "AVX512VL"),
}
#: The kernel that a dossier is made under.
REFERENCE = "Haswell"
#: Whether all environments are wanted, instead of those that find differences.
FULL = bool(os.environ.get("LINESTUDY_FULL"))

_HIDDEN = "AVX,AVX2,FMA,FMA4,AVX512F,AVX2_Usable,FMA_Usable,FMA4_Usable"

Machine = dict[str, str]


def kernels() -> list[str]:
    """Kernels that this processor runs, the plainest first; none where it is not of that make."""
    from numpy._core._multiarray_umath import __cpu_features__ as features

    return [name for name, needs in NEEDS.items() if all(features.get(one) for one in needs)]


def machine(kernel: str, threads: int) -> Machine:
    """Environment of a kernel and a number of threads."""
    return {
        "OPENBLAS_CORETYPE": kernel,
        "OPENBLAS_NUM_THREADS": str(threads),
        "OMP_NUM_THREADS": str(threads),
    }


def plainest() -> Machine:
    """Environment of an old processor: the plainest kernel, no new instructions in NumPy or the C library."""
    import numpy as np

    extensions = np.show_config(mode="dicts")["SIMD Extensions"]["found"]
    hidden = ",".join(f"-{name}" for name in _HIDDEN.split(","))
    return machine(next(iter(kernels()), "Nehalem"), 1) | {
        "NPY_DISABLE_CPU_FEATURES": " ".join(extensions),
        "GLIBC_TUNABLES": f"glibc.cpu.hwcaps={hidden}",
    }


def machines() -> dict[str, Machine]:
    """All of them by name, those that differ most from the reference first."""
    found = {"plain, 1": plainest()}
    for threads in (2, 1):
        for kernel in reversed(kernels()):
            found[f"{kernel}, {threads}"] = machine(kernel, threads)
    return found


def call(words: list[str], other: Machine, python: Path | None = None) -> tuple[int, str, str]:
    """Run Python with these words on another machine: exit code, what it said, and its errors."""
    ours = ("OPENBLAS_", "OMP_", "NPY_", "GLIBC_TUNABLES")
    environment = {key: value for key, value in os.environ.items() if not key.startswith(ours)}
    done = subprocess.run(
        [str(python or sys.executable), *words],
        env=environment | other,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


def under_each(script: str | Path, few: bool = not FULL) -> dict[str, Any]:
    """What a script prints as JSON on each machine, by name; the reference comes first.

    Parameters
    ----------
    script : str or pathlib.Path
        Python source, or a file of it.
    few : bool
        Only the reference and the two that differ most from it.
    """
    others = list(machines().items())
    wanted = {f"{REFERENCE}, 1": machine(REFERENCE, 1)} | dict(others[:2] if few else others)
    found = {}
    for name, other in wanted.items():
        words = [str(script)] if isinstance(script, Path) else ["-c", script]
        code, said, errors = call(words, other)
        assert code == 0, f"{name}: {errors[-2000:]}"
        found[name] = json.loads(said)
    return found


def newer_python() -> str | None:
    """A newer Python than this one that can make environments, where one is installed."""
    versions = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    for minor in range(20, sys.version_info.minor, -1):
        name = f"python3.{minor}"
        beside = [str(path) for path in versions.glob(f"3.{minor}.*/bin/{name}")]
        for python in [*beside, *filter(None, [shutil.which(name)])]:
            words = [python, "-c", "import sys, venv, ensurepip; print(sys.executable)"]
            found = subprocess.run(words, capture_output=True, text=True, check=False)
            if found.returncode == 0:
                return found.stdout.strip()
    return None
