"""Two lists to choose a characteristic and a stream from, and a line that says how far the drawing is."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from linestudy.dossier.last_choice import ALL, keep_chosen
from linestudy.results.extras import require

if TYPE_CHECKING:
    from linestudy.dossier.choice import Choice


class Lists:
    """The two lists, and a line that says how far the drawing is."""

    def __init__(self, choice: Choice) -> None:
        require("notebooks", "ipywidgets", purpose="choosing a characteristic")
        import ipywidgets as widgets

        self.choice, self._quiet = choice, False
        wide = {"style": {"description_width": "8em"}, "layout": widgets.Layout(width="34em")}
        names = [(item.name, item.id) for item in choice.study.characteristics]
        self.about = widgets.Dropdown(
            options=with_ids_where_alike(names), description="characteristic", **wide
        )
        self.stream = widgets.Dropdown(description="stream", **wide)
        self.progress = widgets.HTML()
        self.note = widgets.HTML(f"<b>{html.escape(choice.note)}</b>" if choice.note else "")
        self.follow()
        for control in (self.about, self.stream):
            control.observe(self._chosen, names="value")
        self.panel = _still_box(
            widgets, [self.about, self.stream, self.progress, self.note], self._words
        )

    def _words(self) -> str:
        words = f"characteristic: {self.about.label}; stream: {self.stream.label}"
        return f"{words}. {self.choice.note}".removesuffix(". ")

    def follow(self) -> None:
        """Set the lists to what is chosen."""
        self._quiet = True
        try:
            self.about.value = self.choice.characteristic
            self.stream.options = [("all together", ALL), *((s, s) for s in self.choice.streams())]
            self.stream.value = self.choice.stream
            self.stream.disabled = len(self.stream.options) == 1
        finally:
            self._quiet = False

    def _chosen(self, change: Any) -> None:
        if self._quiet:
            return
        other = self.about.value != self.choice.characteristic
        self.choice.characteristic = self.about.value
        known = (ALL, *self.choice.streams())
        # The same stream of another characteristic, where it has one of that name.
        wanted = self.stream.value if not other or self.stream.value in known else ALL
        self.choice.stream = wanted if wanted in known else ALL
        self.follow()
        keep_chosen(self.choice.study, self.choice.characteristic, self.choice.stream)
        views = list(self.choice._shown.values())
        for number, (handle, view) in enumerate(views, start=1):
            self.progress.value = f"drawing {number} of {len(views)} …"
            handle.update(view.now())
        self.progress.value = ""


def _still_box(widgets: Any, controls: list[Any], words: Callable[[], str]) -> Any:
    class Still(widgets.VBox):  # type: ignore[misc, unused-ignore]
        """Lists that leave their words where no kernel runs."""

        def _repr_mimebundle_(self, **options: Any) -> dict[str, Any]:
            bundle = dict(super()._repr_mimebundle_(**options))
            bundle["text/html"] = f"<p>{html.escape(words())}</p>"
            return bundle

    return Still(controls)


def with_ids_where_alike(names: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """List names to choose from; names that are alike get their ids in brackets.

    Parameters
    ----------
    names : list of (str, str)
        Name and id of each.

    Returns
    -------
    list of (str, str)
    """
    plain = [name for name, _ in names]
    return [
        (name if plain.count(name) == 1 else f"{name} ({ident})", ident) for name, ident in names
    ]
