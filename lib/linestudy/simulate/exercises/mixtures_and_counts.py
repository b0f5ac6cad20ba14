"""Exercises on mixtures of stations, tests that destroy the part, parts counted outside, and ranges."""

from __future__ import annotations

import math

from linestudy.simulate.exercises.answers import numbers_of
from linestudy.simulate.exercises.exercise_kinds import Decision, Exercise, decision, near


def _mixed(number: str) -> float:
    return numbers_of("two_stations_in_one_histogram", 4.0, 0.05)[number]


def _destroyed(number: str) -> float:
    return numbers_of("destroyed_parts", 0.4, 0.3)[number]


def _counted(number: str) -> float:
    return numbers_of("observed_against_expected", 0.005, 10_000)[number]


#: Numbers to be worked out, by the name of the lab.
NUMBERS: dict[str, tuple[Exercise, ...]] = {
    "mixture": (
        Exercise(
            "Station B lies four standard deviations off and makes one part in twenty (distance 4, share 0.05). How many parts per "
            "million of all are truly above the limit?",
            lambda: _mixed("true ppm"),
            0.03,
            (
                (
                    lambda x, r: near(x, r / 1_000, 0.03),
                    "That looks like thousands, read as a number with decimals: write it without a separator.",
                ),
                (
                    lambda x, _: near(x, _mixed("normal ppm")),
                    "That is what one normal curve over both stations expects. Count station by station.",
                ),
                (
                    lambda x, r: near(x, r / 0.05),
                    "Of station B's own parts, yes; but it makes only one part in twenty.",
                ),
                (
                    lambda x, _: x < 2,
                    "A share or a per cent, perhaps; parts per million are asked for.",
                ),
            ),
            "Station B's parts lie one standard deviation below the limit: what share of them is above it, and how many of all "
            "parts are B's?",
            "Nearly all of them are station B's: 15.87 % of one part in twenty. No single curve over both shows that.",
        ),
    ),
    "destructive": (
        Exercise(
            "Specimens scatter with an SD of 0.4 and the tester with 0.3. Which SD does the nested study call repeatability?",
            lambda: _destroyed("seen"),
            0.02,
            (
                (lambda x, _: near(x, 0.7, 0.02), "You added standard deviations; add variances."),
                (lambda x, _: near(x, 0.3, 0.02), "That is the tester alone; the study cannot see it alone."),
                (lambda x, _: near(x, 0.25, 0.02), "That is the variance; take its root."),
                (lambda x, _: near(x, 0.4, 0.02), "Those are the specimens alone; the tester adds to them."),
            ),
            "Each reading is another specimen: both errors are in it, and variances add.",
            "The root of 0.16 + 0.09: tester and specimens together, and nothing in the readings separates them.",
        ),
    ),
    "counts": (
        Exercise(
            "Of 3,000 independent parts none is outside. Up to how many nonconforming parts per million does that allow, at 95 %?",
            lambda: 1e6 * (1 - 0.05 ** (1 / 3_000)),
            0.02,
            (
                (lambda x, _: near(x, 0.0), "None seen is not none made: a process of 500 ppm often shows none in 3,000."),
                (lambda x, r: near(x, r / 1_000, 0.02), "Write it in parts per million, without a separator."),
                (lambda x, _: near(x, 1e6 / 3_000, 0.02), "That rate shows none in more than a third of all studies. Which rate shows none in 5 %?"),
                (lambda x, _: near(x, 1e6 * (1 - 0.025 ** (1 / 3_000)), 0.02), "That is 97.5 %; asked is one bound at 95 %."),
            ),
            "A rate p shows none with probability (1 - p) to the power of 3,000. For which p is that 5 %?",
            "About three over n: the rule of three. What a curve says beyond it rests on the curve alone.",
        ),
    ),
    "ranges": (
        Exercise(
            "How many subgroups of ten judged by their range estimate the spread as well as 100 judged by their standard deviation?",
            lambda: 100 / numbers_of("range_against_s", 10)["efficiency"],
            0.02,
            (
                (
                    lambda x, _: near(x, 100 * numbers_of("range_against_s", 10)["efficiency"], 0.01),
                    "The other way round: the range wastes some, so it takes more of them.",
                ),
                (lambda x, _: near(x, 100.0, 0.01), "Of subgroups of two that would be right. Move the slider to ten."),
            ),
            "The table says what share of the information the range uses with subgroups of ten; divide 100 by it.",
            "About one subgroup in six is lost. With two parts nothing is: there range and SD are the same.",
        ),
    ),
}  # fmt: skip

#: Decisions to be taken, by the name of the lab.
SITUATIONS: dict[str, tuple[Decision, ...]] = {
    "mixture": (
        decision(
            "Parts of two stations lie in one file. One normal curve over all gives Ppk 1.21; station B makes one part in twenty and "
            "lies four standard deviations off. Would you sign 1.21?",
            "b",
            a=("Yes: it is the index of all parts, and all parts are what the customer gets.", lambda: (
                "One curve taken over two processes: it expects "
                f"{_mixed('normal ppm'):,.0f} parts per million outside, and {_mixed('true ppm'):,.0f} are.")),
            b=("No: report each station; the worst decides, and B is to be set.", lambda: (
                f"Station B by itself has {_mixed('worst station'):.2f}, and a customer gets its parts too.")),
            c=("Transform the values until a test calls them normal.", "A transformation bends one curve. Two stations stay two stations, "
               "and the share outside comes from one of them."),
            d=("Leave station B out: it makes only 5 %.", "An exclusion for being bad. Its parts are shipped like the others, and nearly all "
               "that fail are among them."),
        ),
    ),
    "destructive": (
        decision(
            "A pull test gives a %GRR of 45 % of the tolerance in a nested study of coils and specimens. The customer writes: gauge not "
            "adequate. What do you answer?",
            "c",
            a=("Buy a new tester.", lambda: (
                "Specimens taken for the tester: of specimens with 0.4 and a tester with 0.3 the study shows "
                f"{_destroyed('seen'):.2f} for both, and the tester has {100 * _destroyed('tester share'):.0f} % of that variance.")),
            b=("Test more specimens: the result will come down.", "More specimens make the sum sharper known, not smaller. What the study "
               "cannot separate it cannot separate with more of the same."),
            c=("45 % is an upper bound; show the tester's own part on something that is not destroyed, and ask for approval meanwhile.",
               "A weight, a spring, a proof ring, or neighbours from one strip narrow it. Until then the sum is all that is known."),
            d=("Take off the spread of the process; the rest is the tester.", "The spread of the process holds the same sum of tester and "
               "specimens: what is taken off is not known either."),
        ),
    ),
    "counts": (
        decision(
            "Of 10,000 parts 9 lie outside. The normal curve gives an index of 1.33 and expects fewer than one. What do you believe?",
            "b",
            a=("The curve: 1.33 is 1.33.", lambda: (
                "The curve taken for the parts. If it is right so many are seen less than once in "
                f"{10 ** int(-math.log10(_counted('chance of nine'))):,} studies.")),
            b=("The count: find out what the nine are, and judge by a tail that the readings show.", lambda: (
                "Five wild parts in a thousand, which no histogram shows, make "
                f"{_counted('counted'):.0f} outside on average where the curve expects {_counted('expected'):.1f}.")),
            c=("Remove the nine as outliers; then curve and count agree.", "An exclusion for being outside makes every process good. "
               "A reading goes for what happened to it, not for where it lies."),
            d=("Test for normality: if it passes, the curve holds.", "A test of all parts looks where most of them are. The nine are what "
               "it hardly weighs, and all that counts here."),
        ),
    ),
    "ranges": (
        decision(
            "A plant charts subgroups of 25 by their range, because that is how it was always done. What do you propose?",
            "a",
            a=("Chart the standard deviation: the machine computes it anyway.", lambda: (
                f"With 25 parts the range uses {100 * numbers_of('range_against_s', 25)['efficiency']:.0f} % of what they show, and one wild "
                "reading decides it.")),
            b=("Leave it: range and SD show the same.", "Of two parts they do. Of 25 the range looks at two and forgets the others."),
            c=("Divide the range by the constant of five, which everybody knows.", "A constant of another size makes the SD too large by the "
               "ratio of the two; the chart then hardly ever gives a signal."),
        ),
    ),
}  # fmt: skip
