"""Cautions of gauge studies, each with whom it is for; `content/process_cautions` holds those of all other packages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: Whom a caution is for.
Destination = Literal["condition", "method", "author", "rule"]


@dataclass(frozen=True)
class Sorted:
    """One kind of caution.

    Attributes
    ----------
    goes : str
        ``"condition"``, ``"method"``, ``"author"`` or ``"rule"``.
    pattern : str
        Regular expression for the whole of it.
    words : str
        What the document says instead; ``{1}`` stands for the pattern's first group. Of a condition: what was found.
    asks : str
        Of a condition: which of the document's actions it asks for.
    """

    goes: Destination
    pattern: str
    words: str = ""
    asks: str = ""


#: Every kind of caution that a study of gauges or judgements gives, in the order of the document.
OF_GAUGES: tuple[Sorted, ...] = (
    Sorted(
        "condition",
        r"(\d+) parts say little about the spread of the parts\.",
        "{1} parts in the gauge study (ten or more are usual)",
        "more",
    ),
    Sorted(
        "method",
        r"Repeated readings have heavier tails than normal ones.*",
        "Intervals of repeatability and GRR allow for the tails that repeated readings show; of heavy ones they see too little, and hold in "
        "90 to 94 of 100 simulated studies of 10 parts.",
    ),
    Sorted(
        "method",
        r"Readings of the master have heavier tails than normal ones; .*",
        "Intervals of Cg and Cgk allow for the tails that readings of the master show; of heavy ones they see too little, and hold in "
        "92 to 94 of 100 simulated studies.",
    ),
    Sorted("author", r"A master was read \d+ times only; .*"),
    Sorted(
        "condition",
        r"One appraiser measured, so nothing is known of the spread between appraisers\.",
        "one appraiser measured",
        "people",
    ),
    Sorted(
        "condition",
        r"Repeated readings scatter \w+ on larger parts \((.*)\); for (\w+) parts .*",
        "repeatability is larger on {2} parts than the one given ({1})",
        "limits",
    ),
    Sorted(
        "condition",
        r"The trials differ: their means lie up to (.*) apart \((p [=<] ?[^)]*)\)\. .*",
        "the trials differ by up to {1} ({2})",
        "cause",
    ),
    Sorted(
        "method",
        r"Groups are of unequal size; components are estimated by .*",
        "Components of groups of unequal size are estimated by restricted likelihood; their intervals hold approximately.",
    ),
    Sorted(
        "condition",
        r"Repeated readings fall into one or two steps\..*",
        "repeated readings fall into one or two steps",
        "finer",
    ),
    Sorted(
        "method",
        r"The reference (?:accepts|rejects) .* of the parts; with so one-sided a mix kappa .*",
        "Where the reference accepts or rejects nearly all parts kappa comes out low even with few errors; the rates beside it do not.",
    ),
    Sorted("rule", r"Each part was judged once, .*"),
    Sorted(
        "method",
        r"\d+ judgements near the (lower|upper) limit leave its curve uncertain.*",
        "Where fewer than a hundred judgements lie near a limit, intervals of where judgement turns hold in 92 to 94 of 100 simulated "
        "studies.",
    ),
    Sorted(
        "condition",
        r"At the (\w+) limit the judgement is biased: it (.*)\.",
        "at the {1} limit the judgement {2}",
        "samples",
    ),
    Sorted(
        "method",
        r"The intervals do not hold the uncertainty of process and gauge\.",
        "Intervals of risks without draws of process and gauge do not hold their uncertainty.",
    ),
    Sorted(
        "condition",
        r"Appraisers do not repeat equally well \((p [=<] ?[^)]*)\): (.*); one common repeatability.*",
        "appraisers do not repeat equally well ({1}; {2})",
        "cause",
    ),
    Sorted(
        "condition",
        r"Without (\S+ .+) the gauge's spread would lie outside the interval of the whole study.*",
        "without {1} %GRR would lie outside its interval",
        "cause",
    ),
    Sorted(
        "condition",
        r"The masters do not reach the (.+); the bias there is extrapolated\.",
        "the masters do not reach the {1}, so the bias there is extrapolated",
        "limits",
    ),
    Sorted(
        "condition",
        r"(\d+) readings are few; 25 to 50 are usual for this study\.",
        "{1} readings of the master for Cg and Cgk (25 to 50 are usual)",
        "more",
    ),
    Sorted(
        "condition",
        r"The declared resolution is (\S+), the readings come in steps of (\S+(?: [^:]+)?): they were (rounded on the way|recorded finer than that)\.",
        "the readings come in steps of {2}, the resolution is {1}",
        "finer",
    ),
    Sorted(
        "condition",
        r"The readings were written in steps of (.+) but fall on multiples of (.+) only: the gauge showed ([^,]+), and that is its step\.",
        "the gauge showed {3}, in steps of {2}, and the readings were converted",
        "finer",
    ),
    Sorted(
        "condition",
        r"Some last digits are preferred.*",
        "some last digits are preferred",
        "finer",
    ),
    Sorted(
        "condition",
        r"The difference changes with size \((.*)\); one correction for all sizes misleads\.",
        "the difference of the two gauges changes with size ({1})",
        "limits",
    ),
    Sorted(
        "condition",
        r"(\d+) parts are few for rates of error; 50 are usual\.",
        "{1} parts were judged (50 are usual)",
        "more",
    ),
    Sorted("author", r"Not in the budget: .*"),
    Sorted("author", r"How the errors of .* compare is not known; .*"),
    Sorted(
        "method",
        r"Passing and Bablok's line takes the errors of .*",
        "Passing and Bablok's line takes the errors of both gauges as equally large; where they are not, Deming's line counts.",
    ),
    Sorted(
        "method",
        r"\d+ levels of the factor say little.*",
        "The spread between levels of a third factor is estimated from few of them; intervals of GRR that hold it were right in 92 of "
        "100 simulated studies rather than 95.",
    ),
    Sorted(
        "method",
        r"\d+ appraisers say little.*",
        "The spread between appraisers is estimated from few of them; the upper end of its interval allows for that.",
    ),
    Sorted(
        "method",
        r"An interaction of part and appraiser cannot be seen by averages and ranges\.",
        "Averages and ranges cannot show an interaction of part and appraiser; the analysis of variance does.",
    ),
    Sorted(
        "method",
        r"A reading that stands out is a reason.*",
        "A reading that stands out is a reason to look at how it was taken, not to drop it.",
    ),
    Sorted(
        "method",
        r"The line starts anew at each .*",
        "Drift is estimated anew after each named reset.",
    ),
    Sorted(
        "method",
        r"The combined uncertainty rests on .*",
        "Expanded uncertainties take k = 2 where their degrees of freedom would ask for slightly more.",
    ),
    Sorted(
        "method",
        r"The estimate of .* came out negative and is set to zero\.",
        "Variance components whose estimate is negative are set to zero.",
    ),
    Sorted(
        "method",
        r"\d+ tests at once.*",
        "Of many tests of bias one in twenty is significant by chance alone.",
    ),
    Sorted(
        "method",
        r"The gauge's bias of .* is part of the risk\.",
        "A significant bias is part of the consumer's and the producer's risk.",
    ),
    Sorted(
        "method",
        r"The masters' own uncertainty is in the intervals.*",
        "Intervals of bias hold the uncertainty of the masters.",
    ),
    Sorted(
        "method",
        r"The masters' uncertainties are taken as independent of one another.*",
        "The interval of the mean bias takes the uncertainties of masters on several certificates, or on none that is named, as "
        "independent of one another.",
    ),
    Sorted(
        "method",
        r"In \d+% of the truths that fit these data.*",
        "Risks are averaged over the truths that leave the process some spread of its own.",
    ),
    Sorted(
        "method",
        r"Cells hold unequal numbers of readings.*",
        "Where cells hold unequal numbers of readings, components are estimated by restricted maximum likelihood.",
    ),
    Sorted(
        "method",
        r"\d+ parts leave the limits of agreement uncertain\.",
        "Limits of agreement have intervals of their own.",
    ),
    Sorted(
        "method",
        r"(\d+ groups of .* say little about their spread|\d+ readings in the smallest cell.*)\.?",
        "Few groups say little about their spread; the interval allows for that.",
    ),
    Sorted("rule", r"Only \d+ different values occur.*"),
    Sorted("rule", r"Repeated readings never differed in .*"),
    # The list of equipment says so.
    Sorted("rule", r"The certificate of .+ was due on .+ before the study\."),
    Sorted("author", r"The due date .* cannot be read; .*"),
    Sorted("author", r".* is said to be correlated with .*"),
    Sorted(
        "method",
        r"Simulated by JCGM 101, .*",
        "Where contributions are not normal or rest on few degrees of freedom, the interval by simulation differs "
        "from the expanded uncertainty.",
    ),
    # Judgements in grades, thresholds
    Sorted(
        "condition",
        r"(\d+) parts are few for agreement in grades; 30 are usual.*",
        "{1} parts were judged in grades (30 are usual for weighted kappa)",
        "more",
    ),
    Sorted(
        "condition",
        r"At the (\S+) limit appraisers (.+) and (.+) turn at different sizes; agree on boundary samples\.",
        "at the {1} limit the judgements of {2} and {3} change at different sizes",
        "samples",
    ),
    Sorted(
        "condition",
        r"No part was judged (.+), so nothing is known of that grade\.",
        "no part was judged {1}",
        "more",
    ),
    Sorted(
        "method",
        r"\d+ % of the judgements are .*",
        "Where nearly all parts have one grade, kappa comes out low even where few errors are made.",
    ),
    Sorted(
        "method",
        r"\d+ judgements? (is|are) missing; agreement is taken over what was judged\.",
        "Where judgements are missing, agreement is taken over what was judged.",
    ),
    Sorted("author", r"At the (lower|upper) limit, appraiser .*"),
    # Destructive tests with several testers
    Sorted(
        "method",
        r"Batches are taken as homogeneous: .*",
        "Batches are taken as homogeneous, as they are where specimens of a batch were divided among testers at random.",
    ),
    Sorted(
        "condition",
        r"Each tester had batches of their own, so .*",
        "each tester had batches of their own",
        "people",
    ),
    Sorted(
        "method",
        r"\d+ testers say little .*",
        "The spread between testers is estimated from few of them; the upper end of its interval allows for that.",
    ),
    Sorted(
        "method",
        r"The spread of specimens is declared .*",
        "The declared spread of specimens is taken off the test's without an uncertainty of its own.",
    ),
    # Several measuring systems on the same parts
    Sorted(
        "method",
        r"Not the same people read with every system.*",
        "Where different people read with two measuring systems, the bias between these holds what people differ by.",
    ),
    Sorted(
        "condition",
        r"(\d+) common parts are few; ten or more are usual\.",
        "{1} parts were read by both measuring systems (ten or more are usual)",
        "more",
    ),
    Sorted(
        "condition",
        r"(.+): parts of the same name do not read alike with the two (.+): they may be other parts\.",
        "{1}: parts of the same name do not read alike {2} and may be other parts",
        "cause",
    ),
    Sorted(
        "condition",
        r"The gauge repeated worse in the study (.+) than in the last one \((p [=<] ?[^)]*)\)\.",
        "the gauge repeated worse in the study {1} than in the last one, which is decided on ({2})",
        "cause",
    ),
    Sorted("author", r".+ against .+: the (two have|difference is) .*"),
    Sorted(
        "condition",
        r"(.+) repeats with a standard deviation of .+, the next best with .+ \((p [=<] ?[^)]*)\): averages, .*",
        "{1} repeats far better than the next best ({2}), as averages or copies would",
        "cause",
    ),
    Sorted(
        "condition",
        r"The differences are not normal \((p [=<] ?[^)]*)\): limits of agreement, .* Farthest apart are (.+) at (.+) and (.+) at (.+)\.",
        "the differences of {2} and {4} are not normal ({1}); farthest apart is the part that reads {3} and {5}",
        "cause",
    ),
    Sorted(
        "condition",
        r"(.+) reads parts (\S+) times as far apart as (.+) \((p [=<] ?[^)]*)\): look at the (?:scale|unit) of these readings\.",
        "{1} reads parts {2} times as far apart as {3} ({4})",
        "cause",
    ),
    Sorted(
        "condition",
        r"(.+) reads (\S+ (?:above|below)) the others over all parts \((p [=<] ?[^)]*)\): a bias of its own.*",
        "{1} reads {2} the others over all parts ({3})",
        "cause",
    ),
    Sorted(
        "condition",
        r"On one part (.+), much farther apart than on the others \((p [=<] ?[^)]*)\): .*",
        "on one part {1}, much farther apart than on the others ({2})",
        "cause",
    ),
    Sorted(
        "condition",
        r"The readings of (.+?)(?:: look whether labels were exchanged\.|: the parts hardly differ, or pairs do not belong together\.)",
        "parts may have been exchanged: the readings of {1}",
        "cause",
    ),
    Sorted(
        "condition",
        r"One straight line will not do for all sizes \((p [=<] ?[^)]*)\)\.",
        "one straight line will not do for all sizes ({1})",
        "limits",
    ),
    Sorted(
        "condition",
        r"The bias is not the same on all masters \((p [=<] ?[^)]*)\): (.+), more than .*",
        "the bias is not the same on all masters ({1}): {2}",
        "limits",
    ),
    # Crossed studies whose readings do not look independent
    Sorted(
        "condition",
        r"Part × appraiser is significant \((p [=<] ?[^)]*)\): .*",
        "appraisers read single parts differently, or remembered what they had read ({1})",
        "cause",
    ),
    Sorted(
        "condition",
        r"The means of a part by different appraisers lie closer together than .* \((p [=<] ?[^)]*)\): .*",
        "appraisers' means of a part lie closer together than repeated readings let expect ({1})",
        "cause",
    ),
    Sorted(
        "condition",
        r"The trials of single appraisers differ, most of all those of (.+) \((p [=<] ?[^)]*)\): .*",
        "the trials of single appraisers differ, most of all those of {1} ({2})",
        "cause",
    ),
    Sorted(
        "condition",
        r"(.+) (accepted|rejected) every part.*: such judgements tell nothing of the parts\.",
        "{1} {2} every part",
        "cause",
    ),
    Sorted(
        "condition",
        r"(.+) judges against the reference more often than with it .*",
        "{1} judges against the reference more often than with it",
        "cause",
    ),
    Sorted(
        "condition",
        r"(\d+ forces? of \d+) (?:is|are) nought: .*",
        "of the forces nought, as without a weld: {1}",
        "cause",
    ),
    Sorted(
        "condition",
        r"(\d+ of \d+ forces) stand at the greatest value, (.+) or nearly \((p [=<] ?[^)]*)\): .*",
        "{1} stand at the greatest value, {2} ({3}): such pulls ended elsewhere",
        "cause",
    ),
    Sorted(
        "condition",
        r"Strength (falls with size|is not shown to grow with size)[:,] .*",
        "strength {1}",
        "more",
    ),
    Sorted(
        "condition",
        r"No part as small as the lower limit was tested; .*",
        "no part as small as the lower limit was tested",
        "limits",
    ),
    Sorted(
        "condition",
        r"Strength does not follow size along a straight line \((p [=<] ?[^)]*)\); .*",
        "strength does not follow size along a straight line ({1})",
        "limits",
    ),
    Sorted(
        "condition",
        r"Specimens of some batches scatter more than those of others \(SD (.+), (p [=<] ?[^)]*)\): .*",
        "specimens of some batches scatter more than those of others (SD {1}, {2})",
        "cause",
    ),
)
