"""Cautions of runs, distributions and indices, each with whom it is for; `of_gauges` holds those of gauges."""

from __future__ import annotations

from linestudy.dossier.content.cautions.kinds import CautionKind, P

#: Every kind of caution that a study of the process gives, in the order of the document.
OF_PROCESSES: tuple[CautionKind, ...] = (
    # The process in time
    CautionKind(
        "condition",
        r"The run is too short against its own slow movements: it shows an effective sample size of (\d+), .*",
        "the effective sample size of the run's slow movements is {1}",
        "longer",
    ),
    CautionKind(
        "method",
        r"Over the run as it went, with a level of its own between all named events, .*",
        "The slope of wear over the run takes a level of its own between all named events; that of the tool life counts "
        "resets alone, and is the one to plan resets by.",
    ),
    CautionKind("author", r"\d+ parts from order .* have one and the same value; .*"),
    CautionKind("rule", r"Order numbers repeat or go back; .*"),
    CautionKind("rule", r"\d+ subgroups are few to see movement by; .*"),
    CautionKind(
        "method",
        r"Each subgroup is of one stream, and each stream's distance .*",
        "On a chart of several streams each stream's distance from the mean of all is taken off.",
    ),
    CautionKind(
        "condition",
        r"Only (\d+ degrees? of freedom) (is|are) left for the slope: .*",
        "only {1} {2} left for the slope of wear",
        "longer",
    ),
    # Distribution and index
    CautionKind(
        "method",
        r"The tested values themselves still correlate .*",
        "Tests of normality reject too often where the tested values still correlate.",
    ),
    CautionKind(
        "condition",
        r"One value, (\S+(?: [^,]+)?), is why normality is rejected; .*",
        "one value, {1}, is why normality is rejected",
        "part",
    ),
    CautionKind(
        "condition",
        r"One value lies very far from the others; .*",
        "one value lies very far from the others",
        "part",
    ),
    CautionKind(
        "method",
        r"An? .* distribution has four parameters, and \d[\d,]* values know its ends poorly: .*",
        "Of a distribution with four parameters the ends are poorly known: in simulated studies intervals of its outer "
        "quantiles held the truth in 83 to 96 % where 95 % is claimed.",
    ),
    CautionKind("author", r"Every value lies outside the limits; .*"),
    CautionKind("author", r"How many parts were rejected is not in the folder\. .*"),
    CautionKind("rule", r".* of the parts were taken out; so much sorting .*"),
    CautionKind("rule", r"\d+ parts are few for two directions; .*"),
    CautionKind(
        "method",
        r"Size and deviation go together .*",
        "The expected share of a position with bonus takes size and deviation as independent.",
    ),
    CautionKind(
        "method",
        r"Parts are not independent: their effective sample size .*",
        "Intervals use the effective sample size where parts are not independent.",
    ),
    CautionKind(
        "condition",
        r"(\S.*) moves almost together with (\S+): .*",
        "{1} and {2} changed together in this run, so that their effects cannot be separated",
        "separate",
    ),
    CautionKind(
        "condition",
        r"(\d+) points are few to set limits by; 25 are usual\.",
        "{1} points on the control chart (25 are usual)",
        "more",
    ),
    CautionKind(
        "condition",
        r"On average a point expects less than one count.*",
        "rejects are too rare for a chart of rates (chart the parts or the time between rejects)",
        "chart",
    ),
    CautionKind(
        "condition",
        r"More than half of neighbouring values are equal.*",
        "more than half of neighbouring readings are equal, as of a gauge that froze",
        "finer",
    ),
    CautionKind("rule", r"The spread within subgroups exceeds that of all values.*"),
    CautionKind("rule", r"There are \d+ signals where .*"),
    CautionKind(
        "method",
        r"Subgroups are of unequal size; each has limits of its own\.",
        "Subgroups of unequal size have limits of their own; the value beside a line is the usual one.",
    ),
    CautionKind(
        "method",
        r"Long stretches differ more than neighbours suggest.*",
        "Low-frequency variation (between coils, over the run) lowers the effective sample size of the mean.",
    ),
    CautionKind(
        "method",
        r"(\d+ .* describe this run, not .*|(?:[\d,]+ )?\w+ are taken as a sample of those to come.*|\d+ of \d+ .* hold too few independent stretches.*|\w+ follow each other in time.*|The values come from \d+ lots.*)",
        "Coils, lots and batches are taken as a sample of those to come; what moved the process meanwhile counts as theirs.",
    ),
    CautionKind(
        "method", r"Speaks of spread alone.*", "The test of equal spread says nothing of the means."
    ),
    CautionKind(
        "method",
        r"The limit lies further ahead.*",
        "Tool life is extrapolated where the limit lies beyond the strokes of this run.",
    ),
    CautionKind(
        "method",
        r"The size of a step takes its place as known.*",
        "The interval of a mean shift takes its place as known.",
    ),
    CautionKind(
        "method",
        r"Holds for independent points.*",
        "Run lengths hold for independent points; correlated points signal sooner.",
    ),
    # The control plan's line says it.
    CautionKind("rule", r"Stations take turns every \d+ parts: .*"),
    CautionKind(
        "method",
        r"Subgroups of \S+ do not hold whole turns of \d+ parts: .*",
        "Means of subgroups that do not hold whole turns of the stations move with the mix; charts of each stream do not.",
    ),
    CautionKind(
        "condition",
        r"(The chart says little of .+)\. Take (as many .+?)\.?",
        "{1} (take {2})",
        "chart",
    ),
    CautionKind(
        "method", r"Holds for a shift that stays.*", "Sampling plans hold for shifts that stay."
    ),
    CautionKind(
        "method",
        r"There is no lower limit, so an improvement cannot signal\.",
        "Charts of rare rejects have no lower limit: an improvement cannot signal.",
    ),
    CautionKind(
        "condition",
        r"The gauge drifts on its master by as much: .*",
        "the gauge drifts as much as the readings, so that the tool may not have moved",
        "drift",
    ),
    CautionKind(
        "condition",
        r"The gauge drifts on its master by (.+): readings move with it; less that drift (.+) is left\.",
        "the gauge drifts on its master by {1}, and readings move with it; less that drift {2} is left",
        "drift",
    ),
    CautionKind(
        "condition",
        r"(\w+ resets?) (was|were) seen; how far lives differ from one another is not known\.",
        "{1} of the tool {2} seen, which does not show how far tool lives differ",
        "longer",
    ),
    CautionKind("rule", r"No reset lies inside the run: .*"),
    CautionKind(
        "condition",
        r"([\d,]+) resets? of the tool .* named nowhere\.",
        "resets of the tool that nobody named were found in the readings ({1})",
        "name",
    ),
    CautionKind(
        "condition",
        r"At stroke ([\d,]+) the level moved on by (.*) the way the tool wears: .*",
        "what was done to the tool at stroke {1} moved it on by {2} the way it wears",
        "tool",
    ),
    CautionKind(
        "condition",
        r"At stroke ([\d,]+) (\d+%) of the wear before it was taken back: .*",
        "the reset at stroke {1} took back {2} of the wear before it",
        "tool",
    ),
    CautionKind(
        "condition",
        r"Not every part names its coil, so what coils differ by .*",
        "not every part names its coil, so that the interval of the wear holds what coils differ by in part only",
        "name",
    ),
    CautionKind(
        "method",
        r"(Regrinds are named by stream|The streams wear differently); this is the life of .*",
        "Where streams wear or are ground differently, tool life is that of the worst of them.",
    ),
    CautionKind(
        "method",
        r"Wear between the named resets was taken off first\.",
        "Wear between named resets is taken off before coils and streams are compared.",
    ),
    CautionKind(
        "method",
        r"The level of each tool life and the common slope of wear are taken off; .*",
        "Trend charts take off the level of each tool life and the common slope of wear.",
    ),
    CautionKind(
        "method",
        r"The index is reached far beyond the .*",
        "Tool life is extrapolated where the limit lies beyond the strokes of this run.",
    ),
    CautionKind(
        "method",
        r"The intervals of \d+ streams overlap: .*",
        "Where intervals of streams overlap, the lowest estimate is low on average because it is the lowest.",
    ),
    CautionKind(
        "method",
        r"[\d,]+ parts carry the information of .*",
        "Intervals use the effective sample size of correlated values.",
    ),
    CautionKind(
        "method",
        r"A weak weld of full width is not seen by its width.*",
        "Strength by size assures only what the destroyed parts showed.",
    ),
    # Distribution and index
    CautionKind(
        "condition",
        r"The values leave Ppk anywhere in (.*); take more of them\.",
        "Ppk is known no better than {1}",
        "more",
    ),
    CautionKind(
        "method",
        r"By some distributions so few values leave Ppk open .*",
        "A distribution by which the interval of Ppk spans more than tenfold is left out; the next that describes the readings "
        "takes its place.",
    ),
    CautionKind(
        "condition",
        r"(\d+) parts were taken; ISO 22514-3 prefers 100\.",
        "{1} parts of the short run (100 are preferred)",
        "more",
    ),
    CautionKind(
        "condition",
        r"The run drifts \((.*)\); what moved belongs to the process.*",
        "the short run drifts ({1})",
        "steady",
    ),
    CautionKind(
        "condition",
        r"The deviations are not bivariate normal.*",
        "the deviations in x and y are not bivariate normal",
        "share",
    ),
    CautionKind(
        "condition",
        r"Blocks give an effective sample size of .*: they may be too narrow\.",
        "movements are as long as the run, so that intervals of the index may be too narrow",
        "longer",
    ),
    CautionKind(
        "method",
        r"Rounding is why normality is rejected.*",
        "Where rounding alone makes a test reject, the readings are tested as if spread over their steps.",
    ),
    CautionKind(
        "method",
        r"Tests reject the normal distribution.*",
        "The consequence of a rejected distribution is shown beside it: what each candidate expects outside the limits.",
    ),
    CautionKind(
        "method",
        r"Tests were made on .*",
        "Tests of a distribution are made on 250 values spread over the run.",
    ),
    CautionKind(
        "method",
        r"Neighbouring values correlate .*",
        "Tests of a distribution are made on 250 values spread over the run.",
    ),
    CautionKind(
        "method",
        r"(The values do not tell the chosen distribution from: .*|\d+ distributions describe the values about as well.*)",
        "Where several distributions are not rejected, the lowest index decides and intervals hold all of them.",
    ),
    CautionKind(
        "method",
        r"Two overlapping components .*",
        "Two components stand for two stations or settings.",
    ),
    CautionKind(
        "method",
        r"Readings come in steps of .*: so coarse a resolution alone makes normality tests reject\.",
        "Where rounding alone makes a test reject, the readings are tested as if spread over their steps.",
    ),
    CautionKind(
        "method",
        r"(None seen in .*|0 nonconforming in .*)",
        "0 nonconforming seen bounds the rate only as far as the number of parts does; the expected rate rests on the distribution.",
    ),
    CautionKind(
        "method",
        r"(The values are not independent.*|.* have an effective sample size of .*)",
        "Intervals use the effective sample size of correlated values.",
    ),
    CautionKind(
        "method",
        r"This is an addition to the index of the readings.*",
        "The index corrected for measurement variation is supplementary; the decision rests on the readings.",
    ),
    CautionKind(
        "method",
        r"Counts are of the gauge's readings.*",
        "Counts of nonconforming parts are of the gauge's readings.",
    ),
    CautionKind(
        "method",
        r"Characteristics are taken as independent.*",
        "Expected rejects take characteristics as independent, which is a little too high where they are not.",
    ),
    CautionKind(
        "method",
        r"Readings take few different values, so the intervals hold.*",
        "Distribution-free intervals of rounded readings hold slightly more than stated.",
    ),
    CautionKind("rule", r"\d+ values (say little about the outer quantiles|are few).*"),
    CautionKind("rule", r"The readings take \d+ different values only.*"),
    CautionKind("rule", r"A decision to release parts belongs to those authorised.*"),
    # Readings and parts that do not add up
    CautionKind(
        "condition",
        r"(\d[\d,]* of \d[\d,]* values) equal the one before, where (\S+) would by chance: .*",
        "{1} equal the one before, where {2} would by chance",
        "finer",
    ),
    CautionKind(
        "condition",
        r"Neighbours are correlated \(([^)]+)\); the intervals, which take .*",
        "neighbours in the short run are correlated ({1})",
        "steady",
    ),
    CautionKind(
        "condition",
        r"(\d[\d,]* accepted parts?) lie outside the limits by the logged reading, .*",
        "{1} outside the limits by the logged reading, more than measurement error explains",
        "cause",
    ),
    CautionKind(
        "condition",
        r"(\d[\d,]* rejected parts?) lie inside all limits by the logged reading, .*",
        "{1} inside all limits by the logged reading, more than measurement error explains",
        "cause",
    ),
    CautionKind(
        "condition",
        r"More (escapes|overkill) than measurement error explains: .*",
        "more {1} than measurement error explains",
        "cause",
    ),
    # What cannot be told from something else, and what nobody named
    CautionKind(
        "condition",
        r"(\d+ named resets? of \d+) came with a change of coil: .*",
        "{1} came with a change of coil",
        "separate",
    ),
    CautionKind(
        "condition",
        r"Of these \d+ (?:lies|lie) at an event that is not said to set the tool anew \((.+)\)\.",
        "the level is set anew at an event that is not named as a reset ({1})",
        "name",
    ),
    CautionKind(
        "condition",
        rf"Neighbouring values differ more than chance lets them \({P}\): .*",
        "neighbouring values alternate, so that limits from moving ranges are too wide ({1})",
        "chart",
    ),
    CautionKind(
        "condition",
        r"Wear is not straight: (.+) \(mean of .+ lives\), so .*",
        "wear is not straight: {1}",
        "longer",
    ),
)
