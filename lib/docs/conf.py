"""Settings of the site. Formulas become MathML, which browsers draw without a script from elsewhere."""

from __future__ import annotations

import re

from docutils import nodes
from docutils.utils.math import latex2mathml

project = "linestudy"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
myst_enable_extensions = ["deflist"]
myst_heading_anchors = 3
exclude_patterns = ["README.md"]
html_theme = "alabaster"
html_title = "linestudy"
html_theme_options = {
    "description": "From the records of a stamping line to a submission, recomputable.",
    "fixed_sidebar": True,
    "page_width": "70em",
    "link": "#1f4e79",
    "gray_1": "#444",
    "gray_2": "#eee",
    "gray_3": "#555",
}
html_static_path = ["_static"]
html_css_files = ["site.css"]
toc_object_entries = False
html_show_sourcelink = html_copy_source = html_show_copyright = html_show_sphinx = False
html_math_renderer = "mathml"
autodoc_member_order = "bysource"
autodoc_typehints = "none"
napoleon_google_docstring = False
napoleon_use_rtype = napoleon_use_param = False
napoleon_use_ivar = True
suppress_warnings = ["myst.xref_missing", "myst.header"]


def _formula(self, node, *, inline):  # type: ignore[no-untyped-def]
    text = node.astext()
    try:
        made = str(latex2mathml.tex2mathml(text, as_block=not inline))
    except Exception:
        # What it cannot set is shown as it was written.
        made = f"<code>{self.encode(text)}</code>"
    self.body.append(made if inline else f"<p>{made}</p>")
    raise nodes.SkipNode


def _bars(app, what, name, thing, options, lines):  # type: ignore[no-untyped-def]
    """Bars about a number mean its size, and no name of something to be put there."""
    lines[:] = [re.sub(r"\|(\w+)\|", r"\\|\1\\|", line) for line in lines]


def setup(app):  # type: ignore[no-untyped-def]
    """Set formulas, and leave bars as they are."""
    app.connect("autodoc-process-docstring", _bars)
    app.add_html_math_renderer(
        "mathml",
        inline_renderers=(lambda self, node: _formula(self, node, inline=True), None),
        block_renderers=(lambda self, node: _formula(self, node, inline=False), None),
    )
