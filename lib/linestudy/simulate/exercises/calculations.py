"""Exercises of the labs: a question, a check of the reader's answer, and a hint that is not the solution.

The right answers are computed by the labs themselves, so that they cannot drift from what the reader
sees. Hints name the thought that leads to a wrong answer.
"""

from __future__ import annotations

import math
import re

from linestudy.results import arguments
from linestudy.simulate.exercises.answers import (
    Reply,
    numbers_meant,
    numbers_of,
    typed,
    unit_not_asked,
)
from linestudy.simulate.exercises.exercise_kinds import Exercise, near
from linestudy.simulate.exercises.mixtures_and_counts import NUMBERS


def _neighbours(number: str) -> float:
    return numbers_of("why_neighbours_overstate_cpk", 5, 0.95)[number]


EXERCISES: dict[str, tuple[Exercise, ...]] = {
    "interval": (
        Exercise(
            "If 200 studies are made and every interval claims 95 %, how many intervals will miss the truth, on average?",
            lambda: 10.0,
            0.01,
            (
                (lambda x, _: near(x, 5.0), "Five per cent is a share, not a number of studies."),
                (lambda x, _: near(x, 190.0), "That many hold the truth; how many are left?"),
            ),
            "A claim of 95 % fails in the rest of the studies. What share is that, and of how many studies?",
            "One study in twenty misses, whatever the sample size; a larger sample makes intervals shorter, not righter.",
        ),
        Exercise(
            "How many times as many parts does it take, roughly, to make the interval half as wide?",
            lambda: 4.0,
            0.15,
            (
                (
                    lambda x, _: near(x, 2.0),
                    "Try n = 30 and n = 60 with the slider: is the interval half as wide?",
                ),
                (
                    lambda x, _: x < 2,
                    "Fewer parts never make an interval shorter. Move the slider and look at the width.",
                ),
            ),
            "The width goes with one over the square root of n. Compare n = 30 with other sizes by the slider.",
            "Widths go with the square root: half the width takes four times the parts.",
        ),
    ),
    "neighbours": (
        Exercise(
            "With the sliders where they start: by what factor is Cpk from neighbours larger than Ppk?",
            lambda: _neighbours("ratio"),
            0.08,
            (
                (lambda x, r: near(x, 1 / r), "You divided the other way round."),
                (
                    lambda x, _: near(x, _neighbours("Cpk") - _neighbours("Ppk")),
                    "That is the difference; a factor is asked for.",
                ),
            ),
            "Both numbers are in the table; divide the one by the other.",
            "Five neighbours of a line at this speed are nearly the same part, so their spread shows little of the process.",
        ),
        Exercise(
            "Set the correlation to 0. By what factor is Cpk larger now?",
            lambda: numbers_of("why_neighbours_overstate_cpk", 5, 0.0)["ratio"],
            0.03,
            (
                (
                    lambda x, _: near(x, _neighbours("ratio"), 0.03),
                    "That is the factor with correlation; move the slider to 0.",
                ),
                (
                    lambda x, _: near(x, 0.0, 0.01),
                    "Where two numbers are alike their factor is not zero.",
                ),
            ),
            "Without correlation neighbours are as different as any two parts. What are Cpk and Ppk then?",
            "Where parts do not resemble their neighbours, within and overall are the same, and so are the indices.",
        ),
    ),
    "sorted": (
        Exercise(
            "The limits lie at 1.5 standard deviations. What is the true Ppk of the process?",
            lambda: 0.5,
            0.01,
            (
                (
                    lambda x, _: near(x, numbers_of("good_because_sorted", 1.5)["sorted"], 0.03),
                    "That is what the sorted parts look like. What did the process do before?",
                ),
                (
                    lambda x, _: near(x, 1.5),
                    "That is the distance in standard deviations; the index divides by three of them.",
                ),
            ),
            "Ppk is the distance from the mean to the nearer limit over three standard deviations.",
            "Sorting changes the parts you see, not the process that makes them.",
        ),
        Exercise(
            "And what does Ppk look like, computed from the sorted parts (limits at 1.5)?",
            lambda: numbers_of("good_because_sorted", 1.5)["sorted"],
            0.03,
            (
                (
                    lambda x, _: near(x, 0.5, 0.03),
                    "That is the truth. The sorted parts have lost their tails: does their spread grow or shrink?",
                ),
                (
                    lambda x, _: x < 0.5,
                    "Without its tails a distribution is narrower, so the index comes out larger, not smaller.",
                ),
            ),
            "Move the slider to 1.5 and read the second line of the table.",
            "It is too good by a third, and nothing in a table of indices shows it. Only the cut at the limits does.",
        ),
    ),
    "gauge": (
        Exercise(
            "A gauge takes 30 % of the tolerance and parts have Ppk 1.33. What share of the variance read is the gauge's, in per cent?",
            lambda: 100 * numbers_of("gauge_that_eats_the_tolerance", 0.3, 1.33)["variance share"],
            0.05,
            (
                (
                    lambda x, _: near(x, 30.0),
                    "Thirty per cent is a share of the tolerance. Variances add, spreads do not.",
                ),
                (
                    lambda x, r: near(x, 100 * r / (100 - r)),
                    "You divided by the parts' variance. The readings hold parts and gauge: divide by both together.",
                ),
                (
                    lambda x, r: near(x, r / 100),
                    "That is the share itself; per cent were asked for.",
                ),
                (
                    lambda x, r: near(x, 10 * r**0.5),
                    "That is the share of the spread. Square both spreads before you divide.",
                ),
                (
                    lambda x, _: near(x, 100 * 0.3**2),
                    "That is the square of the share of the tolerance. The readings hold the parts' variance too: divide by both together.",
                ),
            ),
            "Square the gauge's spread and the spread of all readings, then divide. The last line of the table has it.",
            "A gauge at the usual upper mark of 30 % still holds only a seventh of the variance, yet costs good parts.",
        ),
        Exercise(
            "At which share of the tolerance (in per cent, to the next 5) does this gauge reject more than 100 good parts per million, at index 1.33?",
            lambda: _first_share(),
            0.01,
            (
                (lambda x, r: x < r, "Move the slider there: it still rejects fewer."),
                (lambda x, r: x > r, "It does, but a smaller share does already."),
            ),
            "Move the slider in steps of 5 % and watch the good parts rejected.",
            "Near a limit every gauge errs; how often depends on how many parts lie near the limit.",
        ),
    ),
    "ndc": (
        Exercise(
            "With 10 parts, 3 people and 3 trials, what is the lower end of where nine in ten studies fall?",
            lambda: numbers_of("what_three_trials_tell")["low"],
            0.03,
            (
                (
                    lambda x, _: near(x, numbers_of("what_three_trials_tell")["truth"]),
                    "That is the truth, which no study knows.",
                ),
                (
                    lambda x, _: near(x, numbers_of("what_three_trials_tell")["high"]),
                    "That is the upper end.",
                ),
                (
                    lambda x, _: near(x, 5.0, 0.01),
                    "Five is what is asked of ndc, not what studies find.",
                ),
                (
                    lambda x, _: near(x, 3.0, 0.01),
                    "The trade cuts ndc down to a whole number; here the end itself is asked for, with one decimal.",
                ),
            ),
            "The second line of the table has both ends.",
            "Studies of one and the same gauge differ that much, because ten parts and three people are few.",
        ),
        Exercise(
            "How many trials instead of three (same parts and people) bring the lower end up by one whole category? Answer 0 if none does.",
            lambda: 0.0,
            0.0,
            (
                (lambda x, _: 0 < x <= 5, "Try it with the slider: the ends hardly move."),
                (
                    lambda x, _: x > 5,
                    "There are trials enough here. Which of the three sliders moves the ends?",
                ),
            ),
            "Move the slider of the trials from 2 to 6 and watch the ends; then do the same with the parts.",
            "Trials estimate repeatability, which is known well already. There are too few parts: move that slider and see.",
        ),
    ),
    "bounded": (
        Exercise(
            "With the sliders where they start: by how many per cent is the index taken as normal off the truth (too low is negative)?",
            lambda: 100 * (numbers_of("non_normal_is_not_wrong")["normal"] / 1.5 - 1),
            0.06,
            (
                (
                    lambda x, r: near(x, -r, 0.06),
                    "The size is right; look at which of the two is larger.",
                ),
                (lambda x, _: abs(x) < 1, "That looks like a share; per cent were asked for."),
            ),
            "Divide the second line of the table by the first, take one off, and multiply by a hundred.",
            "A rule made for symmetric spreads misjudges a skewed one, here against the supplier or against the customer.",
        ),
        Exercise(
            "A characteristic cannot fall below zero and has an upper limit only. How many tolerance limits does its index refer to?",
            lambda: 1.0,
            0.0,
            (
                (
                    lambda x, _: near(x, 2.0),
                    "Zero is where physics ends, not where the customer draws a line.",
                ),
                (lambda x, _: near(x, 0.0), "Without any limit there would be no index."),
            ),
            "Count what the customer asks, not what nature allows.",
            "A physical bound is no tolerance limit: nothing is gained by keeping away from it.",
        ),
    ),
    "alarms": (
        Exercise(
            "Three-sigma limits on the means alone: how many false alarms are to be expected on 10,000 points?",
            lambda: numbers_of("rules_and_false_alarms", 10_000, "three sigma")["alarms"],
            0.02,
            (
                (
                    lambda x, _: near(x, 370.4, 0.02),
                    "That is how many points pass between two false signals.",
                ),
                (lambda x, _: near(x, 109.0, 0.02), "That is what the four rules together give."),
                (
                    lambda x, _: near(
                        x,
                        numbers_of("rules_and_false_alarms", 10_000, "three sigma")["expected"],
                        0.03,
                    ),
                    "That counts the chart of means and the chart of spreads; here only the means are asked for.",
                ),
            ),
            "One point in 370 signals by chance. How many are that in 10,000?",
            "A camera that charts every minute gives a false alarm every six hours with the mildest of rules.",
        ),
        Exercise(
            "With all four Western Electric rules, how many points pass between two false signals, on average?",
            lambda: numbers_of("rules_and_false_alarms", 100)["run length"],
            0.01,
            (
                (
                    lambda x, _: near(x, 370.4, 0.02),
                    "That is the three-sigma rule alone; more rules signal more often.",
                ),
                (
                    lambda x, _: near(x, 4 * 370.4, 0.05),
                    "More rules make false signals more frequent, not rarer.",
                ),
            ),
            "The first line of the table has it, with the rules set to Western Electric.",
            "Each rule finds something sooner and gives false alarms more often; that is the price, and it has a number.",
        ),
    ),
    "size": (
        Exercise(
            "The true Ppk is 2.0 and more than 1.67 is to be shown. How many parts give a chance of four in five?",
            lambda: numbers_of("sample_size_before_the_run", 2.0, 1.67)["n"],
            0.0,
            (
                (
                    lambda x, _: near(x, 100.0),
                    "A hundred is what is customary. What chance does the table give for it?",
                ),
                (lambda x, r: x > r, "That is enough, but fewer are enough too."),
            ),
            "The second line of the table has it.",
            "The customary hundred is often too few to show what is true.",
        ),
        Exercise(
            "The true Ppk is exactly 1.67. What is the chance, in per cent, of showing more than 1.67 with 100 parts?",
            lambda: 5.0,
            0.12,
            (
                (
                    lambda x, _: near(x, 50.0),
                    "Half of the estimates lie above, but it is the lower bound that must.",
                ),
                (lambda x, _: near(x, 95.0), "That is the chance of not showing it."),
            ),
            "A lower 95 % bound lies above the truth in how many studies out of a hundred?",
            "What is not true is shown only by luck, in one study of twenty, whatever the sample size.",
        ),
    ),
    "vision": (
        Exercise(
            "With the sliders where they start, what half width do the limits of agreement have by the truth?",
            lambda: numbers_of("vision_against_cmm")["expected half width"],
            0.02,
            (
                (lambda x, _: near(x, 1.96), "That would be the camera alone; both gauges err."),
                (lambda x, _: near(x, 1.96 * 1.3), "Spreads do not add; their squares do."),
            ),
            "The limits hold 95 % of single differences: 1.96 standard deviations of the difference of both errors.",
            "The limits hold both gauges' errors, so a wide band does not show which gauge is at fault.",
        ),
        Exercise(
            "Of the variance of the differences, what share is the camera's, in per cent (camera 1.0, CMM 0.3)?",
            lambda: 100 / 1.09,
            0.01,
            (
                (
                    lambda x, _: near(x, 100 / 1.3, 0.02),
                    "You added standard deviations; add variances.",
                ),
                (lambda x, _: near(x, 50.0), "Half each would need equal errors."),
            ),
            "Square both standard deviations, and divide the camera's by the sum.",
            "The differences alone do not show this; each gauge's own study does.",
        ),
    ),
    **NUMBERS,
}


_PER_CENT = re.compile(r"%|\bper ?cent\b", re.IGNORECASE)
NO_SHARE = "A number is asked for, not a share: work out how many that is, and leave out the per cent sign."
A_SHARE = "That is the share itself; per cent were asked for."
OTHER_SIGN = "The size is right; look at the sign."
OTHER_WAY = "You divided the other way round."


def _first_share() -> float:
    for per_cent in range(5, 60, 5):
        found = numbers_of("gauge_that_eats_the_tolerance", per_cent / 100, 1.33)
        if found["false reject"] > 100:
            return float(per_cent)
    raise AssertionError("no share in reach rejects so many")


def check(lab: str, exercise: int, answer: float | str | tuple[int, int] | None) -> Reply:
    """Check an answer to an exercise of the labs.

    Parameters
    ----------
    lab : str
        A key of ``EXERCISES``.
    exercise : int
        1 for the first exercise of the lab.
    answer : float, str, tuple or None
        The reader's number, as it is written in any country (``3.25``, ``"3,25"``, ``"10 %"``); None for a cell that was
        not filled in yet.

    Returns
    -------
    Reply
        Right or not, with a reason or a hint.

    Raises
    ------
    ValueError
        No such lab or exercise.

    See Also
    --------
    linestudy.simulate.glossary : Terms with their formulas.
    linestudy.simulate.play : Sliders for an experiment of a lab.

    Examples
    --------
    >>> check("interval", 1, 10).right
    True
    >>> check("interval", 1, 5)
    Five per cent is a share, not a number of studies.
    """
    arguments.one_of("lab", lab, EXERCISES)
    arguments.whole("exercise", exercise, least=1, most=len(EXERCISES[lab]))
    item = EXERCISES[lab][exercise - 1]
    if answer is None or answer == "":
        return Reply(False, item.question, waiting=True)
    meant = numbers_meant(answer)
    if not meant:
        return Reply(False, 'Write one number, for example 3.25 or "3,25".')
    asks_share = "per cent" in item.question
    if isinstance(answer, str) and _PER_CENT.search(typed(answer)) and not asks_share:
        return Reply(False, NO_SHARE)
    unit = unit_not_asked(answer, item.question)
    if unit:
        return Reply(
            False, f"{unit} is not what is asked for: give the number as the question says."
        )
    right, value = item.answer(), meant[0]
    if any(math.isclose(one, right, rel_tol=item.tolerance, abs_tol=1e-9) for one in meant):
        return Reply(True, item.why)
    for fits, hint in item.hints:
        if fits(value, right):
            return Reply(False, hint)
    # Slips that may happen in any exercise.
    if asks_share and near(100 * value, right):
        return Reply(False, A_SHARE)
    if right and near(-value, right):
        return Reply(False, OTHER_SIGN)
    if value and right and not near(right, 1.0) and near(1 / value, right):
        return Reply(False, OTHER_WAY)
    return Reply(False, item.otherwise)
