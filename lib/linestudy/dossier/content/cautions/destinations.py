"""Where each caution of a study goes: to the reader who must act, to the notes on methods, or to the author.

A caution is written by the method that found it and stays with its finding, in notebooks and results.json. The
document sorts it by lists: a condition of use asks somebody to act and is with its characteristic; what is
true of a method in general is said once, in its notes; what the author of the study should still do goes to the
author and not to the customer; what a rule of the decision says already is not said again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from linestudy.dossier.content.cautions.kinds import CautionKind, Destination
from linestudy.dossier.content.cautions.of_destructive import OF_DESTRUCTIVE_TESTS
from linestudy.dossier.content.cautions.of_gauges import OF_GAUGES
from linestudy.dossier.content.cautions.of_processes import OF_PROCESSES
from linestudy.results import Unjudged
from linestudy.results.tables import listed

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation

#: Every kind of caution that the kit knows, in the order of the document.
CAUTIONS: tuple[CautionKind, ...] = (
    *OF_GAUGES,
    *OF_DESTRUCTIVE_TESTS,
    *OF_PROCESSES,
)

#: What conditions of use ask for; those of one characteristic that ask for the same are one sentence.
ACTIONS = {
    "more": "Take more before the result is relied on.",
    "longer": "Extend the run before mean, index and tool life are relied on.",
    "people": "Repeat the study with all who measure, on the same parts or batches.",
    "cause": "Find the cause and remove it, and repeat a study that was made with it.",
    "finer": "Find out what rounds or holds the readings, and record them as finely as the gauge shows them.",
    "samples": "Set boundary samples, hold them against the reference, and repeat the study.",
    "limits": "Measure masters and parts near the limits, and decide and correct by what is found there.",
    "part": "Find out what happened to that part before the index is relied on.",
    "separate": "Change one without the other before either is taken for the cause.",
    "chart": "Plan the chart anew, so that a change is seen.",
    "drift": "Find out which of gauge and tool moved, and correct the readings, before tool life is planned.",
    "name": "Record each reset and the coil of every part before tool life is planned.",
    "tool": "Find out what was done to the tool, and correct it.",
    "steady": "Repeat it with nothing moving, or take the index as that of the process.",
    "share": "Hold the requirement against the counted share.",
}


def destination(caution: str) -> tuple[Destination | None, str]:
    """Decide where a caution is shown, and in which words.

    Parameters
    ----------
    caution : str

    Returns
    -------
    goes : str or None
        None for a caution that the list does not know.
    words : str

    Examples
    --------
    >>> destination("12 readings are few; 25 to 50 are usual for this study.")[1]
    '12 readings of the master for Cg and Cgk (25 to 50 are usual). Take more before the result is relied on.'
    """
    kind, words = _sorted(caution)
    if kind is None:
        # What nobody has sorted is a note; what names a key of study.toml never reaches the customer.
        return ("author" if _SYNTAX.search(caution) else None), caution
    return kind.goes, _condition([words], kind.asks) if kind.asks else _capital(words)


def _sorted(caution: str) -> tuple[CautionKind | None, str]:
    """Find the kind of a caution, and fill its words with what the caution names."""
    for kind in CAUTIONS:
        found = re.fullmatch(kind.pattern, caution, re.S)
        if found is not None:
            words = kind.words or caution
            for number, text in enumerate(found.groups(), start=1):
                words = words.replace(f"{{{number}}}", text or "")
            return kind, words
    return None, caution


def _condition(found: Iterable[str], asks: str) -> str:
    """Write what was found, then the one thing that all of it asks for."""
    return f"{_capital('; '.join(found))}. {ACTIONS[asks]}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


#: Words that only the author of a study can do something with.
_SYNTAX = re.compile(r"\[\[|study\.toml")


def conditions(evaluation: Evaluation, characteristic: str | None) -> tuple[str, ...]:
    """List the conditions of use of one characteristic, or of the whole study; each asks for an action of its own.

    Parameters
    ----------
    evaluation : Evaluation
    characteristic : str or None

    Returns
    -------
    tuple of str
    """
    from linestudy.stability import ToolWearStudy

    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    found: dict[tuple[str, str], dict[CautionKind, list[str]]] = {}
    for path, finding in evaluation.findings.of(characteristic).items():
        if isinstance(finding, Unjudged) or path[0] == "verdict":
            continue
        if isinstance(finding, ToolWearStudy) and 0 in finding.slope_per_thousand:
            # How well a slope is known matters to nobody where no wear is claimed.
            continue
        who = f"{gauges[path[1]]}: " if len(path) > 2 and path[1] in gauges else ""
        for caution in finding.cautions:
            kind, _ = _sorted(caution)
            if kind is not None and kind.asks:
                found.setdefault((who, kind.asks), {}).setdefault(kind, []).append(caution)
    return tuple(
        f"{who}{_condition((text for kind, said in kinds.items() for text in _together(kind, said)), asks)}"
        for (who, asks), kinds in found.items()
    )


def _together(kind: CautionKind, cautions: Iterable[str]) -> tuple[str, ...]:
    """Write cautions of one kind, of several streams say: once with all their values where only one value differs."""
    matches = [re.fullmatch(kind.pattern, caution, re.S) for caution in cautions]
    groups = list(dict.fromkeys(found.groups() for found in matches if found is not None))
    if len(groups) > 1 and len(groups[0]) == 1:
        return (kind.words.replace("{1}", listed([only or "" for (only,) in groups])),)
    return tuple(dict.fromkeys(_sorted(caution)[1] for caution in cautions))


def _all(evaluation: Evaluation) -> Iterator[tuple[str | None, tuple[str, ...], str]]:
    for place, finding in evaluation.findings.items():
        if not isinstance(finding, Unjudged) and place.path[0] != "verdict":
            for caution in finding.cautions:
                yield place.characteristic, place.path, caution


def notes_on_methods(evaluation: Evaluation) -> tuple[str, ...]:
    """List what is true of the methods in general, each once, with cautions nobody has sorted.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    tuple of str
    """
    sorted_out = (destination(caution) for _, _, caution in _all(evaluation))
    return tuple(dict.fromkeys(words for goes, words in sorted_out if goes in ("method", None)))


def for_the_author(evaluation: Evaluation) -> tuple[str, ...]:
    """List what the author of the study should still do, each once with the gauges concerned.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    tuple of str
    """
    gauges = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    names = {item.id: item.name for item in evaluation.study.characteristics}
    said: dict[str, dict[str, dict[str, None]]] = {}
    of_gauge: dict[str, set[str]] = {}
    for characteristic, path, caution in _all(evaluation):
        if destination(caution)[0] == "author":
            who = gauges.get(path[1], "") if len(path) > 2 else ""
            about = names.get(characteristic or "", "")
            said.setdefault(caution, {}).setdefault(who, {})[about] = None
            of_gauge.setdefault(who, set()).add(about)

    def of_whom(who: str, about: dict[str, None]) -> str:
        # Where notes on a gauge differ, name the characteristics of each.
        own = [name for name in about if name]
        return f"{who} ({', '.join(own)})" if own and set(about) != of_gauge[who] else who

    lines = []
    for caution, by_gauge in said.items():
        who = ", ".join(of_whom(name, about) for name, about in by_gauge.items() if name)
        lines.append(f"{who}: {caution}" if who else caution)
    return tuple(lines)
