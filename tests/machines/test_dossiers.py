"""A dossier made on one machine is recomputed on another: other kernels, threads, and a newer Python.

Another processor is stood in for by OpenBLAS's kernels (``OPENBLAS_CORETYPE``) and by NumPy's own
loops (``NPY_DISABLE_CPU_FEATURES``): between them they make the arithmetic of another machine, on
this one. Only child processes see them.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from own_studies import write_shapes, write_small

from linestudy.study import start_study

pytestmark = [pytest.mark.machines, pytest.mark.timeout(1800)]

#: Kernels by the instructions they need; those of a processor that lacks them cannot be run.
_KERNELS = {
    "Nehalem": "SSE42",
    "Haswell": "AVX2",
    "Zen": "AVX2",
    "SkylakeX": "AVX512_SKX",
}
REFERENCE = "Haswell"


def kernels() -> list[str]:
    """Kernels this processor can run."""
    from numpy._core._multiarray_umath import __cpu_features__ as features

    return [name for name, needs in _KERNELS.items() if features.get(needs)]


def other_machines() -> list[dict[str, str]]:
    """Environments that differ from the one a dossier is made in."""
    found = [
        {"OPENBLAS_CORETYPE": kernel, "OPENBLAS_NUM_THREADS": threads}
        for kernel in kernels()
        for threads in ("1", "2")
        if (kernel, threads) != (REFERENCE, "2")
    ]
    found.append({"OPENBLAS_CORETYPE": REFERENCE, "NPY_DISABLE_CPU_FEATURES": _without()})
    return found


def _without() -> str:
    """NumPy's loops for newer instructions that it would otherwise take."""
    present = np.show_config(mode="dicts")["SIMD Extensions"]["found"]
    return " ".join(present)


def call(words: list[str], python: Path, **machine: str) -> subprocess.CompletedProcess[str]:
    """Run the command line in another environment."""
    environment = {
        key: value
        for key, value in os.environ.items()
        if not key.startswith(("OPENBLAS_", "OMP_", "NPY_"))
    }
    return subprocess.run(
        [str(python), "-m", "linestudy", *words],
        env=environment | machine,
        capture_output=True,
        text=True,
        check=False,
    )


def _sample(folder: Path, root: Path) -> Path:
    return root / "sample_data" / "fork_receptacle"


STUDIES: dict[str, Callable[[Path, Path], Path]] = {
    "sample": _sample,
    "starter": lambda folder, root: start_study(folder),
    "shapes": lambda folder, root: write_shapes(folder),
    "small": lambda folder, root: write_small(folder),
}


@pytest.fixture(scope="module", params=list(STUDIES))
def dossier(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, root: Path
) -> Path:
    place = tmp_path_factory.mktemp(request.param)
    study = STUDIES[request.param](place / "study", root)
    out = place / "made.dossier"
    done = call(
        ["dossier", str(study), "--out", str(out)],
        Path(sys.executable),
        OPENBLAS_CORETYPE=REFERENCE,
        OPENBLAS_NUM_THREADS="2",
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return out


@pytest.mark.parametrize("machine", other_machines(), ids=lambda m: " ".join(m.values())[:40])
def test_a_dossier_agrees_on_another_machine(dossier: Path, machine: dict[str, str]) -> None:
    done = call(["recompute", str(dossier)], Path(sys.executable), **machine)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]


def _newer_python() -> str | None:
    """A newer Python than this one, where one is installed."""
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


@pytest.fixture(scope="module")
def newer(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Path:
    python = _newer_python()
    if python is None:
        pytest.skip("no newer Python is installed here")
    place = tmp_path_factory.mktemp("newer") / "venv"
    subprocess.run([python, "-m", "venv", str(place)], check=True)
    inside = place / ("Scripts" if os.name == "nt" else "bin") / "python"
    subprocess.run(
        [str(inside), "-m", "pip", "install", "-q", "-r", "requirements.txt"], cwd=root, check=True
    )
    return inside


def test_a_dossier_agrees_under_a_newer_python(dossier: Path, newer: Path) -> None:
    done = call(["recompute", str(dossier)], newer)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]
