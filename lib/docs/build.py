"""Build the site: ``python lib/docs/build.py OUT [--quick] [--keep FOLDER]``.

The guide is written by hand; reference, gallery and glossary are made from the library itself, so that they cannot
drift from it; FORMAT, RESULTS, the proof and its pictures are taken from where they are kept; notebooks are run and
kept as pages. ``--quick`` leaves out the notebooks and the gallery, which take minutes. With ``--keep`` the page of each
notebook is also kept in a folder, and taken from there as long as notebook, library and sample data are the same.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "lib" / "docs"
sys.path[:0] = [str(ROOT / "lib"), str(DOCS)]


def build(out: Path, *, quick: bool = False, keep: Path | None = None) -> list[str]:
    """Build the site into a folder and check its links.

    Parameters
    ----------
    out : pathlib.Path
        New, empty, or an older site, which is replaced.
    quick : bool
        Leaves out notebooks and gallery.
    keep : pathlib.Path, optional
        Where pages of notebooks are kept between builds.

    Returns
    -------
    list of str
        Links that lead nowhere, each with its page; none where all is well.
    """
    from generated import gallery, glossary, reference
    from links import dead_links
    from sphinx.application import Sphinx
    from taken import take_pages

    if out.exists() and any(out.iterdir()) and not (out / "objects.inv").is_file():
        raise SystemExit(f"{out}: holds something that is no site; name another folder")
    shutil.rmtree(out, ignore_errors=True)
    with tempfile.TemporaryDirectory() as place, _own_cache(Path(place) / "kept"):
        source, workplace = Path(place) / "source", Path(place) / "workplace"
        shutil.copytree(DOCS, source, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
        shutil.copy(DOCS / "conf.py", source)
        if not quick:
            # Gallery and notebooks read the same studies, so that each is evaluated once.
            for name in ("notebooks", "sample_data"):
                shutil.copytree(ROOT / name, workplace / name)
        with _told("pages of the project and the library"):
            take_pages(ROOT, source)
            glossary(source, linked=not quick)
            reference(source)
        with _told("gallery"):
            gallery(source, workplace / "sample_data", drawn=not quick)
        (source / "notebooks.md").write_text(_list_of_notebooks(run=not quick), encoding="utf-8")
        if not quick:
            with _told("notebooks"):
                _run_notebooks(workplace, keep)
        with _told("Sphinx"):
            Sphinx(
                str(source), str(source), str(out), str(Path(place) / "trees"), "html",
                status=None, warningiserror=False,
            ).build()  # fmt: skip
        if not quick:
            shutil.copytree(workplace / "rendered", out / "notebooks", dirs_exist_ok=True)
    with _told("links"):
        return dead_links(out)


@contextlib.contextmanager
def _own_cache(folder: Path) -> Iterator[None]:
    """Keep evaluations of this build in a folder of its own, so that they push out none of the user's."""
    from linestudy.dossier.kept import VARIABLE

    before = os.environ.get(VARIABLE)
    os.environ[VARIABLE] = str(folder)
    try:
        yield
    finally:
        if before is None:
            del os.environ[VARIABLE]
        else:
            os.environ[VARIABLE] = before


@contextlib.contextmanager
def _told(stage: str) -> Iterator[None]:
    """Print how long a stage took."""
    begin = time.perf_counter()
    yield
    print(f"{stage}: {time.perf_counter() - begin:.0f} s", flush=True)


def _notebook_files() -> list[Path]:
    return sorted(
        file.relative_to(ROOT / "notebooks")
        for file in (ROOT / "notebooks").rglob("*.ipynb")
        if ".ipynb_checkpoints" not in file.parts
    )


def _list_of_notebooks(*, run: bool) -> str:
    """Write the page that leads to the pages of the notebooks."""
    lines = ["# Notebooks, run", "", "Each as it stands after *Run all*, with its pictures.", ""]
    if not run:
        lines.append("This site was built without them.")
    for folder in ("", "submission", "learning", "audit") if run else ():
        lines += ["", f"## {folder.replace('_', ' ').capitalize() or 'Begin here'}", ""]
        for file in sorted(_notebook_files(), key=_by_number):
            if file.parent.name == folder:
                name = file.stem.replace("_", " ")
                page = file.with_suffix(".html").as_posix()
                lines.append(f'* <a href="notebooks/{page}">{name}</a>')
    return "\n".join([*lines, ""])


def _by_number(file: Path) -> tuple[int, str]:
    """Order notebooks by the number they begin with, those without one last."""
    number = file.stem.split("_")[0]
    return (int(number) if number.isdigit() else 1_000, file.stem)


def _run_notebooks(workplace: Path, keep: Path | None) -> None:
    """Run every notebook on a copy of the sample data; take the page of one that was run on the same before."""
    from linestudy.dossier.working_papers import render_notebooks

    everything = _content() if keep is not None else b""
    kept = {}
    for name in _notebook_files() if keep is not None else ():
        file = workplace / "notebooks" / name
        key = hashlib.sha256(everything + file.read_bytes()).hexdigest()[:24]
        kept[name] = keep / f"{name.stem}.{key}.html"  # type: ignore[operator]
    there = {name: page for name, page in kept.items() if page.is_file()}
    for name in there:
        (workplace / "notebooks" / name).unlink()
    render_notebooks(workplace, print)
    rendered = workplace / "rendered"
    for name, page in there.items():
        target = (rendered / name).with_suffix(".html")
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(page, target)
    for name in kept.keys() - there.keys():
        keep.mkdir(parents=True, exist_ok=True)  # type: ignore[union-attr]
        for older in keep.glob(f"{name.stem}.*.html"):  # type: ignore[union-attr]
            older.unlink()
        shutil.copy((rendered / name).with_suffix(".html"), kept[name])


def _content() -> bytes:
    """Hash what every notebook depends on: the library, the sample data, and the packages beside it."""
    from linestudy.dossier.evaluation import kit_versions

    total = hashlib.sha256(repr(sorted(kit_versions().items())).encode())
    files = [
        *(ROOT / "lib" / "linestudy").rglob("*"),
        *(ROOT / "sample_data").rglob("*"),
    ]
    for file in sorted(files):
        if file.is_file() and "__pycache__" not in file.parts:
            total.update(file.relative_to(ROOT).as_posix().encode() + b"\0")
            total.update(file.read_bytes())
    return total.digest()


def main() -> int:
    """Build the site as told on the command line; exit code 1 where a link leads nowhere."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path, help="folder of the site")
    parser.add_argument("--quick", action="store_true", help="without notebooks and gallery")
    parser.add_argument("--keep", type=Path, help="folder that keeps pages of notebooks that ran")
    options = parser.parse_args()
    dead = build(options.out, quick=options.quick, keep=options.keep)
    print("\n".join(dead) or f"{options.out / 'index.html'}: all links lead somewhere")
    return 1 if dead else 0


if __name__ == "__main__":
    sys.exit(main())
