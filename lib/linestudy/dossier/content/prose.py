"""Sentences of the submission that do not depend on the data."""

from __future__ import annotations

#: The questions a characteristic's pages go through, in this order.
QUESTIONS = {
    "measurement": "Is the measurement system adequate?",
    "control": "Is the process in statistical control?",
    "distribution": "What distribution is it?",
    "fit": "Does it fit the tolerance?",
    "set aside": "The same with the periods set aside",
    "further": "Further",
}

RELEASE = ("Prepared by", "Checked by", "Released by (authorised)", "Accepted for the customer by")

DECISIONS = (
    "Each characteristic is held against its criteria. An index stands with the interval it is known "
    "to; a good index does not outweigh a gauge that cannot be trusted or a process that does not hold "
    "still. A decision to release parts belongs to those authorised to take it."
)

OBJECTIONS = "Each of these stands against a claim until it is resolved or agreed in writing:"

SOURCES = (
    "What the variance of the readings would fall by if one source were removed and the others stayed. "
    "For the control plan: watch what moves, and sample far enough apart that it is seen."
)

CRITERIA = {
    "capability_accept": "index above which a characteristic is accepted",
    "capability_review": "index from which it may be accepted by approval",
    "grr_accept": "gauge spread, share of tolerance, accepted up to",
    "grr_review": "gauge spread, share of tolerance, by approval up to",
    "ndc_min": "distinct categories, at least",
    "bias_alpha": "level of the test of bias (shown, no longer decided on)",
    "bias_share": "bias at the limits, share of tolerance, its 90 % interval within",
    "drift_share": "drift between two resets, share of tolerance, its 90 % interval within",
    "q_ms_max": "Q_MS, at most",
    "q_mp_max": "Q_MP, at most",
    "cg_min": "Cg, at least",
    "cgk_min": "Cgk, at least",
    "resolution_share": "step of the readings, share of tolerance, at most",
    "contradiction": "level at which studies, or counts and expectation, contradict each other",
    "kappa_min": "kappa against the reference, at least",
    "effectiveness_min": "effectiveness of every appraiser, at least",
    "effectiveness_review": "effectiveness by approval, at least",
    "miss_max": "miss rate, at most",
    "miss_review": "miss rate by approval, at most",
    "false_alarm_max": "false alarm rate, at most",
    "false_alarm_review": "false alarm rate by approval, at most",
    "stability_alpha": "level at which a process counts as not in control",
    "decide_capability_on": "number a capability decision is made on",
    "decide_measurement_on": "number a measurement decision is made on",
    "least_readings": "readings of an initial study, at least",
    "least_subgroups": "subgroups of an initial study, at least",
}

METHODS = (
    (
        "Crossed gauge study: mean squares, pooling of the interaction, ndc with factor 1.41",
        "AIAG MSA, 4th ed. (2010), ch. III",
    ),
    (
        "Intervals of variance components: generalized pivotal quantities, modified large samples",
        "Burdick, Borror & Montgomery (2005), ch. 3; Graybill & Wang, JASA 75 (1980)",
    ),
    ("Bias and linearity on masters", "AIAG MSA, 4th ed. (2010), ch. III, section B"),
    ("Cg and Cgk", "ISO 22514-7; fraction and spread as stated beside the numbers"),
    (
        "Limits of agreement, with exact intervals",
        "Bland & Altman, Lancet 327 (1986); Carkeet (2015)",
    ),
    ("Deming regression with jackknife", "Linnet, Clinical Chemistry 39 (1993)"),
    (
        "Kappa, effectiveness, exact intervals of rates",
        "Cohen (1960); Fleiss (1971); Clopper & Pearson (1934); statsmodels",
    ),
    ("Nested components", "Searle, Casella & McCulloch (1992), ch. 3 and 4"),
    ("Control chart: limits, constants, rates of false signals", "ISO 7870-2:2013; ASTM MNL 7"),
    ("Effective number of independent parts", "Bartlett (1946); Sokal (1997), sec. 3"),
    (
        "Sources of variation: least squares, block bootstrap",
        "Künsch, Annals of Statistics 17 (1989)",
    ),
    ("Time-dependent model", "ISO 22514-2:2017"),
    ("Normality", "Anderson & Darling (1954); Shapiro & Wilk (1965); D'Agostino & Stephens (1986)"),
    ("Families by maximum likelihood, corrected AIC", "Hurvich & Tsai, Biometrika 76 (1989)"),
    ("Indices of normal values", "ISO 22514-2:2017; Kane, JQT 18 (1986); Owen (1968)"),
    ("Interval of a two-sided Cpk or Ppk", "Mathew, Sebastian & Kurian (2007)"),
    (
        "Indices from quantiles 0.135 %, 50 %, 99.865 %, with intervals by profile likelihood",
        "ISO 22514-4:2016; Venzon & Moolgavkar, Applied Statistics 37 (1988)",
    ),
    ("Tolerance intervals without a distribution", "Wilks (1941); ISO 16269-6:2014"),
    ("Effective number checked by moving blocks", "Künsch (1989); Lahiri (2003), ch. 2"),
    ("Machine performance of a short run", "ISO 22514-3:2020"),
    ("Position by the largest ellipse in its zone", "ISO 22514-6:2013; ISO 2692:2021"),
    (
        "Share outside some limit, from distributions and rank correlations",
        "Nelsen (2006), ch. 2; Genz (1992); Zou & Donner (2008)",
    ),
    ("Rounding of printed numbers by their uncertainty", "JCGM 100:2008, 7.2.6"),
)

RECOMPUTE = (
    "This dossier is a bag (RFC 8493): manifests list every file with its SHA-256 and SHA-512. The "
    "folder data/study holds study.toml and every input file; results.json holds every number in full "
    "precision, versions.txt what all was made with. The command linestudy recompute DOSSIER checks files and sums, computes everything again from the "
    "inputs alone, sets page, PDF and workbook anew and names whatever differs.",
    "Every random step derives from the seed in study.toml, so that a second run gives the same bytes.",
)

SAFETY = (
    "Work at the press: lock out and tag out before hands enter the die space, and never bypass guards or "
    "light curtains; a die that stands still may hold stored energy. Laser: only with the enclosure "
    "closed, or by persons authorised for open-beam work with eyewear for that wavelength. Strip and "
    "terminals are sharp: wear cut-resistant gloves and eye protection.",
    "Site rules, local codes and licensed practice come before anything written here. Whether parts may be "
    "released is decided by those authorised to do so, not by this document.",
)
