"""A picture that carries its own alternative text and is the same bytes for the same content."""

from __future__ import annotations

import base64
import functools
import html
import io
import re
import warnings
from contextlib import AbstractContextManager
from typing import Any

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

#: Lettering stays text, which can be searched, selected and read aloud.
_FOR_SVG: Any = {"svg.hashsalt": "linestudy", "svg.fonttype": "none"}
#: The family that widths are measured with, which Matplotlib brings along, and what lacks there.
_MEASURED = ["STIXGeneral", "DejaVu Sans"]
#: The family that the picture is set in: that of the document, or else one of the same widths.
_FAMILY = (
    b"font-family: 'Libertinus Serif', 'STIX Two Text', 'Times New Roman', Times, 'Liberation Serif', Tinos, "
    b"'Nimbus Roman', 'TeX Gyre Termes', FreeSerif, serif"
)
_IN_FILE = re.compile(rb"font-family: 'STIXGeneral', 'DejaVu Sans'(?:, sans-serif)?")


_LETTERING = re.compile(rb'<text (style="font-size: ([\d.]+)px;[^>]*)>([^<]+)</text>')


def _as_measured(found: re.Match[bytes]) -> bytes:
    """Fix a label's width to that of its layout, whatever font a reader's machine uses."""
    style, size, text = found.groups()
    width = _width(html.unescape(text.decode()), float(size))
    return b'<text textLength="%.1f" lengthAdjust="spacingAndGlyphs" %b>%b</text>' % (
        width,
        style,
        text,
    )


@functools.lru_cache(maxsize=4096)
def _width(text: str, size: float) -> float:
    """Measure the width of a text in the font that pictures are laid out with [pt]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=_MEASURED, size=size)
    return float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0])


def as_printed() -> AbstractContextManager[None]:
    """Draw as a document is printed, whatever style somebody's own settings of Matplotlib ask for.

    What is drawn in a notebook follows the reader's settings; what is signed and compared must not.

    Returns
    -------
    context manager
    """
    from matplotlib import style

    return style.context("default", after_reset=True)


class Picture(Figure):
    """A figure that carries its own alternative text and shows itself in a notebook."""

    alt_text: str = ""

    def png(self, dpi: int = 110) -> bytes:
        """Return the picture as PNG bytes, the same for the same content (no date inside)."""
        buffer = io.BytesIO()
        FigureCanvasAgg(self)
        self._settle()
        self.savefig(buffer, format="png", dpi=dpi, metadata={"Software": None})
        return buffer.getvalue()

    def svg(self) -> bytes:
        """Return the picture as SVG bytes, the same for the same content."""
        import matplotlib as mpl

        buffer = io.BytesIO()
        with mpl.rc_context({**_FOR_SVG, "font.sans-serif": _MEASURED}), warnings.catch_warnings():
            # A sign that the measuring family lacks is in the one that it is set in.
            warnings.filterwarnings("ignore", "Glyph", UserWarning)
            self._settle()
            self.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
        return _IN_FILE.sub(_FAMILY, _LETTERING.sub(_as_measured, buffer.getvalue()))

    def _settle(self) -> None:
        """Lay the picture out once; left alone, Matplotlib draws it twice to do so."""
        engine = self.get_layout_engine()
        if engine is not None:
            engine.execute(self)
            self.set_layout_engine(None)
            # The layout is solved in another order each time, and its last digits with it.
            for axes in self.axes:
                for which in ("original", "active"):
                    bounds = axes.get_position(original=which == "original").bounds
                    left, bottom, width, height = (round(float(place), 7) for place in bounds)
                    axes.set_position((left, bottom, width, height), which=which)

    def _repr_html_(self) -> str:
        data = base64.b64encode(self.png()).decode()
        alt = html.escape(self.alt_text, quote=True)
        return f'<img alt="{alt}" style="max-width:100%" src="data:image/png;base64,{data}">'
