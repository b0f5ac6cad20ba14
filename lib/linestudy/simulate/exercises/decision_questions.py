"""Exercises that are decisions: data, what one would do, and why the other ways go wrong.

A wrong choice is answered with the mistake by its name and where it comes from; the numbers in the replies are those the
labs compute.
"""

from __future__ import annotations

from linestudy.results import arguments
from linestudy.simulate.exercises.answers import Reply, numbers_of, typed
from linestudy.simulate.exercises.exercise_kinds import Decision, decision
from linestudy.simulate.exercises.mixtures_and_counts import SITUATIONS

DECISIONS: dict[str, tuple[Decision, ...]] = {
    "two limits": (
        decision(
            "All fifty subgroup means lie inside the control limits, and the index is 0.5. The foreman says: in control, so "
            "ship. What do you do?",
            "b",
            a=("Ship: the chart shows nothing.", lambda: (
                "Control limits taken for tolerance limits. They come from the process itself: one that makes "
                f"{numbers_of('control_against_specification', 0.5, 0.0)['nonconforming ppm']:,.0f} nonconforming parts per million "
                "stays inside them for ever.")),
            b=("Do not ship: it is in control and not capable; change the process or sort, with the customer's consent.",
               "A process in control makes the same share of bad parts every day. Only another process makes fewer."),
            c=("Put the control limits at the tolerance.", "The mistake is a chart with tolerance limits: means of five scatter "
               "less than parts, so it would give no signal while single parts fail."),
            d=("Adjust the machine after each bad part.", "That is over-adjustment: the process is centred already, and each "
               "correction adds its own error. See the next lab."),
        ),
        decision(
            "The index is 2.5, and in the second half of the run the means lie two standard deviations higher, out of control. "
            "No part is outside the tolerance. Would you sign?",
            "c",
            a=("Yes: no part is bad.", "Being inside the limits taken for being in control. What moved once without a known cause "
               "may move again, and further."),
            b=("No, never: the parts must be scrapped.", "The parts are inside the tolerance. Nothing shows that they are bad; "
               "what is not known is what the process does next."),
            c=("Not yet: ask for the cause and what was done about it; the customer may approve meanwhile.",
               "An index describes coming parts only if the process stays as it is. The cause decides that, not the index."),
        ),
    ),
    "over-adjustment": (
        decision(
            "An operator measures each part and corrects the setting by its whole error. The index has fallen from 1.67 to 1.2. "
            "What do you ask for?",
            "a",
            a=("Leave the setting alone; correct only on a point out of control.", lambda: (
                "The spread has grown by a factor of "
                f"{numbers_of('over_adjustment', 1.0)['theory']:.2f}. A single part shows hardly anything of the setting.")),
            b=("Correct faster, before the next part.", "The mistake is to take the noise of one part for a shift. Faster, it adds "
               "the same noise."),
            c=("A better gauge.", "With a perfect gauge the spread grows as much: the lab's parts are read without error."),
            d=("Correct by half.", lambda: (
                f"Half as much is less harm, not good: the spread is still {numbers_of('over_adjustment', 0.5)['theory']:.2f} times as large.")),
        ),
    ),
    "streams": (
        decision(
            "A two-lane tool is charted with two parts of each lane in a subgroup. All points lie close to the centre line, in "
            "the middle third of the limits. What does that show?",
            "c",
            a=("The process is better than ever.", "Points that hug the centre line are no praise: limits are too wide, because "
               "the distance between lanes is inside each subgroup."),
            b=("The limits should be drawn in until points fill them.", "Limits drawn by wish are no control limits. What is "
               "wrong is the subgroup."),
            c=("The subgroup mixes streams: chart each lane by itself.", lambda: (
                f"Mixed, the within-subgroup SD is {numbers_of('subgroups_and_streams', 4.0, 'both lanes')['sd within']:.1f} instead "
                f"of 1, and the move of lane B gives {numbers_of('subgroups_and_streams', 4.0, 'both lanes')['found']:.0f} points out of "
                f"control instead of {numbers_of('subgroups_and_streams', 4.0, 'one lane')['found']:.0f}.")),
        ),
    ),
    "best of several": (
        decision(
            "Of twenty alike presses the best showed Ppk 1.87 with fifty parts. Management sends that study to the customer as "
            "proof of 1.67. Would you sign?",
            "b",
            a=("Yes: it was measured.", lambda: (
                "Regression to the mean overlooked: chosen for being good, it was lucky too. Studied again the same press shows "
                f"{numbers_of('chosen_for_being_good')['again']:.2f}.")),
            b=("No: ask for a new study of the press that was chosen.", "The new study was not chosen for its result, so its "
               "interval has the confidence it states."),
            c=("Yes, with the average of all twenty beside it.", "The average describes presses that do not make the part; the "
               "chosen study stays a chosen one."),
        ),
    ),
    "normality": (
        decision(
            "Thirty parts pass a test of normality (p = 0.4). May the index be taken as normal?",
            "c",
            a=("Yes: the test has shown that they are normal.", lambda: (
                "Not rejected taken for shown. With thirty parts of skewness 0.2 the test rejects in only "
                f"{numbers_of('normality_and_size', 30, 0.2)['rejected']:.0%} of studies.")),
            b=("No: thirty parts never suffice.", "For many a question they do. What they cannot show is the tail."),
            c=("Only if something else speaks for it; say that the tail was not seen.",
               "Few parts cannot distinguish normal from nearly normal, and the index rests on the tail."),
        ),
        decision(
            "Thirty thousand parts of skewness 0.2 fail the same test (p < 0.001). The index taken as normal is 1.33. What now?",
            "b",
            a=("The parts are bad: refuse.", "A distribution other than the normal is no defect. The test sees a difference; whether it matters is "
               "another question."),
            b=("Take the index by the distribution's own quantiles and decide on that.", lambda: (
                f"By its own quantiles it is {numbers_of('normality_and_size', 30, 0.2)['true index']:.2f}, and that is what decides.")),
            c=("Test a sample of thirty of them, which will pass.", "That is shopping for a p-value: fewer parts make the test "
               "blind and the parts no more normal."),
            d=("Ignore it: with so many parts every test rejects.", lambda: (
                "True of tests, and no reason: here the normal index overstates the true one, "
                f"{numbers_of('normality_and_size', 30, 0.2)['true index']:.2f}.")),
        ),
    ),
    "parts that span": (
        decision(
            "A gauge study gives ndc = 2 and 55 % of total variation; %GRR of the tolerance is 10 %. Its ten parts came from one "
            "box. Is the gauge adequate?",
            "b",
            a=("No: ndc must be five.", lambda: (
                "The parts judged in place of the gauge: ndc compares gauge and parts, and these parts are alike. By the process "
                f"it is {numbers_of('parts_that_do_not_span', 0.2, 0.1)['ndc of the process']:.0f}.")),
            b=("By the tolerance yes; ask for parts that span the process before ndc is reported.",
               "%GRR of the tolerance does not depend on the parts, ndc does."),
            c=("Take parts from beyond the tolerance; ndc will rise.", "It will, and mean nothing: parts that no process makes "
               "make every gauge look better."),
        ),
    ),
    "guard band": (
        decision(
            "A gauge of 20 % of the tolerance sorts a process of index 1.0. The customer wants fewer than 10 bad parts per million "
            "among all. Which guard band?",
            "c",
            a=("None: the gauge is below 30 %.", lambda: (
                "A rule for gauges taken for a rule for parts: without a band "
                f"{numbers_of('guard_band', 0.0, 0.2, 1.0)['consumer']:,.0f} bad parts per million are accepted.")),
            b=("One SD of the gauge.", lambda: (
                f"Not enough: {numbers_of('guard_band', 1.0, 0.2, 1.0)['consumer']:,.0f} per million are still accepted. Move the slider on.")),
            c=("Two and a half SD of the gauge, and say what it costs.", lambda: (
                f"{numbers_of('guard_band', 2.5, 0.2, 1.0)['consumer']:.1f} bad parts per million remain, and "
                f"{numbers_of('guard_band', 2.5, 0.2, 1.0)['producer']:,.0f} good ones per million are rejected.")),
        ),
    ),
    "operating": (
        decision(
            "With 125 parts the estimate is 1.70, asked is 1.67, decided on the estimate. What does that mean?",
            "c",
            a=("The process has at least 1.67.", lambda: (
                "The estimate taken for the truth: a process of exactly 1.67 meets in "
                f"{numbers_of('operating_characteristic', 125, 1.67, 'estimate')['at required']:.0%} of studies, one of 1.50 in "
                f"{numbers_of('operating_characteristic', 125, 1.67, 'estimate')['at 1.5']:.0%}.")),
            b=("With 95 % confidence it has 1.67.", lambda: (
                "That would be the lower bound. For it the estimate has to be at least "
                f"{numbers_of('operating_characteristic', 125, 1.67, 'lower bound')['least']:.2f} with so many parts.")),
            c=("By the rule it meets; the process may as well lie somewhat below.",
               "Who wants to be surer asks for the lower bound, and pays with more parts or a better process."),
        ),
    ),
    "kappa": (
        decision(
            "Two inspectors judge 98 % of parts rightly. With 2 % bad parts in the study kappa is below 0.75. Do you train them?",
            "b",
            a=("Yes: kappa asks for 0.75.", lambda: (
                "Kappa read without the share of bad parts: the same two people have "
                f"{numbers_of('kappa_of_rare_defects', 0.02, 0.02)['kappa']:.2f} with 2 % bad parts and "
                f"{numbers_of('kappa_of_rare_defects', 0.5, 0.02)['kappa']:.2f} with half.")),
            b=("First repeat the study with a third to a half bad parts, many near the limit.",
               "Kappa then describes the people, and bad parts accepted can be counted."),
            c=("No: 98 % agreement is enough.", "With 2 % bad parts somebody who accepts everything is right in 98 % too. "
               "What counts is bad parts accepted, and those were hardly shown."),
        ),
    ),
    "order": (
        decision(
            "A run of 250 parts is in control and neighbours do not correlate, on a line where they usually do. The strokes count "
            "from 1 to 250; the numbers of the camera's images jump back and forth. Would you sign?",
            "c",
            a=("Yes: the chart is in control.", lambda: (
                "A chart of rows in an order that nobody made. As made, the same parts give "
                f"{numbers_of('rows_in_another_order', 'as made')['out of control']:.0f} points out of control, shuffled "
                f"{numbers_of('rows_in_another_order', 'shuffled')['out of control']:.0f}.")),
            b=("Yes, with Ppk alone: it does not depend on the order.", "The number does not. Whether it holds tomorrow, and how many independent "
               "parts it rests on, only the order shows."),
            c=("No: ask for the record as the line wrote it.", "The images still have the order. Somebody numbered the rows anew; "
               "ask why before you think why."),
        ),
    ),
    "wear": (
        decision(
            "Points on the chart climb steadily from the regrind on and leave the upper limit; all parts are inside the tolerance. "
            "What do you do?",
            "b",
            a=("Search a special cause for each point out of control.", lambda: (
                "Wear taken for many causes: it is one, and known. With limits about the trend "
                f"{numbers_of('wear_against_signals', 4.0, 'about the trend')['out of control']:.0f} points are left of "
                f"{numbers_of('wear_against_signals', 4.0, 'about a level')['out of control']:.0f}.")),
            b=("Name the regrind, chart about the trend, judge the index over the whole tool life.", lambda: (
                "Over the life parts scatter "
                f"{numbers_of('wear_against_signals', 4.0, 'about a level')['overall']:.2f} times as much as at one moment: that is what the "
                "customer gets.")),
            c=("Widen the limits until the trend fits.", "Limits that hold the whole trend see nothing else either: a jump of two "
               "standard deviations would pass."),
            d=("Measure after each regrind only.", "A fresh tool taken for the tool: the index of the first hour is not that of the "
               "last."),
        ),
    ),
    "steps": (
        decision(
            "A hand gauge reads in steps of two standard deviations of the process. One in seven subgroups shows five equal readings, "
            "and the range chart looks excellent. What do you say?",
            "a",
            a=("The gauge does not resolve the process: ask for a finer one before anything is judged.", lambda: (
                f"With such a step {numbers_of('steps_of_the_gauge', 2.0)['values']:.0f} values remain, and the spread as read is "
                f"{numbers_of('steps_of_the_gauge', 2.0)['ratio']:.2f} times the true one, or less, as the mean happens to lie.")),
            b=("The process is excellent: many ranges are nought.", "Equal readings taken for equal parts: the gauge cannot "
               "distinguish them."),
            c=("Add a few decimals by interpolation.", "Decimals that nobody read are invented; they make the chart look better, "
               "and nothing is known better."),
            d=("Take more parts: rounding averages out.", "It averages out in the mean only while the step is small against the "
               "spread. Here it is not, and the spread stays wrong with any number."),
        ),
    ),
    **SITUATIONS,
}  # fmt: skip


def decide(lab: str, exercise: int, answer: str | None) -> Reply:
    """Answer a decision exercise of a lab by its letter.

    Parameters
    ----------
    lab : str
        A key of ``DECISIONS``.
    exercise : int
        1 for the first of the lab.
    answer : str or None
        A letter; None for a cell that was not filled in yet.

    Returns
    -------
    Reply
        Right or not, with the reason or the mistake by its name.

    Raises
    ------
    ValueError
        No such lab or exercise.

    See Also
    --------
    check : Exercises with a number for an answer.

    Examples
    --------
    >>> decide("two limits", 1, "b").right
    True
    """
    arguments.one_of("lab", lab, DECISIONS)
    arguments.whole("exercise", exercise, least=1, most=len(DECISIONS[lab]))
    item = DECISIONS[lab][exercise - 1]
    letter = "" if answer is None else typed(str(answer)).strip(" .:)(").lower()
    if not letter:
        return Reply(False, item.text(), waiting=True)
    chosen = item.choices.get(letter[:1]) if len(letter) == 1 else None
    if chosen is None:
        return Reply(False, f"Write one of the letters {', '.join(item.choices)}, in quotes.")
    return Reply(chosen.right, chosen.reply())
