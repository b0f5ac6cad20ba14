"""The submission as one self-contained page: no network, no script, pictures inside."""

from __future__ import annotations

import base64
from pathlib import Path

from linestudy.dossier.content.elements import Document
from linestudy.dossier.forms.pdf import sections_as_data
from linestudy.dossier.forms.printable_text import printable
from linestudy.results.tables import names_as_given


def write_page(document: Document, pictures: dict[str, bytes], out: Path, foot: str) -> None:
    """Write the document as HTML.

    Parameters
    ----------
    document : Document
    pictures : dict of str to bytes
        SVG by name.
    out : pathlib.Path
    foot : str
        Last line of the page.
    """
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
    )
    environment.filters["printable"] = printable
    environment.filters["css"] = _in_css
    images = {
        f"{name}.svg": f"data:image/svg+xml;base64,{base64.b64encode(data).decode()}"
        for name, data in pictures.items()
    }
    with names_as_given(document.names):
        text = environment.get_template("page.html.j2").render(
            doc={"title": document.title, "sections": sections_as_data(document, pictures)},
            images=images,
            foot=foot,
        )
    out.write_text(text, encoding="utf-8")


def _in_css(text: str) -> str:
    """Escape text for a style: every sign but letters, digits and a few others by its number."""
    return "".join(
        c if (c.isalnum() and c.isascii()) or c in " .,:()/" else f"\\{ord(c):06x}" for c in text
    )
