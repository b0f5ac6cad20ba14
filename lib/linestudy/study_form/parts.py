"""What the form is made of: labelled fields, sentences that are read out, steps with a heading and a purpose."""

from __future__ import annotations

import functools
import html
from collections.abc import Callable, Iterable
from typing import Any

import ipywidgets

from linestudy.results import InputError

#: Looks that widgets have no attribute for. A label that only a screen reader needs is clipped, not taken out.
STYLE = """<style>
.ls-bare > label.widget-label { position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); white-space: nowrap; }
.ls-bare-tick .widget-label-basic span { position: absolute; clip-path: inset(50%); white-space: nowrap; }
.ls-form .ls-whose { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.ls-form h2 { font-size: 1.2em; margin: 1.4em 0 0.2em; }
.ls-form h3 { font-size: 1em; margin: 0.9em 0 0.2em; }
.ls-form p, .ls-form ul { margin: 0.2em 0; max-width: 46em; line-height: 1.4; }
.ls-form .ls-wrong { border-left: 4px solid var(--jp-error-color1, #b00020); padding-left: 0.6em; }
.ls-form .ls-right { border-left: 4px solid var(--jp-success-color1, #2e7d32); padding-left: 0.6em; }
.ls-form .widget-html, .ls-form .widget-html-content { height: auto; color: var(--jp-content-font-color1, #111); }
.ls-form .ls-cells { font-family: var(--jp-code-font-family, monospace); font-size: 0.92em; overflow-wrap: anywhere; }
.ls-form table { border-collapse: collapse; }
.ls-form td, .ls-form th { padding: 0.15em 0.7em 0.15em 0; text-align: left; vertical-align: top; }
.ls-form input:focus-visible, .ls-form select:focus-visible, .ls-form button:focus-visible {
  outline: 2px solid var(--jp-brand-color1, #1565c0); outline-offset: 1px; }
</style>"""


def text(
    label: str, value: str = "", *, bare: bool = False, width: str = "9em", hint: str = ""
) -> ipywidgets.Text:
    """Make a field to type into; `bare` leaves its label to screen readers, where a heading shows it to all."""
    found = ipywidgets.Text(
        value=value, description=label, placeholder=hint, continuous_update=False
    )
    return _dressed(found, bare, width)


def choice(
    label: str,
    options: Iterable[tuple[str, str]],
    value: str,
    *,
    bare: bool = False,
    width: str = "30em",
) -> ipywidgets.Dropdown:
    """Make a list to choose from."""
    found = ipywidgets.Dropdown(options=list(options), value=value, description=label)
    return _dressed(found, bare, width)


def tick(label: str, value: bool, *, bare: bool = False) -> ipywidgets.Checkbox:
    """Make a box to tick."""
    found = ipywidgets.Checkbox(value=value, description=label, indent=False)
    if bare:
        found.layout.width = "4em"
        found.add_class("ls-bare-tick")
    return found


def button(label: str, pressed: Callable[[], None], says: Says) -> ipywidgets.Button:
    """Make a button; what goes wrong when it is pressed is said in a sentence."""
    found = ipywidgets.Button(
        description=label, layout=ipywidgets.Layout(width="auto", align_self="flex-start")
    )
    found.on_click(lambda _: says.guarded(pressed)())
    return found


def of_whom(widget: Any, whose: str) -> Any:
    """Let a field be read out with whose it is, where several of the same words stand on the form.

    Who sees the form sees the heading above it.
    """
    words = html.escape(widget.description)
    widget.description_allow_html = True
    widget.description = f'{words}<span class="ls-whose">, {html.escape(whose)}</span>'
    return widget


def _dressed(widget: Any, bare: bool, width: str) -> Any:
    if bare:
        widget.add_class("ls-bare")
        widget.layout.width = width
    else:
        widget.style.description_width = "14em"
        widget.layout.width = f"calc(14em + {width})"
    return widget


class Says:
    """A place where the form answers; what is new is read out by screen readers."""

    def __init__(self) -> None:
        self.widget = ipywidgets.HTML()

    def right(self, *lines: str) -> None:
        """Say what is as it should be."""
        self._show("status", "ls-right", lines)

    def wrong(self, *lines: str) -> None:
        """Say what is in the way."""
        self._show("alert", "ls-wrong", lines)

    def nothing(self) -> None:
        """Take back what was said."""
        self.widget.value = ""

    def html(self, text: str) -> None:
        """Show what is HTML already."""
        self.widget.value = f'<div role="status">{text}</div>'

    def _show(self, role: str, look: str, lines: tuple[str, ...]) -> None:
        said = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
        self.widget.value = f'<div role="{role}" class="{look}">{said}</div>' if said else ""

    def guarded(self, work: Callable[..., None]) -> Callable[..., None]:
        """Run something; an error is a sentence here, for in a callback nobody would see it."""

        @functools.wraps(work)
        def run(*given: Any) -> None:
            try:
                work(*given)
            except (InputError, ValueError, OSError) as error:
                self.wrong(f"{str(error).rstrip('.')}.")
            except Exception as error:
                self.wrong(f"An error nobody foresaw: {type(error).__name__}: {error}.")

        return run


class Step:
    """One step of the form: a heading, what it is for, its widgets and its answer."""

    title = ""
    purpose = ""

    def __init__(self) -> None:
        self.says = Says()
        self.body = ipywidgets.VBox()
        self.widget = ipywidgets.VBox()

    def laid_out(self, number: int) -> ipywidgets.VBox:
        """Give the step with its heading."""
        head = f"<h2>{number} · {html.escape(self.title)}</h2><p>{html.escape(self.purpose)}</p>"
        self.widget.children = [ipywidgets.HTML(head), self.body, self.says.widget]
        return self.widget


def heading(words: str, *more: str) -> ipywidgets.HTML:
    """Make a small heading with paragraphs under it."""
    said = "".join(f"<p>{html.escape(line)}</p>" for line in more if line)
    return ipywidgets.HTML(f"<h3>{html.escape(words)}</h3>{said}")


def plain(words: str, look: str = "") -> ipywidgets.HTML:
    """Make text of a cell."""
    return ipywidgets.HTML(f'<span class="{look}">{html.escape(words)}</span>')


def grid(columns: str, rows: Iterable[Iterable[Any]]) -> ipywidgets.GridBox:
    """Lay widgets out in columns of given widths."""
    layout = ipywidgets.Layout(
        grid_template_columns=columns, grid_gap="2px 8px", align_items="center"
    )
    return ipywidgets.GridBox([each for row in rows for each in row], layout=layout)
