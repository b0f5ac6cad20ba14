"""What a picture shows, read off its axes: its question, its labelled lines, its dots."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from linestudy.results import Interval


def drawn(draw: Callable[..., Any], *args: Any, **named: Any) -> Any:
    """The caller's own axes after a picture was drawn into them; its title is one question."""
    figure = Figure()
    other, axes = figure.subplots(1, 2)
    assert draw(*args, ax=axes, **named) is figure
    assert not other.has_data()
    title = axes.get_title(loc="left")
    assert title.endswith("?")
    assert title.count("?") == 1
    return axes


def limit_lines(axes: Any) -> dict[str, float]:
    """Where labelled lines stand: by the label."""
    found = {}
    for text in axes.texts:
        coords = getattr(text, "xycoords", None)
        if coords == ("data", "axes fraction"):
            found[text.get_text().strip()] = float(text.xy[0])
        elif coords == ("axes fraction", "data"):
            found[text.get_text().strip()] = float(text.xy[1])
    ends = [(line.get_xdata(), line.get_ydata()) for line in axes.lines]
    places = [x[0] for x, y in ends if list(y) == [0, 1]] + [
        y[0] for x, y in ends if list(x) == [0, 1]
    ]
    # Beside each label stands its line.
    assert {round(v, 9) for v in found.values()} <= {round(float(v), 9) for v in places}
    return found


def dots(axes: Any) -> np.ndarray:
    """Every dot that is drawn, shape (n, 2)."""
    marked = [line for line in axes.lines if line.get_marker() not in ("None", None, "")]
    return np.concatenate([line.get_xydata() for line in marked] or [np.empty((0, 2))])


def legend(axes: Any) -> list[str]:
    """What the legend says."""
    shown = axes.get_legend()
    return [] if shown is None else [text.get_text() for text in shown.get_texts()]


def bars(axes: Any) -> dict[str, list[float]]:
    """Ends of the bar of each row, by its label; rows of two bars have them one behind the other."""
    labels = dict(
        zip(axes.get_yticks(), (t.get_text() for t in axes.get_yticklabels()), strict=True)
    )
    found: dict[str, list[float]] = {}
    for line in axes.lines:
        x, y = line.get_data()
        if len(x) == 2 and y[0] == y[1] and list(x) != [0, 1]:
            found.setdefault(labels[round(float(y[0]))], []).extend(map(float, x))
    return found


def interval(estimate: float, half: float) -> Interval:
    """An interval as wide on both sides."""
    return Interval(estimate, estimate - half, estimate + half, 0.95, "test")
