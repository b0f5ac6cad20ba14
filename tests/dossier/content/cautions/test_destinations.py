"""Every caution of the sample studies has a destination, and few of them reach the customer."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from own_studies import write_small

from linestudy import evaluate
from linestudy.dossier.content.cautions.destinations import (
    ACTIONS,
    CAUTIONS,
    _together,
    conditions,
    destination,
    for_the_author,
    notes_on_methods,
)
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.elements import Bullets, Text
from linestudy.dossier.evaluation import Evaluation
from linestudy.results import Unjudged


def _cautions(evaluation: Evaluation) -> list[str]:
    return [
        caution
        for _, finding in evaluation.findings.items()
        if not isinstance(finding, Unjudged)
        for caution in finding.cautions
        if type(finding).__name__ != "CharacteristicVerdict"
    ]


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        (
            "The gauge drifts on its master by as much: what moves may be the gauge, not the tool; less that drift "
            "0.015 (−0.054 to 0.084) mm per 100,000 strokes is left.",
            "Find out which of gauge and tool moved",
        ),
        (
            "The gauge drifts on its master by 0.002 mm per 1,000 strokes: readings move with it; less that drift "
            "0.010 (0.008 to 0.012) mm per 1,000 strokes is left.",
            "less that drift 0.010 (0.008 to 0.012) mm per 1,000 strokes is left.",
        ),
    ],
)
def test_a_gauge_that_drifts_with_the_wear_reaches_the_customer(said: str, kept: str) -> None:
    kind, text = destination(said)
    assert kind == "condition"
    assert kept in text


@pytest.mark.proof
def test_none_is_without_a_destination(
    evaluation: Evaluation, starter: Evaluation, tmp_path: Path
) -> None:
    for found in (evaluation, starter, evaluate(write_small(tmp_path / "small"))):
        lost = {text for text in _cautions(found) if destination(text)[0] is None}
        assert not lost


def test_about_fifteen_conditions_reach_the_customer_each_with_something_to_do(
    evaluation: Evaluation,
) -> None:
    asked = [
        line
        for item in (None, *(c.id for c in evaluation.study.characteristics))
        for line in conditions(evaluation, item)
    ]
    assert len({re.sub(r"^[^:]*: ", "", line) for line in asked}) <= 15
    assert all(
        re.search(
            r"\b(take|measure|repeat|chart|set|change|record|find|bring|judge|extend|look|hold|correct)\b",
            line,
            re.I,
        )
        for line in asked
    )
    counts = Counter(destination(text)[0] for text in _cautions(evaluation))
    assert counts["method"] > counts["condition"] > 0


def test_what_the_author_should_do_is_not_told_to_the_customer(evaluation: Evaluation) -> None:
    assert any("Not in the budget" in line for line in for_the_author(evaluation))
    said = [
        text
        for section in build(evaluation).sections
        for block in section.blocks
        for text in (
            block.items
            if isinstance(block, Bullets)
            else (block.text,)
            if isinstance(block, Text)
            else ()
        )
    ]
    assert not any("Not in the budget" in text or "[[" in text for text in said)
    notes = notes_on_methods(evaluation)
    assert len(notes) == len(set(notes))
    assert all(said.count(note) == 1 for note in notes)


@pytest.mark.parametrize("kind", CAUTIONS, ids=lambda kind: kind.pattern[:30])
def test_words_use_only_groups_that_the_pattern_has(kind) -> None:
    groups = re.compile(kind.pattern).groups
    assert all(int(n) <= groups for n in re.findall(r"\{(\d)\}", kind.words))
    assert kind.words or kind.goes in ("author", "rule")


def test_conditions_of_use_ask_for_fifteen_actions_at_most_and_each_for_one() -> None:
    asked = {kind.asks for kind in CAUTIONS if kind.goes == "condition"}
    assert asked == set(ACTIONS)
    assert len(ACTIONS) <= 15
    assert not any(kind.asks for kind in CAUTIONS if kind.goes != "condition")


def test_what_asks_for_the_same_is_one_sentence(evaluation: Evaluation) -> None:
    for item in evaluation.study.characteristics:
        asked = [line.partition(": ")[0] + line[-40:] for line in conditions(evaluation, item.id)]
        assert len(asked) == len(set(asked))


def test_what_several_streams_say_of_one_kind_is_said_once() -> None:
    kind = next(one for one in CAUTIONS if "Ppk anywhere" in one.pattern)
    said = [f"The values leave Ppk anywhere in {x}; take more of them." for x in ("A", "B", "A")]
    assert _together(kind, said) == ("Ppk is known no better than A and B",)
    assert _together(kind, said[:1]) == ("Ppk is known no better than A",)


@pytest.mark.parametrize(
    ("caution", "words"),
    [
        (
            "Only 1 degree of freedom is left for the slope: the run is short.",
            "Only 1 degree of freedom is left for",
        ),
        (
            "Only 6 degrees of freedom are left for the slope: it is short.",
            "Only 6 degrees of freedom are left for",
        ),
        (
            "2 resets were seen; how far lives differ from one another is not known.",
            "2 resets of the tool were seen, ",
        ),
        (
            "1 reset was seen; how far lives differ from one another is not known.",
            "1 reset of the tool was seen, ",
        ),
    ],
)
def test_singular_and_plural(caution: str, words: str) -> None:
    goes, text = destination(caution)
    assert goes == "condition"
    assert text.startswith(words)


#: Of each kind that the sample studies do not show, one as a method writes it, and where it goes.
OTHERS = {
    "4 parts say little about the spread of the parts.": "condition",
    "Repeated readings have heavier tails than normal ones; the intervals allow for them.": "method",
    "One appraiser measured, so nothing is known of the spread between appraisers.": "condition",
    "Repeated readings scatter less on larger parts (rank correlation -0.60, p = 0.0088); for small parts the "
    "repeatability is larger than the one given.": "condition",
    "The trials differ: their means lie up to 0.0001433 in apart (p = 0.0048). Something moved.": "condition",
    "Groups are of unequal size; components are estimated by restricted maximum likelihood.": "method",
    "Repeated readings fall into one or two steps. Repeatability is suspect.": "condition",
    "The reference accepts 90 % of the parts; with so one-sided a mix kappa comes out low.": "method",
    "Each part was judged once, so agreement with oneself is not tested.": "rule",
    "At the upper limit the judgement is biased: it rejects good parts.": "condition",
    "The intervals do not hold the uncertainty of process and gauge.": "method",
    "The run is too short against its own slow movements: it shows an effective sample size of 10, and what moves the process has not shown itself.": "condition",
    "81 parts from order 101 to 181 have one and the same value; name it under [[set_aside]].": "author",
    "Order numbers repeat or go back; charts follow the order of the record.": "rule",
    "12 subgroups are few to see movement by; 25 are usual.": "rule",
    "Each subgroup is of one stream, and each stream's distance from the mean of all is taken off.": "method",
    "Only 6 degrees of freedom are left for the slope: the run is short.": "condition",
    "The tested values themselves still correlate (0.22): tests of normality then reject too often.": "method",
    "One value, 9, is why normality is rejected; without it the others pass.": "condition",
    "One value lies very far from the others; look at it before believing any index.": "condition",
    "A Johnson S_U distribution has four parameters, and 101 values know its ends poorly: as simulated.": "method",
    "Every value lies outside the limits; look at unit and limits first.": "author",
    "How many parts were rejected is not in the folder. The count would settle it.": "author",
    "23% of the parts were taken out; so much sorting leaves little to learn from.": "rule",
    "90 parts are few for two directions; see how wide the intervals are.": "rule",
    "Size and deviation go together (rank correlation 0.46), which the expected share does not know.": "method",
    "Parts are not independent: their effective sample size is 20 of 90; intervals use that.": "method",
    "Over the run as it went, with a level of its own between all named events, the slope is 0.1.": "method",
    "2 resets of the tool were found in the values and are named nowhere.": "condition",
    "At stroke 1,501 the level moved on by 0.012 mm the way the tool wears: what was done there made it worse.": "condition",
    "At stroke 2,001 12% of the wear before it was taken back: the tool was not restored there.": "condition",
    "Not every part names its coil, so what coils differ by is in the interval of the wear in part only.": "condition",
    "The streams wear differently; this is the life of R, the only stream that wears.": "method",
    "Some new caution that names [[budget]].": "author",
}


@pytest.mark.parametrize("caution", OTHERS)
def test_other_studies_cautions_have_a_destination_too(caution: str) -> None:
    goes, words = destination(caution)
    assert goes == OTHERS[caution]
    assert "{" not in words
    if goes == "condition":
        assert words != caution
        assert re.search(r"\b(take|repeat|record|find|hold|extend|measure)\b", words, re.I)


def test_a_gauge_that_is_told_different_things_says_of_which_characteristics(
    evaluation: Evaluation,
) -> None:
    lines = [line for line in for_the_author(evaluation) if "Not in the budget" in line]
    names = {item.name for item in evaluation.study.characteristics}
    by_camera = [line for line in lines if line.startswith("In-die camera")]
    assert len(by_camera) == 2
    told = [set(line[line.index("(") + 1 : line.index(")")].split(", ")) for line in by_camera]
    assert all(told)
    assert not told[0] & told[1]
    assert told[0] | told[1] <= names
    # Of the other gauge one thing is said, of all it measures.
    assert any(line.startswith("CMM: ") for line in lines)
