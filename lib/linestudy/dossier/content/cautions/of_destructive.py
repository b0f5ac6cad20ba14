"""Cautions of tests that destroy the part, each with whom it is for."""

from __future__ import annotations

from linestudy.dossier.content.cautions.kinds import CautionKind, P

#: Every kind of caution that a destructive study gives, in the order of the document.
OF_DESTRUCTIVE_TESTS: tuple[CautionKind, ...] = (
    CautionKind(
        "method",
        r"Batches are taken as homogeneous: .*",
        "Batches are taken as homogeneous, as they are where specimens of a batch were divided among testers at random.",
    ),
    CautionKind(
        "condition",
        r"Each tester had batches of their own, so .*",
        "each tester had batches of their own",
        "people",
    ),
    CautionKind(
        "method",
        r"\d+ testers say little .*",
        "The spread between testers is estimated from few of them; the upper end of its interval allows for that.",
    ),
    CautionKind(
        "method",
        r"The spread of specimens is declared .*",
        "The declared spread of specimens is taken off the test's without an uncertainty of its own.",
    ),
    CautionKind(
        "condition",
        r"(\d+ forces? of \d+) (?:is|are) nought: .*",
        "of the forces nought, as without a weld: {1}",
        "cause",
    ),
    CautionKind(
        "condition",
        rf"(\d+ of \d+ forces) stand at the greatest value, (.+) or nearly \({P}\): .*",
        "{1} stand at the greatest value, {2} ({3}): such pulls ended elsewhere",
        "cause",
    ),
    CautionKind(
        "condition",
        r"Strength (falls with size|is not shown to grow with size)[:,] .*",
        "strength {1}",
        "more",
    ),
    CautionKind(
        "condition",
        r"No part as small as the lower limit was tested; .*",
        "no part as small as the lower limit was tested",
        "limits",
    ),
    CautionKind(
        "condition",
        rf"Strength does not follow size along a straight line \({P}\); .*",
        "strength does not follow size along a straight line ({1})",
        "limits",
    ),
    CautionKind(
        "condition",
        rf"Specimens of some batches scatter more than those of others \(SD (.+), {P}\): .*",
        "specimens of some batches scatter more than those of others (SD {1}, {2})",
        "cause",
    ),
    CautionKind(
        "condition",
        r"(\d+) batches say little about the next one; .*",
        "{1} batches were pulled, which say little about the next one",
        "more",
    ),
    CautionKind(
        "condition",
        rf"Distances from the line are not normal \({P}\); .*",
        "distances of the strengths from their line are not normal ({1})",
        "more",
    ),
    CautionKind(
        "method",
        rf"The spread about the line changes with size \({P}\); .*",
        "Where strengths scatter more at some sizes, their bounds are too high there.",
    ),
)
