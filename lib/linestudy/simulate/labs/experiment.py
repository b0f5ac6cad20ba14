"""What a lab found, and sliders to play with it."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import CannotJudge, Finding
from linestudy.results.extras import require
from linestudy.results.finding import table_html
from linestudy.results.tables import Rows, typeset

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


@dataclass(frozen=True)
class Experiment(Finding):
    """What a lab found.

    Attributes
    ----------
    said : str
        What the experiment shows, with its numbers.
    numbers : dict of str to float
        Everything an exercise may ask for.
    rows : tuple of (str, str)
        The table.
    """

    said: str
    numbers: dict[str, float]
    rows: tuple[tuple[str, str], ...]
    draw: Finding | Callable[[Axes | None], Picture] = field(repr=False, compare=False)
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Experiment"

    @property
    def statement(self) -> str:
        return self.said

    def _rows(self) -> Rows:
        return [{"what": what, "value": value} for what, value in self.rows]

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture | None:
        if not isinstance(self.draw, Finding):
            return self.draw(ax)
        return self.draw._draw(ax, **options)


def play(lab: Callable[..., Experiment], **sliders: Any) -> Any:
    """Put sliders on a lab.

    Parameters
    ----------
    lab : callable
        One of this module.
    **sliders
        Per argument a (lowest, highest, step) of numbers, or a list to choose from; others keep their
        defaults.

    Returns
    -------
    ipywidgets.Widget
        Sliders with the experiment beside them; it is drawn anew when a slider is let go. A run that is pinned stays below the
        next ones, to compare with.

    Raises
    ------
    TypeError
        An argument that the lab does not have.

    See Also
    --------
    check : Answers to a lab's exercises.

    Examples
    --------
    >>> from linestudy.simulate.labs import sample_size_before_the_run
    >>> box = play(sample_size_before_the_run, true_index=(1.7, 3.0, 0.1))
    >>> [child.description for child in box.children[0].children]
    ['true index', 'pin this run']
    """
    import inspect

    require("notebooks", "ipywidgets", purpose="sliders")
    import ipywidgets as widgets

    from linestudy.figures.panel import name_sliders, panel

    defaults = {name: p.default for name, p in inspect.signature(lab).parameters.items()}
    unknown = set(sliders) - set(defaults)
    if unknown:
        raise TypeError(f"{lab.__name__} has no {', '.join(sorted(unknown))}")
    controls = {}
    for name, choice in sliders.items():
        common: dict[str, Any] = {"description": name.replace("_", " "), "value": defaults[name]}
        if isinstance(choice, list):
            controls[name] = widgets.Dropdown(options=choice, **common)
            continue
        kind = widgets.IntSlider if isinstance(defaults[name], int) else widgets.FloatSlider
        low, high, step = choice
        controls[name] = kind(min=low, max=high, step=step, continuous_update=False, **common)
        controls[name].style.description_width = "8em"
        controls[name].layout.width = "98%"
    pin = widgets.ToggleButton(
        description="pin this run", tooltip="keeps this run below the next ones, to compare with"
    )
    pinned = [""]

    def view() -> str:
        now = _shown(lab, {name: control.value for name, control in controls.items()})
        if not pin.value:
            pinned[0] = ""
        elif not pinned[0]:
            where = ", ".join(
                f"{c.description} = {c.value:g}"
                if isinstance(c.value, int | float)
                else f"{c.description} = {c.value}"
                for c in controls.values()
            )
            pinned[0] = f"<hr><p><b>Pinned: {html.escape(where)}</b></p>{now}"
            return now
        return now + pinned[0]

    name_sliders()
    return panel([*controls.values(), pin], view)


def _shown(lab: Callable[..., Experiment], settings: dict[str, Any]) -> str:
    """Render a lab at some settings; where nothing can be judged, say so, because sliders hide errors."""
    try:
        return _picture_first(lab(**settings))
    except CannotJudge as reason:
        return f"<p><b>Nothing can be said here.</b> {html.escape(str(reason))}</p>"


def _picture_first(found: Experiment) -> str:
    """Render an experiment with its picture on top, visible beside the sliders on a small screen."""
    figure = found.figure()
    drawn = "" if figure is None else figure._repr_html_()
    paragraphs = [
        f"<p>{html.escape(typeset(text))}</p>" for text in (found.statement, *found.cautions)
    ]
    return f"{drawn}{''.join(paragraphs)}{table_html(found.shown())}"
