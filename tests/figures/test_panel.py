"""Controls beside what they show, and a still view for a page without a kernel."""

from __future__ import annotations

import ipywidgets as widgets

from linestudy.figures.panel import panel


def test_a_control_changes_the_view_and_the_still_view_says_where_it_stands() -> None:
    size = widgets.IntSlider(value=3, min=1, max=9, description="size")
    box = panel([size], lambda: f"<p>square {size.value**2}</p>")
    size.value = 5
    assert box.children[1].value == "<p>square 25</p>"
    bundle = box._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert bundle["text/html"] == "<p>size = 5</p><p>square 25</p>"
