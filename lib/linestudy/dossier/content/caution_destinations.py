"""Where each caution of a study goes: to the reader who must act, to the notes on methods, or to the author.

A caution is written by the method that found it and stays with its finding, in notebooks and results.json. The
document sorts it by this list: a condition of use asks somebody to act and is with its characteristic; what is
true of a method in general is said once, in its notes; what the author of the study should still do goes to the
author and not to the customer; what a rule of the decision says already is not said again.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from linestudy.dossier.gauge_cautions import OF_GAUGES, Destination, Sorted
from linestudy.results import Unjudged

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation

#: Every kind of caution that the kit knows, in the order of the document.
CAUTIONS: tuple[Sorted, ...] = (
    *OF_GAUGES,
    # The process in time
    Sorted(
        "condition",
        r"The run is too short against its own slow movements: it shows an effective sample size of (\d+), .*",
        "The effective sample size of the run's slow movements is {1}: extend the run before its mean is relied on.",
    ),
    Sorted(
        "method",
        r"Over the run as it went, with a level of its own between all named events, .*",
        "The slope of wear over the run takes a level of its own between all named events; that of the tool life counts "
        "resets alone, and is the one to plan resets by.",
    ),
    Sorted("author", r"\d+ parts from order .* have one and the same value; .*"),
    Sorted("rule", r"Order numbers repeat or go back; .*"),
    Sorted("rule", r"\d+ subgroups are few to see movement by; .*"),
    Sorted(
        "method",
        r"Each subgroup is of one stream, and each stream's distance .*",
        "On a chart of several streams each stream's distance from the mean of all is taken off.",
    ),
    Sorted(
        "condition",
        r"Only (\d+) degrees? of freedom (?:is|are) left for the slope: .*",
        "Only {1} degrees of freedom are left for the slope of wear: take a longer run before tool life is planned by it.",
    ),
    # Distribution and index
    Sorted(
        "method",
        r"The tested values themselves still correlate .*",
        "Tests of normality reject too often where the tested values still correlate.",
    ),
    Sorted(
        "condition",
        r"One value, (\S+(?: [^,]+)?), is why normality is rejected; .*",
        "One value, {1}, is why normality is rejected: find what happened to that part.",
    ),
    Sorted(
        "condition",
        r"One value lies very far from the others; .*",
        "One value lies very far from the others: look at that part before the index is relied on.",
    ),
    Sorted(
        "method",
        r"An? .* distribution has four parameters, and \d[\d,]* values know its ends poorly: .*",
        "Of a distribution with four parameters the ends are poorly known: in simulated studies intervals of its outer "
        "quantiles held the truth in 83 to 96 % where 95 % is claimed.",
    ),
    Sorted("author", r"Every value lies outside the limits; .*"),
    Sorted("author", r"How many parts were rejected is not in the folder\. .*"),
    Sorted("rule", r".* of the parts were taken out; so much sorting .*"),
    Sorted("rule", r"\d+ parts are few for two directions; .*"),
    Sorted(
        "method",
        r"Size and deviation go together .*",
        "The expected share of a position with bonus takes size and deviation as independent.",
    ),
    Sorted(
        "method",
        r"Parts are not independent: their effective sample size .*",
        "Intervals use the effective sample size where parts are not independent.",
    ),
    Sorted(
        "condition",
        r"(\S.*) moves almost together with (\S+): .*",
        "{1} and {2} changed together in this run and cannot be told apart: change one without the other.",
    ),
    Sorted(
        "condition",
        r"(\d+) points are few to set limits by; 25 are usual\.",
        "The chart has {1} points: set its limits anew once there are 25.",
    ),
    Sorted(
        "condition",
        r"On average a point expects less than one count.*",
        "Rejects are too rare for a chart of rates: chart the parts or the time between rejects.",
    ),
    Sorted(
        "condition",
        r"More than half of neighbouring values are equal.*",
        "More than half of neighbouring readings are equal: look whether the gauge froze, and record with a finer step.",
    ),
    Sorted("rule", r"The spread within subgroups exceeds that of all values.*"),
    Sorted("rule", r"There are \d+ signals where .*"),
    Sorted(
        "method",
        r"Subgroups are of unequal size; each has limits of its own\.",
        "Subgroups of unequal size have limits of their own; the value beside a line is the usual one.",
    ),
    Sorted(
        "method",
        r"Long stretches differ more than neighbours suggest.*",
        "Low-frequency variation (between coils, over the run) lowers the effective sample size of the mean.",
    ),
    Sorted(
        "method",
        r"(\d+ .* describe this run, not .*|(?:[\d,]+ )?\w+ are taken as a sample of those to come.*|\d+ of \d+ .* hold too few independent stretches.*|\w+ follow each other in time.*|The values come from \d+ lots.*)",
        "Coils, lots and batches are taken as a sample of those to come; what moved the process meanwhile counts as theirs.",
    ),
    Sorted(
        "method", r"Speaks of spread alone.*", "The test of equal spread says nothing of the means."
    ),
    Sorted(
        "method",
        r"The limit lies further ahead.*",
        "Tool life is extrapolated where the limit lies beyond the strokes of this run.",
    ),
    Sorted(
        "method",
        r"The size of a step takes its place as known.*",
        "The interval of a mean shift takes its place as known.",
    ),
    Sorted(
        "method",
        r"Holds for independent points.*",
        "Run lengths hold for independent points; correlated points signal sooner.",
    ),
    # The control plan's line says it.
    Sorted("rule", r"Stations take turns every \d+ parts: .*"),
    Sorted(
        "method",
        r"Subgroups of \S+ do not hold whole turns of \d+ parts: .*",
        "Means of subgroups that do not hold whole turns of the stations move with the mix; charts of each stream do not.",
    ),
    Sorted("condition", r"(The chart says little of .+)\. (Take as many .+)", "{1}: {2}"),
    Sorted(
        "method", r"Holds for a shift that stays.*", "Sampling plans hold for shifts that stay."
    ),
    Sorted(
        "method",
        r"There is no lower limit, so an improvement cannot signal\.",
        "Charts of rare rejects have no lower limit: an improvement cannot signal.",
    ),
    Sorted(
        "condition",
        r"The gauge drifts on its master by as much: .*",
        "The gauge drifts as much as the readings: find out which of the two moves before tool life is planned by it.",
    ),
    Sorted(
        "condition",
        r"The gauge drifts on its master by (.+): readings move with it; less that drift (.+) is left\.",
        "The gauge drifts on its master by {1}: correct the readings for it, or plan tool life by what is left, {2}.",
    ),
    Sorted(
        "condition",
        r"(\w+) resets? (was|were) seen; how far lives differ from one another is not known\.",
        "{1} reset {2} seen: take more tool lives into the run before tool life is planned by it.",
    ),
    Sorted("rule", r"No reset lies inside the run: .*"),
    Sorted(
        "condition",
        r"([\d,]+) resets? of the tool .* named nowhere\.",
        "Resets of the tool that nobody named were found in the readings ({1}): record each before tool life is planned by them.",
    ),
    Sorted(
        "condition",
        r"At stroke ([\d,]+) the level moved on by (.*) the way the tool wears: .*",
        "What was done to the tool at stroke {1} moved it on by {2} the way it wears: find out what, and correct it.",
    ),
    Sorted(
        "condition",
        r"At stroke ([\d,]+) (\d+%) of the wear before it was taken back: .*",
        "The reset at stroke {1} took back {2} of the wear before it: find out why the tool was not restored.",
    ),
    Sorted(
        "condition",
        r"Not every part names its coil, so what coils differ by .*",
        "Record the coil of every part before resets are planned by the wear: its interval holds what coils differ by in part only.",
    ),
    Sorted(
        "method",
        r"(Regrinds are named by stream|The streams wear differently); this is the life of .*",
        "Where streams wear or are ground differently, tool life is that of the worst of them.",
    ),
    Sorted(
        "method",
        r"Wear between the named resets was taken off first\.",
        "Wear between named resets is taken off before coils and streams are compared.",
    ),
    Sorted(
        "method",
        r"The level of each tool life and the common slope of wear are taken off; .*",
        "Trend charts take off the level of each tool life and the common slope of wear.",
    ),
    Sorted(
        "method",
        r"The index is reached far beyond the .*",
        "Tool life is extrapolated where the limit lies beyond the strokes of this run.",
    ),
    Sorted(
        "method",
        r"The intervals of \d+ streams overlap: .*",
        "Where intervals of streams overlap, the lowest estimate is low on average because it is the lowest.",
    ),
    Sorted(
        "method",
        r"[\d,]+ parts carry the information of .*",
        "Intervals use the effective sample size of correlated values.",
    ),
    Sorted(
        "method",
        r"A weak weld of full width is not seen by its width.*",
        "Strength by size assures only what the destroyed parts showed.",
    ),
    # Distribution and index
    Sorted(
        "condition",
        r"The values leave Ppk anywhere in (.*); take more of them\.",
        "The readings leave Ppk anywhere in {1}: take more of them before an index is claimed.",
    ),
    Sorted(
        "method",
        r"By some distributions so few values leave Ppk open .*",
        "A distribution by which the interval of Ppk spans more than tenfold is left out; the next that describes the readings "
        "takes its place.",
    ),
    Sorted(
        "condition",
        r"(\d+) parts were taken; ISO 22514-3 prefers 100\.",
        "{1} parts were taken of the short run: take 100 where they can be had.",
    ),
    Sorted(
        "condition",
        r"The run drifts \((.*)\); what moved belongs to the process.*",
        "The short run drifts ({1}): repeat it with nothing moving, or take the index as that of the process.",
    ),
    Sorted(
        "condition",
        r"The deviations are not bivariate normal.*",
        "The deviations in x and y are not bivariate normal: hold the requirement against the counted share.",
    ),
    Sorted(
        "condition",
        r"Blocks give an effective sample size of .*: they may be too narrow\.",
        "Intervals of the index may be too narrow: movements are as long as the run, so extend it.",
    ),
    Sorted(
        "method",
        r"Rounding is why normality is rejected.*",
        "Where rounding alone makes a test reject, the readings are tested as if spread over their steps.",
    ),
    Sorted(
        "method",
        r"Tests reject the normal distribution.*",
        "The consequence of a rejected distribution is shown beside it: what each candidate expects outside the limits.",
    ),
    Sorted(
        "method",
        r"Tests were made on .*",
        "Tests of a distribution are made on 250 values spread over the run.",
    ),
    Sorted(
        "method",
        r"Neighbouring values correlate .*",
        "Tests of a distribution are made on 250 values spread over the run.",
    ),
    Sorted(
        "method",
        r"(The values do not tell the chosen distribution from: .*|\d+ distributions describe the values about as well.*)",
        "Where several distributions are not rejected, the lowest index decides and intervals hold all of them.",
    ),
    Sorted(
        "method",
        r"Two overlapping components .*",
        "Two components stand for two stations or settings.",
    ),
    Sorted(
        "method",
        r"Readings come in steps of .*: so coarse a resolution alone makes normality tests reject\.",
        "Where rounding alone makes a test reject, the readings are tested as if spread over their steps.",
    ),
    Sorted(
        "method",
        r"(None seen in .*|0 nonconforming in .*)",
        "0 nonconforming seen bounds the rate only as far as the number of parts does; the expected rate rests on the distribution.",
    ),
    Sorted(
        "method",
        r"(The values are not independent.*|.* have an effective sample size of .*)",
        "Intervals use the effective sample size of correlated values.",
    ),
    Sorted(
        "method",
        r"This is an addition to the index of the readings.*",
        "The index corrected for measurement variation is supplementary; the decision rests on the readings.",
    ),
    Sorted(
        "method",
        r"Counts are of the gauge's readings.*",
        "Counts of nonconforming parts are of the gauge's readings.",
    ),
    Sorted(
        "method",
        r"Characteristics are taken as independent.*",
        "Expected rejects take characteristics as independent, which is a little too high where they are not.",
    ),
    Sorted(
        "method",
        r"Readings take few different values, so the intervals hold.*",
        "Distribution-free intervals of rounded readings hold slightly more than stated.",
    ),
    Sorted("rule", r"\d+ values (say little about the outer quantiles|are few).*"),
    Sorted("rule", r"The readings take \d+ different values only.*"),
    Sorted("rule", r"A decision to release parts belongs to those authorised.*"),
)


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
    '12 readings were taken of the master: take 25 to 50 before Cg and Cgk are relied on.'
    """
    for kind in CAUTIONS:
        found = re.fullmatch(kind.pattern, caution, re.S)
        if found is not None:
            words = kind.words or caution
            for number, text in enumerate(found.groups(), start=1):
                words = words.replace(f"{{{number}}}", text or "")
            return kind.goes, words[:1].upper() + words[1:]
    # What nobody has sorted is a note; what names a key of study.toml never reaches the customer.
    return ("author" if _SYNTAX.search(caution) else None), caution


#: Words that only the author of a study can do something with.
_SYNTAX = re.compile(r"\[\[|study\.toml")


def conditions(evaluation: Evaluation, characteristic: str | None) -> tuple[str, ...]:
    """List the conditions of use of one characteristic, or of the whole study; each asks for an action.

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
    found: dict[str, None] = {}
    for path, finding in evaluation.findings.of(characteristic).items():
        if isinstance(finding, Unjudged) or path[0] == "verdict":
            continue
        if isinstance(finding, ToolWearStudy) and 0 in finding.slope_per_thousand:
            # How well a slope is known matters to nobody where no wear is claimed.
            continue
        who = f"{gauges[path[1]]}: " if len(path) > 2 and path[1] in gauges else ""
        for caution in finding.cautions:
            goes, words = destination(caution)
            if goes == "condition":
                found[f"{who}{words}"] = None
    return tuple(found)


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
