"""The submission as one self-contained page: no network, no script, pictures inside."""

from __future__ import annotations

import base64
from pathlib import Path

from linestudy.dossier.content.blocks import Document
from linestudy.dossier.forms.pdf import as_data, printable


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
    sections = [
        {"heading": s.heading, "fresh": s.fresh, "blocks": [as_data(b) for b in s.blocks]}
        for s in document.sections
    ]
    images = {
        f"{name}.svg": f"data:image/svg+xml;base64,{base64.b64encode(data).decode()}"
        for name, data in pictures.items()
    }
    text = environment.get_template("page.html.j2").render(
        doc={
            "title": document.title,
            "facts": document.facts,
            "claim": document.claim,
            "release": document.release,
            "sections": sections,
        },
        images=images,
        foot=foot,
    )
    out.write_text(text, encoding="utf-8")
