"""Controls of a notebook with what they show beside them, and a still view where no kernel runs."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import Any

from linestudy.results.extras import require
from linestudy.results.rounding import as_given


def panel(
    controls: list[Any], view: Callable[[], str], *, observed: str = "value", above: bool = False
) -> Any:
    """Put controls beside what they show, and show it again when one of them is released.

    Parameters
    ----------
    controls : list of ipywidgets.Widget
        From top to bottom.
    view : callable
        Takes nothing, returns HTML.
    observed : str
        Which trait of a control changes the view.
    above : bool
        Whether the controls stand above the view, which then has the whole width.

    Returns
    -------
    ipywidgets.Box
        Its children are the column of controls and the view. Exported to a page without a kernel it leaves the
        view as it was.
    """
    require("notebooks", "ipywidgets", purpose="sliders")
    import ipywidgets as widgets

    class Panel(widgets.Box):  # type: ignore[misc, unused-ignore]
        """A row that wraps on a narrow page, so that what is shown never leaves the screen."""

        def _repr_mimebundle_(self, **options: Any) -> dict[str, Any]:
            bundle = dict(super()._repr_mimebundle_(**options))
            settings = ", ".join(
                f"{html.escape(control.description)} = {html.escape(_set_to(control))}"
                for control in controls
                if not isinstance(control, widgets.ToggleButton)
            )
            bundle["text/html"] = f"<p>{settings}</p>{place.value}"
            return bundle

    place = widgets.HTML(layout=widgets.Layout(flex="1 1 32em", min_width="0"))

    def show_now(_: Any = None) -> None:
        place.value = view()

    for control in controls:
        control.observe(show_now, names=observed)
    show_now()
    column = widgets.VBox(controls, layout=widgets.Layout(flex="1 1 100%" if above else "0 1 24em"))
    row = widgets.Layout(display="flex", flex_flow="row wrap", align_items="flex-start")
    return Panel([column, place], layout=row)


def _set_to(control: Any) -> str:
    """Write what a control is set to: a number as it is counted, a stretch by its ends."""
    value = control.value
    label = getattr(control, "label", None)
    if label:
        return str(label)
    ends = value if isinstance(value, tuple) else (value,)
    return " to ".join(
        as_given(each) if isinstance(each, int | float) else str(each) for each in ends
    )


#: Handles and readouts of sliders bear no name of their own; the label beside them is meant.
_NAMES = """
(() => {
  const name = () => document.querySelectorAll('.widget-slider').forEach(slider => {
    const label = slider.querySelector('.widget-label')?.textContent ?? '';
    const handles = slider.querySelectorAll('.noUi-handle');
    handles.forEach((handle, i) =>
      handle.setAttribute('aria-label', handles.length > 1 ? `${label}, ${['from', 'to'][i]}` : label));
    slider.querySelectorAll('.widget-readout').forEach(readout => {
      readout.setAttribute('role', 'textbox');
      readout.setAttribute('aria-label', `${label}, to be typed`);
    });
  });
  name();
  if (!window.linestudyNames) {
    window.linestudyNames = new MutationObserver(() => requestAnimationFrame(name));
    window.linestudyNames.observe(document.body, {childList: true, subtree: true});
  }
})();
"""


def name_sliders() -> None:
    """Give the sliders of the page, and those to come, the names that a screen reader says.

    Notes
    -----
    Does nothing where no notebook runs.
    """
    try:
        from IPython import get_ipython
    except ImportError:
        return
    shell = get_ipython()
    if shell is None or not hasattr(shell, "kernel"):
        return
    from IPython.display import Javascript, display

    display(Javascript(_NAMES))  # type: ignore[no-untyped-call]
