"""A picture that carries its own alternative text and is the same bytes for the same content."""

from __future__ import annotations

import base64
import html
import io

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure


class Picture(Figure):
    """A figure that carries its own alternative text and shows itself in a notebook."""

    alt_text: str = ""

    def png(self, dpi: int = 110) -> bytes:
        """The picture as PNG bytes, the same for the same content (no date inside)."""
        buffer = io.BytesIO()
        FigureCanvasAgg(self)
        self._settle()
        self.savefig(buffer, format="png", dpi=dpi, metadata={"Software": None})
        return buffer.getvalue()

    def svg(self) -> bytes:
        """The picture as SVG bytes, the same for the same content."""
        import matplotlib as mpl

        buffer = io.BytesIO()
        self._settle()
        with mpl.rc_context({"svg.hashsalt": "linestudy", "svg.fonttype": "path"}):
            self.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
        return buffer.getvalue()

    def _settle(self) -> None:
        """Lay the picture out once; left alone, Matplotlib draws it twice to do so."""
        engine = self.get_layout_engine()
        if engine is not None:
            engine.execute(self)
            self.set_layout_engine(None)

    def _repr_html_(self) -> str:
        data = base64.b64encode(self.png()).decode()
        alt = html.escape(self.alt_text, quote=True)
        return f'<img alt="{alt}" style="max-width:100%" src="data:image/png;base64,{data}">'
