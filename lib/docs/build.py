"""Build the site: ``python lib/docs/build.py OUT [--quick]``.

The guide is written by hand; reference, gallery and glossary are made from the library itself, so that they cannot
drift from it; FORMAT, RESULTS, the proof and its pictures are taken from where they are kept; notebooks are run and
kept as pages. ``--quick`` leaves out the notebooks and the gallery, which take minutes.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "lib" / "docs"
sys.path[:0] = [str(ROOT / "lib"), str(DOCS)]


def build(out: Path, *, quick: bool = False) -> list[str]:
    """Build the site into a folder and check its links.

    Parameters
    ----------
    out : pathlib.Path
        New, empty, or an older site, which is replaced.
    quick : bool
        Leaves out notebooks and gallery.

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
    with tempfile.TemporaryDirectory() as place:
        source = Path(place) / "source"
        shutil.copytree(DOCS, source, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
        shutil.copy(DOCS / "conf.py", source)
        take_pages(ROOT, source)
        glossary(source, linked=not quick)
        reference(source)
        gallery(source, ROOT / "sample_data", drawn=not quick)
        notebooks = _notebooks(source, run=not quick)
        Sphinx(
            str(source), str(source), str(out), str(Path(place) / "trees"), "html",
            status=None, warningiserror=False,
        ).build()  # fmt: skip
        if notebooks is not None:
            shutil.copytree(notebooks, out / "notebooks", dirs_exist_ok=True)
    return dead_links(out)


def _notebooks(source: Path, *, run: bool) -> Path | None:
    """Run every notebook on a copy of the sample data; the pages, and a page that leads to them."""
    files = sorted(
        file.relative_to(ROOT / "notebooks")
        for file in (ROOT / "notebooks").rglob("*.ipynb")
        if ".ipynb_checkpoints" not in file.parts
    )
    lines = ["# Notebooks, run", "", "Each as it stands after *Run all*, with its pictures.", ""]
    if not run:
        lines.append("This site was built without them.")
    for folder in ("", "submission", "learning", "audit") if run else ():
        lines += ["", f"## {folder.replace('_', ' ').capitalize() or 'Begin here'}", ""]
        for file in files:
            if file.parent.name == folder:
                name = file.stem.replace("_", " ")
                page = file.with_suffix(".html").as_posix()
                lines.append(f'* <a href="notebooks/{page}">{name}</a>')
    (source / "notebooks.md").write_text("\n".join([*lines, ""]), encoding="utf-8")
    if not run:
        return None
    from linestudy.dossier.working_papers import render_notebooks

    workplace = source.parent / "workplace"
    for name in ("notebooks", "sample_data"):
        shutil.copytree(ROOT / name, workplace / name)
    render_notebooks(workplace, print)
    return workplace / "rendered"


def main() -> int:
    """Build the site as told on the command line; exit code 1 where a link leads nowhere."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path, help="folder of the site")
    parser.add_argument("--quick", action="store_true", help="without notebooks and gallery")
    options = parser.parse_args()
    dead = build(options.out, quick=options.quick)
    print("\n".join(dead) or f"{options.out / 'index.html'}: all links lead somewhere")
    return 1 if dead else 0


if __name__ == "__main__":
    sys.exit(main())
