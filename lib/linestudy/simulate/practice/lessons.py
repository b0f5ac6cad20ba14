"""Where each kind of fault shows, and what it teaches: shown with the grade, never before."""

from __future__ import annotations

#: For each kind: where it is to be seen in files and results, and why the decision depends on it.
LESSONS = {
    "sorted_parts": "The bins count rejects, and the run has no part outside: its histogram ends at the limits. An index of sorted "
    "parts says how well the sorter works, not the process.",
    "coil_apart": "In the means by coil one lies apart; the chart calls all its points out of control. Ppk of all values hides it as spread.",
    "tool_wear": "Single values over the strokes rise or fall in one line, and the slope per 1,000 strokes has an interval without "
    "zero. The index of this run is not that of a worn tool.",
    "jump": "Before and behind one stroke the means of subgroups lie at two levels. Something was changed there, and nobody wrote it down.",
    "restless": "On the lower half of the chart, the one of the SD, a stretch of points lies above its limit while the means look calm.",
    "alike": "Neighbouring parts correlate, so the effective sample size of hundreds of readings is small: the interval of the index is wide "
    "although n is large.",
    "over_adjusted": "Neighbours correlate by about −0.5: each part corrects the one before. Corrected so, the spread is 1.4 times that of "
    "a process left alone.",
    "bad_lane": "All parts together pass; by lane one has twice the spread and an index of its own that fails. The worst lane decides.",
    "skewed": "The histogram has one long tail. Mean and SD give a good index; the 99.865 % quantile of the distribution itself does not.",
    "excluded": "study.toml sets strokes aside as setting, as every line does; here the readings in there lie outside the limits. Look at "
    "the readings of every exclusion, and compare the result with and without them.",
    "implausible": "Every line has a plausible range; this one ends just inside the limits, so that bad parts are no readings. The data record "
    "counts them.",
    "wide_limits": "Limits of study.toml are not those of the drawing in the folder: compare before any index.",
    "copied_readings": "A stretch of readings comes again, digit by digit, at a later stroke. By chance no ten neighbours repeat.",
    "missing_large": "Cells are empty more often where their neighbours in the histogram are large: one side of it is cut off. What is "
    "missing is not missing by chance.",
    "coarse": "Few different values stand in the run, all in steps of more than a tenth of the tolerance; the gauge study shows finer ones.",
    "person_apart": "In the gauge study the readings of one person lie beside those of the others on every part: reproducibility (AV) "
    "carries %GRR.",
    "noisy_gauge": "The trials of one person on one part differ: repeatability (EV) alone is above 30 % of the tolerance. No index read "
    "with this gauge can be judged. ndc looks good because the parts were chosen over the whole tolerance.",
    "copied_trial": "One trial equals the trial before in every cell. Repeatability is too small then, and the gauge looks better than it is.",
    "parts_alike": "The parts of the gauge study lie closer together than the run: ndc is small though %GRR of the tolerance is good. "
    "Ask for other parts, not for another gauge.",
    "bias": "On every master the readings lie off by the same amount: the run is off by it too, and no chart of it shows that.",
    "linearity": "The bias differs from master to master: good in the middle, wrong at the limits, where parts are judged.",
    "camera_drift": "One master, read over the run, moves as the parts move. What looks like wear of the tool is the gauge.",
    "blind_inspector": "By person: one accepts bad parts that the others reject. The average of all hides it, and so does kappa where bad "
    "parts are few.",
    "few_bad_parts": "Count the bad parts among those shown: on one or two of them nobody can have shown to find bad parts.",
    "sent_twice": "Rows with the same stroke and clock stand twice. Counts and intervals are of fewer parts than it seems.",
    "bins_differ": "The bins hold more rejects than rows of the run bear the verdict of a reject. Somebody's parts are missing.",
    "reordered": "Strokes and clock rise, and the numbers of the images go back at every other row: the rows were sorted by size, and "
    "every chart over time is worthless.",
    "overdue": "The date of the certificate lies before the first day of the run.",
}
