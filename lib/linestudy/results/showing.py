"""Several findings, one below the other, as a notebook cell ends with them."""

from __future__ import annotations

import html
from dataclasses import dataclass

from linestudy.results.finding import Finding
from linestudy.results.findings import Findings


@dataclass(frozen=True)
class Shown:
    """Findings to be looked at together.

    Attributes
    ----------
    findings : tuple of Finding
    labels : tuple of str
        What each is about, from its place: for example ``"camera, crossed"``.
    pictures : bool
        Whether each finding's picture is drawn below it.
    nothing : str
        What is said where there are none.
    """

    findings: tuple[Finding, ...]
    labels: tuple[str, ...]
    pictures: bool
    nothing: str

    def __repr__(self) -> str:
        return "\n".join(item.statement for item in self.findings) or self.nothing

    def _repr_html_(self) -> str:
        if not self.findings:
            return f"<p>{html.escape(self.nothing)}</p>"
        pairs = zip(self.findings, self.labels, strict=True)
        return "".join(self._one(item, label) for item, label in pairs)

    def _one(self, item: Finding, label: str) -> str:
        place = f"<p><b>{html.escape(label)}</b></p>" if label else ""
        return place + item.html(pictures=self.pictures)


def show_findings(
    findings: Findings,
    characteristic: str | None,
    *place: str,
    pictures: bool = True,
    below: bool = True,
    method: str | tuple[str, ...] | None = None,
) -> Shown:
    """Show what was found about a characteristic, table, statement, cautions and picture.

    Parameters
    ----------
    findings : Findings
        From a room's ``evaluate``, or from a whole evaluation.
    characteristic : str or None
        Characteristic id; None for findings about the study as a whole.
    *place : str
        Beginning of the place in results.json, for example ``"gauges", "camera"``.
    pictures : bool
        Whether to draw the pictures.
    below : bool
        Whether to show what lies below that place too.
    method : str or tuple of str, optional
        Only findings whose place ends so, for example ``"crossed"`` of every gauge.

    Returns
    -------
    Shown
        Shows itself in a notebook; where nothing was found it says so.

    Examples
    --------
    >>> show_findings(Findings(), "throat", "gauges")
    Nothing was recorded here, so nothing can be said about it.
    """
    found = findings.of(characteristic, *place).items()
    ends = (method,) if isinstance(method, str) else method
    chosen = {
        path: finding
        for path, finding in found
        if (below or path == place) and (ends is None or path[-1] in ends)
    }
    labels = tuple(", ".join(part.replace("_", " ") for part in path[1:]) for path in chosen)
    return Shown(
        tuple(chosen.values()),
        labels,
        pictures,
        "Nothing was recorded here, so nothing can be said about it.",
    )
