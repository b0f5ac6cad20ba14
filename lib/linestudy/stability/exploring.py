"""Look into a run's chart in a notebook: a slider chooses the stretch to be seen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linestudy.results import Findings, Unjudged
from linestudy.stability.charts.chart_study import ChartStudy
from linestudy.stability.said_of_run import events_of

if TYPE_CHECKING:
    from linestudy.study.load import Study


def explore(study: Study, findings: Findings, characteristic: str) -> Any:
    """Show the chart of a characteristic under a slider for the part of the run to be seen.

    Parameters
    ----------
    study : Study
        Its events are marked.
    findings : Findings
        From :func:`linestudy.stability.evaluation` or :func:`linestudy.stability.evaluate_log`.
    characteristic : str
        Characteristic id.

    Returns
    -------
    ipywidgets.Box or Unjudged
        The chart and its slider; where there is no chart, the finding that says why.

    Raises
    ------
    KeyError
        The study has no such characteristic; the message names the nearest id.

    See Also
    --------
    evaluate : Everything that is found of stability.

    Examples
    --------
    >>> from linestudy import open_study, start_study
    >>> import tempfile
    >>> study = open_study(start_study(tempfile.mkdtemp() + "/study"))
    >>> explore(study, Findings(), "width").reason
    'There is no run of this characteristic, so there is no chart to look into.'
    """
    item = study.characteristic(characteristic)
    chart = findings.get(item.id, "stability")
    if isinstance(chart, ChartStudy):
        return chart.explore(events_of(study, item))
    return chart or Unjudged(
        "Control chart",
        "There is no run of this characteristic, so there is no chart to look into.",
    )
