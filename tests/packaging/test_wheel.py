"""The wheel, installed into an environment of its own, does what the README shows from a clone.

By marker: ``pytest -m wheel``. The environment borrows the packages that are installed here, so that this needs no
network and little time; with ``LINESTUDY_WHEEL_PIP=1`` pip installs everything anew, as a user does.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

pytestmark = [pytest.mark.wheel, pytest.mark.timeout(1800)]


def run(*words: str | Path, cwd: Path, ok: bool = True) -> subprocess.CompletedProcess[str]:
    """A command outside the repository, where nothing of it is on the path."""
    env = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "LINESTUDY_STUDY")}
    if not os.environ.get("LINESTUDY_WHEEL_PIP"):
        # Borrowed packages left the templates of pages where they were installed.
        env["JUPYTER_PATH"] = os.path.join(sys.prefix, "share", "jupyter")
    done = subprocess.run(
        list(map(str, words)), cwd=cwd, env=env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0 or not ok, done.stdout[-2000:] + done.stderr[-4000:]
    return done


@pytest.fixture(scope="module")
def wheel(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built by way of the sdist, as an index would have it."""
    out = tmp_path_factory.mktemp("dist")
    isolated = [] if os.environ.get("LINESTUDY_WHEEL_PIP") else ["--no-isolation"]
    run(sys.executable, "-m", "build", *isolated, "-o", out, root / "lib", cwd=out)
    (found,) = out.glob("*.whl")
    return found


@pytest.fixture(scope="module")
def python(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The interpreter of an environment that holds the wheel."""
    place = tmp_path_factory.mktemp("venv")
    with_pip = bool(os.environ.get("LINESTUDY_WHEEL_PIP"))
    venv.create(place, with_pip=with_pip)
    windows = os.name == "nt"
    program = place / ("Scripts/python.exe" if windows else "bin/python")
    if with_pip:
        run(program, "-m", "pip", "install", "-q", f"{wheel}[notebooks]", cwd=place)
        return program
    paths = {name: str(place) for name in ("base", "platbase")}
    site = Path(sysconfig.get_path("purelib", "nt" if windows else "posix_prefix", paths))
    run(
        *(sys.executable, "-m", "uv", "pip", "install", "-q", "--offline", "--no-deps"),
        *("--python", program, wheel),
        cwd=place,
    )
    # Behind the wheel's own: an editable install of the repository there must not come first.
    (site / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return program


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    return tmp_path


def test_the_package_under_test_is_the_wheel(python: Path, elsewhere: Path, root: Path) -> None:
    code = "import linestudy; print(linestudy.__file__)"
    where = Path(run(python, "-c", code, cwd=elsewhere).stdout.strip())
    assert not where.is_relative_to(root)
    assert where.is_relative_to(python.parents[1])


def test_the_wheel_carries_what_it_needs_and_says_who_made_it(wheel: Path, root: Path) -> None:
    import linestudy

    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        (about,) = (name for name in names if name.endswith("/METADATA"))
        head = archive.read(about).decode()
    stored = {
        f"linestudy/_shipped/{file.relative_to(root).as_posix()}"
        for file in (root / "notebooks").rglob("*.ipynb")
        if ".ipynb_checkpoints" not in file.parts
    }
    assert stored <= set(names)
    for name in ("py.typed", "study/FORMAT.md", "dossier/RESULTS.md"):
        assert f"linestudy/{name}" in names
    assert any(name.endswith("licenses/LICENSE") for name in names)
    assert not [name for name in names if ".dossier/" in name or "__pycache__" in name]
    for line in (
        f"Version: {linestudy.__version__}",
        "Author: The linestudy developers",
        "License-Expression: GPL-3.0-or-later",
        "Description-Content-Type: text/markdown",
    ):
        assert line in head
    # A plain install brings no JupyterLab and no engine for logs.
    plain = [
        line
        for line in head.splitlines()
        if line.startswith("Requires-Dist") and "extra ==" not in line
    ]
    assert not [line for line in plain if "jupyter" in line or "ibis" in line or "pandera" in line]


def test_the_sample_study_and_a_new_one_with_working_papers(python: Path, elsewhere: Path) -> None:
    run(python, "-m", "linestudy", "notebooks", "kit", cwd=elsewhere)
    sample = elsewhere / "kit" / "sample_data" / "fork_receptacle"
    told = run(python, "-m", "linestudy", "dossier", sample, cwd=elsewhere).stdout
    assert "Ppk" in told
    out = sample.with_name("fork_receptacle.dossier")
    assert (out / "data" / "dossier.pdf").stat().st_size > 10_000
    run(python, "-m", "linestudy", "recompute", out, cwd=elsewhere)

    run(python, "-m", "linestudy", "new", "mine", cwd=elsewhere)
    assert (elsewhere / "mine" / "notebooks" / "7_dossier.ipynb").is_file()
    run(python, "-m", "linestudy", "dossier", "mine", "--with-notebooks", cwd=elsewhere)
    papers = elsewhere / "mine.dossier" / "data" / "working_papers"
    # All but the last, which writes the dossier.
    notebooks = {path.stem for path in (elsewhere / "mine" / "notebooks").glob("[0-9]_*.ipynb")}
    assert {path.stem for path in papers.glob("*.html")} == notebooks - {"7_dossier"}
    lock = (elsewhere / "mine.dossier" / "data" / "versions.txt").read_text(encoding="utf-8")
    assert "linestudy==" in lock


def test_a_lab_runs_from_the_copied_notebooks(python: Path, elsewhere: Path) -> None:
    run(python, "-m", "linestudy", "notebooks", "kit", cwd=elsewhere)
    code = """
import nbformat, sys
from nbclient import NotebookClient
for name in sys.argv[1:]:
    notebook = nbformat.read(name, as_version=4)
    place = {"metadata": {"path": name.rsplit("/", 1)[0]}}
    NotebookClient(notebook, timeout=300, kernel_name="python3", resources=place).execute()
    print(name)
"""
    names = ["1_what_an_interval_is", "glossary"]
    words = [(elsewhere / "kit/notebooks/learning" / f"{name}.ipynb").as_posix() for name in names]
    assert len(run(python, "-c", code, *words, cwd=elsewhere).stdout.splitlines()) == 2


@pytest.mark.parametrize(
    ("words", "missing", "extra"),
    [
        (("dossier", "STUDY", "--with-notebooks"), "nbclient", "notebooks"),
        (("log", "days", "--study", "STUDY", "--evidence", "out.json"), "ibis", "log"),
    ],
)
def test_a_missing_extra_is_told_in_one_line(
    python: Path, elsewhere: Path, words: tuple[str, ...], missing: str, extra: str
) -> None:
    run(python, "-m", "linestudy", "new", "mine", cwd=elsewhere)
    (elsewhere / "days").mkdir()
    (elsewhere / "days" / "one.csv").write_bytes((elsewhere / "mine/data/run.csv").read_bytes())
    # A plain install: what an extra brings cannot be found.
    hide = f"""
import importlib.util, sys
found = importlib.util.find_spec
importlib.util.find_spec = lambda name, *rest: None if name == {missing!r} else found(name, *rest)
from linestudy.cli import main
sys.exit(main({json.dumps([word.replace("STUDY", "mine") for word in words])}))
"""
    done = run(python, "-c", hide, cwd=elsewhere, ok=False)
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert f'pip install "linestudy[{extra}]"' in line
