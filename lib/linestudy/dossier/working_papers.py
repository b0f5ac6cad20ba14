"""Working papers: the submission notebooks, run on the study and kept as pages in the dossier.

The notebooks that lie in the study's own folder are taken, for there an engineer has written what he
thought; else those of the kit. Each runs from top to bottom in the study's folder and becomes one page
that needs nothing from elsewhere. This is the one place where code of a study folder is run: only when
asked for, never by `recompute`, and only for a folder one trusts. The last notebook makes the dossier itself and is left out.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier.last_choice import VARIABLE as CHOICE
from linestudy.results import InputError
from linestudy.results.extras import require
from linestudy.running.workers import VARIABLE

if TYPE_CHECKING:
    from linestudy.study.load import Study

#: The notebook that makes the dossier cannot be part of it.
_MAKES_THE_DOSSIER = re.compile(r"\bdossier\.write\(")
_WIDGET = "application/vnd.jupyter.widget-view+json"
#: Seconds that one cell may take: some minutes' work, on a machine that is busy with other things.
PATIENCE = 1800


def notebooks_of(study: Study) -> tuple[Path, ...]:
    """Find the notebooks that become working papers, in the order of their names.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Path

    Raises
    ------
    InputError
        Neither the study's folder nor the kit has any.
    """
    from linestudy.study.starter import submission_notebooks

    for place in (study.folder / "notebooks", submission_notebooks()):
        found = sorted(place.glob("*.ipynb")) if place is not None and place.is_dir() else []
        kept = [file for file in found if not _MAKES_THE_DOSSIER.search(file.read_text("utf-8"))]
        if kept:
            return tuple(kept)
    raise InputError(
        "notebooks",
        "are neither in the study folder nor beside the kit",
        "leave out --with-notebooks, or copy them into the study folder",
    )


def write_papers(
    study: Study, folder: Path, progress: Callable[[str], None] | None = None
) -> tuple[Path, ...]:
    """Run the submission notebooks on a study and keep each as a page.

    Parameters
    ----------
    study : Study
    folder : Path
        Where the pages go; it is made.
    progress : callable, optional
        Called with the name of each notebook when it is done.

    Returns
    -------
    tuple of Path
        One html file per notebook.

    Raises
    ------
    InputError
        A notebook that cannot be read, or a cell of it that ends in an error.

    Examples
    --------
    See ``linestudy dossier STUDY --with-notebooks``.
    """
    require("notebooks", "nbclient", "nbconvert", "ipykernel", purpose="working papers")
    files = notebooks_of(study)
    folder.mkdir(parents=True)
    tell = progress or (lambda stage: None)
    # Each notebook has a process of its own; two at a time use both cores of a small machine.
    with ThreadPoolExecutor(2) as pool:
        # Where the study is, no page needs to say.
        pages = pool.map(
            lambda file: _page(file, study.folder, {"LINESTUDY_STUDY": ".", CHOICE: ""}), files
        )
        written = []
        for number, (file, page) in enumerate(zip(files, pages, strict=True), start=1):
            target = folder / f"{file.stem}.html"
            target.write_text(page, encoding="utf-8")
            written.append(target)
            tell(f"working paper {number} of {len(files)}: {file.stem}")
    return tuple(written)


def render_notebooks(
    folder: Path, progress: Callable[[str], None] | None = None
) -> tuple[Path, ...]:
    """Run every notebook of a folder and keep each as a page that needs no kernel.

    Parameters
    ----------
    folder : Path
        As ``linestudy notebooks`` makes it, with ``notebooks/`` and ``sample_data/`` in it; pages go into
        ``rendered/`` beside them.
    progress : callable, optional
        Called with the name of each notebook when it is done.

    Returns
    -------
    tuple of Path
        One html file per notebook; sliders leave the picture as it stands at the beginning.

    Raises
    ------
    InputError
        A notebook that cannot be read, or a cell of it that ends in an error.

    Examples
    --------
    See ``linestudy notebooks FOLDER --rendered``.
    """
    require("notebooks", "nbclient", "nbconvert", "ipykernel", purpose="rendered notebooks")
    source, out = folder.resolve() / "notebooks", folder.resolve() / "rendered"
    files = sorted(
        file for file in source.rglob("*.ipynb") if ".ipynb_checkpoints" not in file.parts
    )
    tell = progress or (lambda stage: None)
    written = []
    with ThreadPoolExecutor(2) as pool:
        pages = pool.map(lambda file: _page(file, file.parent, {CHOICE: ""}), files)
        for number, (file, page) in enumerate(zip(files, pages, strict=True), start=1):
            target = (out / file.relative_to(source)).with_suffix(".html")
            target.parent.mkdir(parents=True, exist_ok=True)
            # A link from one notebook to another is one from page to page here.
            target.write_text(_TO_NOTEBOOK.sub(r'\1.html"', page), encoding="utf-8")
            written.append(target)
            tell(f"page {number} of {len(files)}: {file.stem}")
    return tuple(written)


#: A link to a notebook of the same folder tree.
_TO_NOTEBOOK = re.compile(r'(href="(?![a-z]+:)[^"]*)\.ipynb"')


def _page(file: Path, place: Path, settings: dict[str, str]) -> str:
    import nbformat
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

    try:
        notebook = nbformat.read(file, as_version=4)
    except Exception as error:
        # nbformat raises what its json and its schema raise.
        raise InputError(
            file.name, f"is not a notebook ({type(error).__name__})", "mend it or take it away"
        ) from None
    client = NotebookClient(
        notebook,
        timeout=PATIENCE,
        kernel_name="python3",
        record_timing=False,
        extra_arguments=["--log-level=40"],
        resources={"metadata": {"path": str(place)}},
    )
    try:
        # Two notebooks run at a time: neither needs workers beside it.
        client.execute(env=os.environ | {VARIABLE: "1"} | settings)
    except (CellExecutionError, CellTimeoutError, DeadKernelError) as error:
        why = " ".join(str(getattr(error, "evalue", error) or type(error).__name__).split())[:200]
        raise InputError(
            f"notebooks/{file.name}", f"does not run to its end ({why})", "mend it and try again"
        ) from None
    return _html(notebook, file.stem)


def _still(shown: dict[str, Any]) -> bool:
    """Check whether an output leaves anything on paper; progress bars do not."""
    if "application/javascript" in shown:
        # It gives sliders their names, and there are none on paper.
        return False
    return shown.pop(_WIDGET, None) is None or "text/html" in shown


def _html(notebook: Any, title: str) -> str:
    """Render a notebook as one page that fetches no script and no style from elsewhere."""
    from nbconvert import HTMLExporter

    for cell in (cell for cell in notebook.cells if cell.cell_type == "code"):
        cell.outputs = [output for output in cell.outputs if _still(output.get("data", {}))]
    # Embedding pictures of a text parses its marks one by one and closes what is to be unfolded before its words.
    pictured = any(
        "![" in c.source or "<img" in c.source for c in notebook.cells if c.cell_type == "markdown"
    )
    exporter = HTMLExporter(template_name="lab", embed_images=pictured)
    exporter.exclude_input_prompt = exporter.exclude_output_prompt = True
    for name in ("require_js_url", "jquery_url", "mathjax_url", "mermaid_js_url"):
        setattr(exporter, name, "")
    page, _ = exporter.from_notebook_node(notebook, {"metadata": {"name": title}})
    # What is left of the addresses would only fail on a machine without a network.
    page = re.sub(r"<script[^>]*\bsrc=[^>]*>\s*</script>", "", page)
    return str(re.sub(r"<script\b[^>]*type=\"module\"[^>]*>.*?</script>", "", page, flags=re.S))
