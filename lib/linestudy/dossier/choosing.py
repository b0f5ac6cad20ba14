"""One choice for all notebooks: a characteristic and a stream, and everything below it shown for these."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.dossier.choice import Choice
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.last_choice import last_chosen
from linestudy.results import Findings, Unjudged

if TYPE_CHECKING:
    from linestudy.study.load import Study

#: Said where a study has nothing of what a notebook is about, so that nobody reads through sections without a number.
_NEEDS = {
    "gauges": "Nothing in this study says how a gauge reads, so sections on readings are empty here.",
    "stability": (
        "This study has no run of parts in the order they were made, so the sections below are empty here. Go on with the next notebook."
    ),
    "capability": (
        "This study has no readings of parts with limits, so the sections below are empty here. Go on with the next notebook."
    ),
}


def choose(about: Evaluation | Study, *, subject: str | None = None) -> Choice:
    """Choose a characteristic and a stream for everything shown below.

    Parameters
    ----------
    about : Evaluation or Study
        What is chosen from.
    subject : str, optional
        What the notebook is about, as the first key of its findings (``"gauges"``, ``"stability"``): where the choice that
        was kept has nothing of it, or none was kept, it begins with the first characteristic that has.

    Returns
    -------
    Choice
        Two lists in a notebook. ``characteristic`` and ``stream`` say what is chosen, ``show`` shows findings of it.

    See Also
    --------
    browse : Every finding in lists.
    linestudy.show_findings : Findings at a place that is known.

    Notes
    -----
    A choice that is made is kept in the user's cache for the next notebook of the same folder. The environment variable
    LINESTUDY_CHOICE names what to begin with (``"id"`` or ``"id/stream"``; empty: the first) and keeps nothing.

    Examples
    --------
    >>> from linestudy import open_study, start_study
    >>> import tempfile
    >>> choose(open_study(start_study(tempfile.mkdtemp() + "/study"))).characteristic
    'width'
    """
    study, findings = (
        (about.study, about.findings) if isinstance(about, Evaluation) else (about, Findings())
    )
    known = [item.id for item in study.characteristics]
    having = [ident for ident in known if subject is None or _has(findings, ident, subject)]
    note = "" if having or subject is None else _NEEDS.get(subject, "")
    named, stream = last_chosen(study)
    if named in known and (named in having or not having):
        choice = Choice(study, findings, named, note=note)
        if stream in choice.streams():
            choice.stream = stream
        return choice
    return Choice(study, findings, (having or known)[0], note=note)


def _has(findings: Findings, ident: str, subject: str) -> bool:
    return any(not isinstance(f, Unjudged) for f in findings.of(ident, subject).values())
