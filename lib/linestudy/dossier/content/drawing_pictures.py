"""Draw a document's pictures side by side, with other work beside them."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from functools import partial
from typing import Any

from linestudy.dossier.content.elements import Document
from linestudy.results import CannotJudge
from linestudy.results.guarding import clause, strict
from linestudy.results.picture import as_printed
from linestudy.running.workers import run_all


def drawn(
    document: Document, *others: Callable[[], Any]
) -> tuple[Document, dict[str, bytes], list[Any]]:
    """Draw all pictures of a document.

    Parameters
    ----------
    document : Document
    *others : callable
        What takes long and needs no picture: it goes first, beside them.

    Returns
    -------
    document : Document
        Without the pictures that turned out to draw nothing.
    pictures : dict of str to bytes
        SVG by name.
    others : list
        What the `others` returned.
    """
    # Loaded once here and not in every process that draws.
    import linestudy.figures.style  # noqa: F401

    names = list(document.pictures)
    found = run_all([*others, *(partial(_svg, document.pictures[name]) for name in names)])
    results, svg = found[: len(others)], found[len(others) :]
    pictures = {name: data for name, data in zip(names, svg, strict=True) if data is not None}
    return document.without(set(names) - set(pictures)), pictures, results


def _svg(draw: Callable[[], Any]) -> bytes | None:
    """Draw a picture as SVG; one that fails is replaced by a note, so that the document goes on.

    The numbers beside it stay valid: a picture only shows them.
    """
    try:
        with as_printed(), warnings.catch_warnings():
            # A sign that the measuring family lacks is set by what shows the picture.
            warnings.filterwarnings("ignore", "Glyph", UserWarning)
            figure = draw()
            return None if figure is None else bytes(figure.svg())
    except CannotJudge:
        # There is nothing to draw.
        return None
    except Exception as error:
        if strict():
            raise
        return _in_its_place(clause(error))


def _in_its_place(reason: str) -> bytes:
    from linestudy.figures.style import picture

    with as_printed():
        figure, axes = picture("This picture could not be drawn", height=1.0)
        axes.set_axis_off()
        axes.text(0.0, 0.5, f"Reason: {reason}.", fontsize=8, transform=axes.transAxes)
        return figure.svg()
