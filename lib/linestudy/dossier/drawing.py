"""Draw a document's pictures side by side, with one other piece of work beside them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

from linestudy.core.parallel import run_all
from linestudy.dossier.blocks import Document

Result = TypeVar("Result")


def drawn(
    document: Document, other: Callable[[], Result]
) -> tuple[Document, dict[str, bytes], Result]:
    """Draw all pictures of a document.

    Parameters
    ----------
    document : Document
    other : callable
        What takes longest and needs no picture: it goes first, beside them.

    Returns
    -------
    document : Document
        Without the pictures that turned out to draw nothing.
    pictures : dict of str to bytes
        SVG by name.
    other
        What `other` returned.
    """
    # Loaded once here and not in every process that draws.
    import linestudy.figures.style  # noqa: F401

    names = list(document.pictures)
    tasks: list[Callable[[], Any]] = [other]
    tasks += [partial(_svg, document.pictures[name]) for name in names]
    result, *svg = run_all(tasks)
    pictures = {name: data for name, data in zip(names, svg, strict=True) if data is not None}
    return document.without(set(names) - set(pictures)), pictures, result


def _svg(draw: Callable[[], Any]) -> bytes | None:
    figure = draw()
    return None if figure is None else bytes(figure.svg())
