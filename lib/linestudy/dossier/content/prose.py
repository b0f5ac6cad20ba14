"""Sentences of the submission that do not depend on the data."""

from __future__ import annotations

RELEASE = ("Prepared", "Checked", "Released by", "Customer")

RELEASED_BY = "Whether parts are released is decided by those authorised to do so; this document informs that decision."

DECISIONS = (
    "Marker: lowest index that the readings do not reject, of the worst stream; bar: from its one-sided lower bound. "
    "A filled marker meets every rule. An index above the line does not decide alone: measurement system, statistical "
    "control, sample and sorting are held against their own rules."
)

OWN_CRITERIA = (
    "Upright marks are the criteria of each characteristic: dotted, from which it may be approved; whole, above which "
    "it is accepted."
)

SPECIAL = "◆ special characteristic"

#: Columns of the table of results and what is said of them where they are shown.
MATRIX = (
    ("mean", "mean and SD in the unit of the limits"),
    ("{index}", "{index}{worst} with its one-sided {confidence} lower bound"),
    ("ppm", "ppm expected outside"),
    ("out (exp.)", "out (exp.): subgroups out of control and false alarms expected"),
)

OWN_LEVEL = "The chart is about each stream's own level."

FRESH_LEVEL = "CL is the level just after a reset ({resets}), not the mean of the run."

TAILS = "Dots: share of the values beyond; line: the distribution of all values together."

ZONE = "Dots: parts; dashed: the zone; line: the largest ellipse in it; diamond: mean; cross: true position."

SORTING = "Bars: accepted parts; line: the process before sorting; hatched: taken out."

STRENGTH = "Dots: parts that were measured and then destroyed; line: mean; dashed: {:.3g} % lie above ({:.3g} % confidence)."

GAUGES = (
    "For each characteristic the gauge that it is decided with, as far as it was studied: readings of each part less the "
    "part's mean, by appraiser; readings less the certified value of the master; readings of one master over the run; "
    "differences of two gauges on the same parts. Dashed uprights are the tolerance limits, dotted lines the bias "
    "or drift that is allowed, bands {confidence} confidence."
)

ZONES = "Hollow bars: held by a larger one. White: a reading there proves neither; beyond it the part does not conform."

RULES = (
    "yes: the rule supports the claim; approval: the customer must approve; no: the evidence speaks against it; open: "
    "the evidence is missing; –: nothing for the rule to judge. The strongest of these is the decision."
)

CONTROL = (
    "What the author of the study has laid down; where nothing was, the limits of this run's chart and how often a sample of its "
    "size must be taken to find, on average within an hour, a shift that uses up the margin to the nearer limit. Limits hold for samples "
    "of the size beside them; where a subgroup is of one stream each stream has its own (the picture shows all at one level). "
    "Where resets are named (what sets the level anew, as a regrind or a cleaned lens), limits hold just after one and move with the wear."
)

TOOL_LIFE = (
    "From the wear between resets and the spread about it, over the longest life seen; Ppk of a whole life with its "
    "{confidence} interval. Reset (grind, replace, clean) by the stroke after a reset until which the index is held at {confidence} confidence, or "
    "when the mean of a subgroup passes the level named; beyond the life seen both are extrapolated. Not held: not even fresh "
    "at that confidence."
)

WEAR = "Strokes until three standard deviations about the mean reach the limit, if the movement goes on as in this run."

#: On the decision sheet; the table of all counts is on the next page.
COMPARE = (
    "No study can show that what it was given is whole: section 2 holds counts, first and last readings to be "
    "compared with records of one's own."
)
COMPARE_RUN = (
    "No study can show that what it was given is whole: run, coils, stations, strokes and parts made stand above to be "
    "compared with the counter of the press, the coils' tickets and the bins; section 2 holds first and last readings."
)

#: Two tables of what a reader can check without the study.
OWN_OF_EACH = "What each characteristic was given, to compare with the drawing, the gauge's record (order numbers in brackets), certificates, parts kept"
OWN_RECORDS = "What the study was given, to be compared with records of one's own"

ATTACHMENTS = "Copied into the dossier as they are, with their checksums, and not judged here."

#: Said of readings of the process that are too few to show what is rare.
FEW_READINGS = (
    "Of simulated studies of 125 readings a true index of 1.33 was taken for more than 1.67 in up to a quarter where tails are "
    "heavy, in half to two thirds where one to five parts in a hundred spread three to four times as much; a drift of one "
    "standard deviation over the run was seen in less than a third."
)

#: Said of gauge studies where one of this kind was made.
GAUGE_STUDIES = (
    (
        "crossed",
        "ndc stands here by the parts of the study; the decision takes the smaller of this and ndc by the variation of the run.",
    ),
    ("uncertainty", "Contributions that count for nothing are held by a larger one."),
)

SOURCES = (
    "What the variance of the readings would fall by if one source were removed and the others stayed. "
    "For the control plan: watch what moves, and sample far enough apart that it is seen. Each study here stands for "
    "itself at the confidence of the study, so that of many some are significant by chance; whether a process is in "
    "statistical control is decided by all tests together, whose result stands beside its control chart."
)

INDICES = (
    "Candidate distributions are fitted to all values, and one of them is drawn. The index is decided by a fixed list "
    "that stands for light, heavy and skewed tails: normal, Student's t, gamma, lognormal and others from a bound or a "
    "threshold, and the tail of the readings themselves. Where no part can pass a physical bound, those named without "
    '"with threshold" begin at it. A candidate that fits best need not be in that list: a '
    "logistic is held by Student's t, whose tails can be as heavy."
)

#: Why the part as a whole may be expected to fail less often than one of its characteristics alone in table 1.
WHOLE_BY_ALL_VALUES = (
    "Each characteristic is taken with the distribution of all its values here; by the descriptions that decide, "
    "whose ppm stand in the table of results, more are expected."
)

#: What a rule is called where its own name is not the field's.
RULE_NAMES = {
    "gauge spread": "%GRR",
    "categories": "ndc",
    "uncertainty": "Q_MS and Q_MP",
    "repeats": "repeated judgements",
}

#: What was computed, where the formula is, and where in the findings it is; the last holds always.
METHODS = (
    (
        "Crossed gauge study: mean squares, pooling of the interaction, ndc with factor 1.41",
        "AIAG MSA, 4th ed. (2010), ch. III",
        ("crossed",),
    ),
    (
        "Intervals of variance components: generalized pivotal quantities, modified large samples",
        "Burdick, Borror & Montgomery (2005), ch. 3; Graybill & Wang, JASA 75 (1980)",
        ("crossed", "nested"),
    ),
    (
        "Bias and linearity on masters",
        "AIAG MSA, 4th ed. (2010), ch. III, section B",
        ("bias", "linearity"),
    ),
    (
        "Cg and Cgk",
        "ISO 22514-7; fraction and spread as stated beside the numbers",
        ("cg_cgk",),
    ),
    (
        "Limits of agreement, with exact intervals",
        "Bland & Altman, Lancet 327 (1986); Carkeet (2015)",
        ("agreement",),
    ),
    (
        "Deming regression with jackknife",
        "Linnet, Clinical Chemistry 39 (1993)",
        ("agreement",),
    ),
    (
        "Kappa, effectiveness, exact intervals of rates",
        "Cohen (1960); Fleiss (1971); Clopper & Pearson (1934); statsmodels",
        ("attribute",),
    ),
    (
        "Nested components",
        "Searle, Casella & McCulloch (1992), ch. 3 and 4",
        ("nested",),
    ),
    (
        "Control chart: limits, constants, rates of false signals",
        "ISO 7870-2:2013; ASTM MNL 7",
        ("stability",),
    ),
    (
        "Effective number of independent parts",
        "Bartlett (1946); Sokal (1997), sec. 3",
        ("autocorrelation",),
    ),
    (
        "Sources of variation: least squares, block bootstrap",
        "Künsch, Annals of Statistics 17 (1989)",
        ("variance_sources",),
    ),
    (
        "Time-dependent model",
        "ISO 22514-2:2017",
        ("time_model",),
    ),
    (
        "Normality",
        "Anderson & Darling (1954); Shapiro & Wilk (1965); D'Agostino & Stephens (1986)",
        ("shape",),
    ),
    (
        "Families by maximum likelihood, corrected AIC",
        "Hurvich & Tsai, Biometrika 76 (1989)",
        ("shape",),
    ),
    (
        "Indices of normal values",
        "ISO 22514-2:2017; Kane, JQT 18 (1986); Owen (1968)",
        ("capability",),
    ),
    (
        "Interval of a two-sided Cpk or Ppk",
        "Mathew, Sebastian & Kurian (2007)",
        ("capability",),
    ),
    (
        "Indices from quantiles 0.135 %, 50 %, 99.865 %, with intervals by profile likelihood",
        "ISO 22514-4:2016; Venzon & Moolgavkar, Applied Statistics 37 (1988)",
        ("capability",),
    ),
    (
        "Tolerance intervals without a distribution",
        "Wilks (1941); ISO 16269-6:2014",
        ("tolerance_intervals",),
    ),
    (
        "Effective number checked by moving blocks",
        "Künsch (1989); Lahiri (2003), ch. 2",
        ("block_bootstrap",),
    ),
    (
        "Machine performance of a short run",
        "ISO 22514-3:2020",
        ("machine",),
    ),
    (
        "Position by the largest ellipse in its zone",
        "ISO 22514-6:2013; ISO 2692:2021",
        ("position",),
    ),
    (
        "Share outside some limit, from distributions and rank correlations",
        "Nelsen (2006), ch. 2; Genz (1992); Zou & Donner (2008)",
        ("joint",),
    ),
    (
        "Rounding of printed numbers by their uncertainty",
        "JCGM 100:2008, 7.2.6",
        (),
    ),
)

RECOMPUTE = (
    "This dossier is a bag (RFC 8493): manifests list every file with its SHA-256 and SHA-512. The "
    "folder data/study holds the description of the study and every input file; results.json holds every number in full "
    "precision, versions.txt what all was made with. The command linestudy recompute DOSSIER checks files and sums, computes everything again from the "
    "inputs alone, sets page, PDF and workbook anew and names whatever differs.",
    "Every random step derives from the seed of the study, so that a second run gives the same bytes.",
)
