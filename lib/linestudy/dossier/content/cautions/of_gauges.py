"""Cautions of gauge studies, each with whom it is for; `of_processes` holds those of all other packages."""

from __future__ import annotations

from linestudy.dossier.content.cautions.kinds import CautionKind, P

#: Every kind of caution that a study of gauges or judgements gives, in the order of the document.
OF_GAUGES: tuple[CautionKind, ...] = (
    CautionKind(
        "condition",
        r"(\d+) parts say little about the spread of the parts\.",
        "{1} parts in the gauge study (ten or more are usual)",
        "more",
    ),
    CautionKind(
        "method",
        r"Repeated readings have heavier tails than normal ones.*",
        "Intervals of repeatability and GRR allow for the tails that repeated readings show; of heavy ones they see too little, and hold in "
        "90 to 94 of 100 simulated studies of 10 parts.",
    ),
    CautionKind(
        "method",
        r"Readings of the master have heavier tails than normal ones; .*",
        "Intervals of Cg and Cgk allow for the tails that readings of the master show; of heavy ones they see too little, and hold in "
        "92 to 94 of 100 simulated studies.",
    ),
    CautionKind("author", r"A master was read \d+ times only; .*"),
    CautionKind(
        "condition",
        r"One appraiser measured, so nothing is known of the spread between appraisers\.",
        "one appraiser measured",
        "people",
    ),
    CautionKind(
        "condition",
        r"Repeated readings scatter \w+ on larger parts \((.*)\); for (\w+) parts .*",
        "repeatability is larger on {2} parts than the one given ({1})",
        "limits",
    ),
    CautionKind(
        "condition",
        rf"The trials differ: their means lie up to (.*) apart \({P}\)\. .*",
        "the trials differ by up to {1} ({2})",
        "cause",
    ),
    CautionKind(
        "method",
        r"Groups are of unequal size; components are estimated by .*",
        "Components of groups of unequal size are estimated by restricted likelihood; their intervals hold approximately.",
    ),
    CautionKind(
        "condition",
        r"Repeated readings fall into one or two steps\..*",
        "repeated readings fall into one or two steps",
        "finer",
    ),
    CautionKind(
        "method",
        r"The reference (?:accepts|rejects) .* of the parts; with so one-sided a mix kappa .*",
        "Where the reference accepts or rejects nearly all parts kappa comes out low even with few errors; the rates beside it do not.",
    ),
    CautionKind("rule", r"Each part was judged once, .*"),
    CautionKind(
        "method",
        r"\d+ judgements near the (lower|upper) limit leave its curve uncertain.*",
        "Where fewer than a hundred judgements lie near a limit, intervals of where judgement turns hold in 92 to 94 of 100 simulated "
        "studies.",
    ),
    CautionKind(
        "condition",
        r"At the (\w+) limit the judgement is biased: it (.*)\.",
        "at the {1} limit the judgement {2}",
        "samples",
    ),
    CautionKind(
        "method",
        r"The intervals do not hold the uncertainty of process and gauge\.",
        "Intervals of risks without draws of process and gauge do not hold their uncertainty.",
    ),
    CautionKind(
        "condition",
        rf"Appraisers do not repeat equally well \({P}\): (.*); one common repeatability.*",
        "appraisers do not repeat equally well ({1}; {2})",
        "cause",
    ),
    CautionKind(
        "condition",
        r"Without (\S+ .+) the gauge's spread would lie outside the interval of the whole study.*",
        "without {1} %GRR would lie outside its interval",
        "cause",
    ),
    CautionKind(
        "condition",
        r"The masters do not reach the (.+); the bias there is extrapolated\.",
        "the masters do not reach the {1}, so the bias there is extrapolated",
        "limits",
    ),
    CautionKind(
        "condition",
        r"(\d+) readings are few; 25 to 50 are usual for this study\.",
        "{1} readings of the master for Cg and Cgk (25 to 50 are usual)",
        "more",
    ),
    CautionKind(
        "condition",
        r"The declared resolution is (\S+), the readings come in steps of (\S+(?: [^:]+)?): they were (rounded on the way|recorded finer than that)\.",
        "the readings come in steps of {2}, the resolution is {1}",
        "finer",
    ),
    CautionKind(
        "condition",
        r"The readings were written in steps of (.+) but fall on multiples of (.+) only: the gauge showed ([^,]+), and that is its step\.",
        "the gauge showed {3}, in steps of {2}, and the readings were converted",
        "finer",
    ),
    CautionKind(
        "condition",
        r"Some last digits are preferred.*",
        "some last digits are preferred",
        "finer",
    ),
    CautionKind(
        "condition",
        r"The difference changes with size \((.*)\); one correction for all sizes misleads\.",
        "the difference of the two gauges changes with size ({1})",
        "limits",
    ),
    CautionKind(
        "condition",
        r"(\d+) parts are few for rates of error; 50 are usual\.",
        "{1} parts were judged (50 are usual)",
        "more",
    ),
    CautionKind("author", r"Not in the budget: .*"),
    CautionKind("author", r"How the errors of .* compare is not known; .*"),
    CautionKind(
        "method",
        r"Passing and Bablok's line takes the errors of .*",
        "Passing and Bablok's line takes the errors of both gauges as equally large; where they are not, Deming's line counts.",
    ),
    CautionKind(
        "method",
        r"\d+ levels of the factor say little.*",
        "The spread between levels of a third factor is estimated from few of them; intervals of GRR that hold it were right in 92 of "
        "100 simulated studies rather than 95.",
    ),
    CautionKind(
        "method",
        r"\d+ appraisers say little.*",
        "The spread between appraisers is estimated from few of them; the upper end of its interval allows for that.",
    ),
    CautionKind(
        "method",
        r"An interaction of part and appraiser cannot be seen by averages and ranges\.",
        "Averages and ranges cannot show an interaction of part and appraiser; the analysis of variance does.",
    ),
    CautionKind(
        "method",
        r"A reading that stands out is a reason.*",
        "A reading that stands out is a reason to look at how it was taken, not to drop it.",
    ),
    CautionKind(
        "method",
        r"The line starts anew at each .*",
        "Drift is estimated anew after each named reset.",
    ),
    CautionKind(
        "method",
        r"The combined uncertainty rests on .*",
        "Expanded uncertainties take k = 2 where their degrees of freedom would ask for slightly more.",
    ),
    CautionKind(
        "method",
        r"The estimate of .* came out negative and is set to zero\.",
        "Variance components whose estimate is negative are set to zero.",
    ),
    CautionKind(
        "method",
        r"\d+ tests at once.*",
        "Of many tests of bias one in twenty is significant by chance alone.",
    ),
    CautionKind(
        "method",
        r"The gauge's bias of .* is part of the risk\.",
        "A significant bias is part of the consumer's and the producer's risk.",
    ),
    CautionKind(
        "method",
        r"The masters' own uncertainty is in the intervals.*",
        "Intervals of bias hold the uncertainty of the masters.",
    ),
    CautionKind(
        "method",
        r"The masters' uncertainties are taken as independent of one another.*",
        "The interval of the mean bias takes the uncertainties of masters on several certificates, or on none that is named, as "
        "independent of one another.",
    ),
    CautionKind(
        "method",
        r"In \d+% of the truths that fit these data.*",
        "Risks are averaged over the truths that leave the process some spread of its own.",
    ),
    CautionKind(
        "method",
        r"Cells hold unequal numbers of readings.*",
        "Where cells hold unequal numbers of readings, components are estimated by restricted maximum likelihood.",
    ),
    CautionKind(
        "method",
        r"\d+ parts leave the limits of agreement uncertain\.",
        "Limits of agreement have intervals of their own.",
    ),
    CautionKind(
        "method",
        r"(\d+ groups of .* say little about their spread|\d+ readings in the smallest cell.*)\.?",
        "Few groups say little about their spread; the interval allows for that.",
    ),
    CautionKind("rule", r"Only \d+ different values occur.*"),
    CautionKind("rule", r"Repeated readings never differed in .*"),
    # The list of equipment says so.
    CautionKind("rule", r"The certificate of .+ was due on .+ before the study\."),
    CautionKind("author", r"The due date .* cannot be read; .*"),
    CautionKind("author", r".* is said to be correlated with .*"),
    CautionKind(
        "method",
        r"Simulated by JCGM 101, .*",
        "Where contributions are not normal or rest on few degrees of freedom, the interval by simulation differs "
        "from the expanded uncertainty.",
    ),
    # Judgements in grades, thresholds
    CautionKind(
        "condition",
        r"(\d+) parts are few for agreement in grades; 30 are usual.*",
        "{1} parts were judged in grades (30 are usual for weighted kappa)",
        "more",
    ),
    CautionKind(
        "condition",
        r"At the (\S+) limit appraisers (.+) and (.+) turn at different sizes; agree on boundary samples\.",
        "at the {1} limit the judgements of {2} and {3} change at different sizes",
        "samples",
    ),
    CautionKind(
        "condition",
        r"No part was judged (.+), so nothing is known of that grade\.",
        "no part was judged {1}",
        "more",
    ),
    CautionKind(
        "method",
        r"\d+ % of the judgements are .*",
        "Where nearly all parts have one grade, kappa comes out low even where few errors are made.",
    ),
    CautionKind(
        "method",
        r"\d+ judgements? (is|are) missing; agreement is taken over what was judged\.",
        "Where judgements are missing, agreement is taken over what was judged.",
    ),
    CautionKind("author", r"At the (lower|upper) limit, appraiser .*"),
    # Several measuring systems on the same parts
    CautionKind(
        "method",
        r"Not the same people read with every system.*",
        "Where different people read with two measuring systems, the bias between these holds what people differ by.",
    ),
    CautionKind(
        "condition",
        r"(\d+) common parts are few; ten or more are usual\.",
        "{1} parts were read by both measuring systems (ten or more are usual)",
        "more",
    ),
    CautionKind(
        "condition",
        r"(.+): parts of the same name do not read alike with the two (.+): they may be other parts\.",
        "{1}: parts of the same name do not read alike {2} and may be other parts",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"The gauge repeated worse in the study (.+) than in the last one \({P}\)\.",
        "the gauge repeated worse in the study {1} than in the last one, which is decided on ({2})",
        "cause",
    ),
    CautionKind("author", r".+ against .+: the (two have|difference is) .*"),
    CautionKind(
        "condition",
        rf"(.+) repeats with a standard deviation of .+, the next best with .+ \({P}\): averages, .*",
        "{1} repeats far better than the next best ({2}), as averages or copies would",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"The differences are not normal \({P}\): limits of agreement, .* Farthest apart are (.+) at (.+) and (.+) at (.+)\.",
        "the differences of {2} and {4} are not normal ({1}); farthest apart is the part that reads {3} and {5}",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"(.+) reads parts (\S+) times as far apart as (.+) \({P}\): look at the (?:scale|unit) of these readings\.",
        "{1} reads parts {2} times as far apart as {3} ({4})",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"(.+) reads (\S+ (?:above|below)) the others over all parts \({P}\): a bias of its own.*",
        "{1} reads {2} the others over all parts ({3})",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"On one part (.+), much farther apart than on the others \({P}\): .*",
        "on one part {1}, much farther apart than on the others ({2})",
        "cause",
    ),
    CautionKind(
        "condition",
        r"The readings of (.+?)(?:: look whether labels were exchanged\.|: the parts hardly differ, or pairs do not belong together\.)",
        "parts may have been exchanged: the readings of {1}",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"One straight line will not do for all sizes \({P}\)\.",
        "one straight line will not do for all sizes ({1})",
        "limits",
    ),
    CautionKind(
        "condition",
        rf"The bias is not the same on all masters \({P}\): (.+), more than .*",
        "the bias is not the same on all masters ({1}): {2}",
        "limits",
    ),
    # Crossed studies whose readings do not look independent
    CautionKind(
        "condition",
        rf"Part × appraiser is significant \({P}\): .*",
        "appraisers read single parts differently, or remembered what they had read ({1})",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"The means of a part by different appraisers lie closer together than .* \({P}\): .*",
        "appraisers' means of a part lie closer together than repeated readings let expect ({1})",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"The trials of single appraisers differ, most of all those of (.+) \({P}\): .*",
        "the trials of single appraisers differ, most of all those of {1} ({2})",
        "cause",
    ),
    CautionKind(
        "condition",
        r"(.+) (accepted|rejected) every part.*: such judgements tell nothing of the parts\.",
        "{1} {2} every part",
        "cause",
    ),
    CautionKind(
        "condition",
        r"(.+) judges against the reference more often than with it .*",
        "{1} judges against the reference more often than with it",
        "cause",
    ),
    CautionKind(
        "condition",
        r"Each master was read once: .*",
        "each master was read once",
        "more",
    ),
    CautionKind(
        "condition",
        r"(\d+) readings are few for a statement about drift\.",
        "{1} readings of the master along the run are few for a statement about drift",
        "more",
    ),
    CautionKind(
        "condition",
        r"Errors follow one another \((lag-1 correlation [^)]*)\): .*",
        "errors on the master follow one another ({1})",
        "cause",
    ),
    CautionKind(
        "condition",
        r"Each (\S+) belongs to one (\S+) only, so .*",
        "each {1} belongs to one {2} only",
        "people",
    ),
)
