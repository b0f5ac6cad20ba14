"""The state of a study, and a way to every finding: what the submission notebooks begin and end with."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linestudy.dossier.choice_lists import with_ids_where_alike
from linestudy.dossier.doubts import causes_without_points
from linestudy.results import Findings, Unjudged, counted
from linestudy.results.finding import table_html
from linestudy.results.tables import listed, typeset
from linestudy.running.command_lines import command_line
from linestudy.shape.finding import in_the_trade

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.model import Characteristic
    from linestudy.verdict import CharacteristicVerdict

#: Which sheet collects what is missing, by the words of the sentence that says so.
_SHEETS = (("crossed study", "crossed"), ("masters read", "reference"), ("judgements", "attribute"))


@dataclass(frozen=True)
class Overview:
    """What of a study is decided, what is open and what is missing.

    Attributes
    ----------
    decided : pandas.DataFrame
        One line for each characteristic.
    open : tuple of (str, str)
        Characteristic and what somebody still has to judge or do, with the place to do it.
    missing : tuple of (str, str)
        What no file says, and how it is collected.
    """

    decided: pd.DataFrame
    open: tuple[tuple[str, str], ...]
    missing: tuple[tuple[str, str], ...]

    def __repr__(self) -> str:
        lines = [self.decided.to_string(index=False)]
        lines += ["", "Open", *(f"  {name}: {what}" for name, what in self.open or _NOTHING)]
        lines += ["", "Missing", *(f"  {what}: {how}" for what, how in self.missing or _NOTHING)]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        return (
            f"<h4>Decided</h4>{table_html(self.decided)}"
            f"<h4>Open: to be judged or done by a person</h4>{_listed(self.open)}"
            f"<h4>Missing, and how to collect it</h4>{_listed(self.missing)}"
        )


_NOTHING = (("–", "nothing"),)


def _listed(pairs: tuple[tuple[str, str], ...]) -> str:
    if not pairs:
        return "<p>Nothing.</p>"
    lines = (f"<li><b>{html.escape(a)}</b>: {html.escape(typeset(b))}</li>" for a, b in pairs)
    return f"<ul>{''.join(lines)}</ul>"


def overview(evaluation: Evaluation) -> Overview:
    """Say what of a study is decided, what is open, and what is missing and how to collect it.

    Parameters
    ----------
    evaluation : Evaluation
        Everything that was found.

    Returns
    -------
    Overview
        Shows itself in a notebook.

    See Also
    --------
    browse : Look at any single finding.

    Examples
    --------
    See ``notebooks/start_here.ipynb``.
    """
    from linestudy.verdict import decision_table

    study = evaluation.study
    unsaid: list[tuple[str, str]] = []
    for item in study.characteristics:
        unsaid += _open(evaluation, item)
    unsaid += causes_without_points(evaluation)
    return Overview(
        decision_table(study, evaluation.findings), tuple(unsaid), tuple(_missing(evaluation))
    )


def _open(evaluation: Evaluation, item: Characteristic) -> list[tuple[str, str]]:
    from linestudy.verdict.rulings import MEETS

    verdict: Any = evaluation.findings.get(item.id, "verdict")
    if verdict is None or isinstance(verdict, Unjudged):
        return []
    found = []
    if verdict.decision != MEETS:
        found += [
            (item.name, ruling.reason)
            for ruling in verdict.rulings
            if ruling.effect not in ("supports", "no evidence")
        ]
    found += _judgements(evaluation, item, verdict)
    return found


def _judgements(
    evaluation: Evaluation, item: Characteristic, verdict: CharacteristicVerdict
) -> list[tuple[str, str]]:
    """List what only a person can say: causes of points, reasons for a distribution other than the normal."""
    process = verdict.facts.process
    found = []
    if _too_many(process.unexplained, process.expected_points):
        points = counted(process.unexplained, "point")
        found.append(
            (
                item.name,
                f"record the cause of each of {points} out of control, and what was done, with linestudy.intake.record_cause (notebook 4).",
            )
        )
    shape: Any = evaluation.findings.get(item.id, "shape")
    family = getattr(getattr(shape, "chosen", None), "family", None)
    if family not in (None, "normal") and item.family == "auto":
        found.append(
            (
                item.name,
                f"the distribution of all values together was chosen from the readings ({in_the_trade(family)}). If you know why it must "
                "be so, say it with linestudy.intake.accept_family (notebook 5).",
            )
        )
    return found


def _too_many(points: int, expected: float) -> bool:
    """Check whether so many points would be false alarms in fewer than one run of twenty."""
    from scipy.stats import poisson

    return points > 0 and float(poisson.sf(points - 1, expected)) < 0.05


def points_out(evaluation: Evaluation, characteristic: str) -> pd.DataFrame | Unjudged:
    """Show every point out of control with what is known of it, or say why there is no such table.

    Parameters
    ----------
    evaluation : Evaluation
        Everything that was found.
    characteristic : str
        Its id.

    Returns
    -------
    pandas.DataFrame or Unjudged
        The column *cause* says which points nobody has explained yet; where there are none, one line says of which chart.

    Raises
    ------
    KeyError
        The study has no such characteristic.

    See Also
    --------
    linestudy.intake.record_cause : Where a cause is written down.

    Examples
    --------
    See ``notebooks/submission/4_stability.ipynb``.
    """
    item = evaluation.study.characteristic(characteristic)
    verdict: Any = evaluation.findings.get(item.id, "verdict")
    process = getattr(getattr(verdict, "facts", None), "process", None)
    # Judgements, and readings in no order in time, have no chart and no false alarms to expect.
    if process is None or not (process.points or process.expected_points > 0):
        return Unjudged("Points out of control", f"No chart of {item.name} was judged.")
    if not process.points:
        import pandas as pd

        anew = any(event.concerns(item.id) for event in evaluation.study.events)
        which = "; it has a level of its own after each named event" if anew else ""
        return pd.DataFrame(
            {"points out of control": [f"none on the chart that is decided on{which}"]}
        )
    table: pd.DataFrame = verdict.points_table()
    return table


def _missing(evaluation: Evaluation) -> list[tuple[str, str]]:
    from linestudy.capability.gauge.risk import NO_REPEATABILITY
    from linestudy.intake import missing_for_submission

    study = evaluation.study
    sentence = missing_for_submission(study)
    found: dict[str, str] = {}
    if sentence:
        for what in sentence.split(": ", 1)[1].rstrip(".").split("; "):
            found[what] = _how(study, what)
    for item in study.characteristics:
        for path, finding in evaluation.findings.of(item.id).items():
            if isinstance(finding, Unjudged) and path[0] in ("gauges", "stability", "capability"):
                if finding.reason == NO_REPEATABILITY and not _asked_for(item.name, found):
                    # A file with one reading a row may lack a characteristic, which only its rows show.
                    what = f"a crossed study for {item.name}"
                    found[what] = _how(study, what)
                found[f"{item.name}, {finding.method.lower()}"] = finding.reason
    return list(found.items())


def _asked_for(name: str, missing: Mapping[str, str]) -> bool:
    """Check whether a crossed study of a characteristic is among what is missing."""
    return any("crossed study" in what and name in what for what in missing)


def _how(study: Any, what: str) -> str:
    """Say which command writes the sheet to fill in; of several characteristics for the first, and name the others."""
    role = next((role for words, role in _SHEETS if words in what), None)
    named = re.split(r", | and ", what.rpartition(" of " if role == "attribute" else " for ")[2])
    items = [one for one in study.characteristics if one.name in named]
    items = items or [one for one in study.characteristics if what.endswith(one.name)]
    if role is None or not items:
        if what.startswith("readings of the process"):
            return "measure parts in production order, at least 25 subgroups, and name the file in study.toml (role run)"
        return "name it in study.toml (linestudy help format says how)"
    first, *others = (one.id for one in items)
    gauge = next((one.id for one in study.gauges if one.name in what), None)
    by = ("--gauge", gauge) if gauge else ()
    masters = ("--masters", "LOW", "MIDDLE", "HIGH") if role == "reference" else ()
    folder, sheet = study.folder.name, f"{role}_{first}.xlsx"
    fill_in = command_line("sheet", folder, role, first, sheet, *by, *masters)
    likewise = f"; likewise for {listed(others)}" if others else ""
    return f"{fill_in}; fill it in, then {command_line('new', folder, '--from', sheet)}{likewise}"


def browse(findings: Findings | Evaluation) -> Any:
    """Show any finding of a study: choose the characteristic, the stream, and what was studied.

    Parameters
    ----------
    findings : Findings or Evaluation
        Of a whole evaluation, whose characteristics are then called by their names, or what one package found.

    Returns
    -------
    ipywidgets.Box
        Three lists to choose from, and the finding with its table, cautions and picture beside them.

    See Also
    --------
    linestudy.show_findings : The same for a place that is known.
    overview : State of the study.

    Notes
    -----
    ``findings.overview()`` lists the same findings as a table.

    Examples
    --------
    See ``notebooks/submission/4_stability.ipynb``.
    """
    from linestudy.figures.panel import panel
    from linestudy.results.extras import require

    require("notebooks", "ipywidgets", purpose="choosing a finding")
    import ipywidgets as widgets

    called: dict[str, str] = {}
    gauges: dict[str, str] = {}
    if not isinstance(findings, Findings):
        called = {item.id: item.name for item in findings.study.characteristics}
        gauges = {gauge.id: gauge.name for gauge in findings.study.gauges}
        findings = findings.findings
    names = [(called.get(name, name), name) for name in findings.characteristics()]
    # Names of findings are long: the list takes what its label leaves of the column.
    wide: dict[str, Any] = {"style": {"description_width": "4em"}, "layout": {"width": "auto"}}
    about = widgets.Dropdown(
        options=[*with_ids_where_alike(names), ("the whole study", "")], description="about", **wide
    )
    stream = widgets.Dropdown(description="stream", **wide)
    study = widgets.Dropdown(description="finding", **wide)

    def streams(_: Any = None) -> None:
        found = findings.of(about.value or None, "streams")
        stream.options = ["all", *dict.fromkeys(path[1] for path in found)]
        # A list whose entries change has nothing chosen until it is set.
        stream.index = 0
        stream.disabled = len(stream.options) == 1
        studies()

    def studies(_: Any = None) -> None:
        before = study.label
        chosen = findings_below(findings, about.value or None, stream.value or "all", gauges)
        study.options = chosen
        labels = [label for label, _ in chosen]
        study.index = None if not chosen else labels.index(before) if before in labels else 0

    def view() -> str:
        if study.value is None:
            return "<p>Nothing was found here.</p>"
        found = findings.get(about.value or None, *study.value)
        assert found is not None
        return found.html()

    streams()
    about.observe(streams, names="value")
    stream.observe(studies, names="value")
    return panel([about, stream, study], view)


def findings_below(
    findings: Findings,
    characteristic: str | None,
    stream: str,
    gauges: Mapping[str, str] | None = None,
) -> list[tuple[str, tuple[str, ...]]]:
    """List what was found of one characteristic, of one stream or of all parts together.

    Parameters
    ----------
    findings : Findings
    characteristic : str or None
        None for the study as a whole.
    stream : str
        Its name; ``"all"`` for all parts together.
    gauges : mapping of str to str, optional
        What gauges are called, by id.

    Returns
    -------
    list of (str, tuple of str)
        Name and place of each, in the order found.
    """
    found = findings.of(characteristic)
    named = {}
    for path, finding in found.items():
        of_stream = path[0] == "streams"
        if of_stream != (stream != "all") or (of_stream and path[1] != stream):
            continue
        rest = path[2:] if of_stream else path
        words = ", ".join(_in_words(part, gauges or {}) for part in rest) or finding.title
        # Two gauges of one name are distinguished by their ids.
        named[words if words not in named else ", ".join(rest)] = path
    return list(named.items())


def _in_words(part: str, gauges: Mapping[str, str]) -> str:
    """Write one step of a finding's place in words: a gauge, or a pair of gauges, by name."""
    if all(one in gauges for one in part.split("~")):
        return " and ".join(gauges[one] for one in part.split("~"))
    return part.replace("_", " ")
