"""Studies made to look better: each manipulation as a function on a study's tables, and the trace it must leave.

The honest study is of one line: a width read by a camera (true index 1.4) and a force read by a load cell
(1.3), with crossed study, masters, drift, bins, clock, coils and stations. What a reader of the decision sheet
sees is ``line_study.sheet``; a manipulation counts as visible where the sheet says what it must and the sheet of
the honest study does not.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from line_study import Folder, N, honest


@dataclass(frozen=True)
class Manipulation:
    """What somebody does to the study, and the words that the sheet must then say."""

    name: str
    change: Callable[[Folder], None]
    trace: str

    def done(self, seed: int = 5) -> Folder:
        """The honest study with this done to it."""
        study = copy.deepcopy(honest(seed))
        self.change(study)
        return study

    def seen(self, before: str, after: str) -> bool:
        """Whether the trace stands on the sheet, and was not there before."""
        known = set(before.split("\n"))
        return any(re.search(self.trace, line) for line in after.split("\n") if line not in known)


def _outside(study: Folder, half: float = 0.35) -> Any:
    return (study.run["width"] - 5).abs() > half


def _renumbered(table: pd.DataFrame) -> pd.DataFrame:
    table = table.reset_index(drop=True)
    return table.assign(stroke=np.arange(1, len(table) + 1))


def _width(study: Folder, values: Any) -> None:
    study.run["width"] = np.round(np.asarray(values, float), 3)
    study.run["verdict"] = np.where(np.abs(study.run["width"] - 5) > 0.5, "nok", "ok")


# The 29 of the audit, in its order.


def plausible_cut(s: Folder) -> None:
    s.more["width"] = "plausible = [4.7, 5.3]"


def out_of_limits_as_9999(s: Folder) -> None:
    s.run.loc[_outside(s), "width"] = 9999
    s.more["run"] = 'missing = ["", "NA", "9999"]'


def out_of_limits_missing(s: Folder) -> None:
    s.run.loc[_outside(s), "width"] = np.nan


def good_parts_only(s: Folder) -> None:
    s.run = _renumbered(s.run[~_outside(s, 0.2)])


def rounded(s: Folder) -> None:
    s.run["width"] = np.round(s.run["width"] / 0.2) * 0.2


def few_subgroups(s: Folder) -> None:
    s.every = 350


def fewer_subgroups(s: Folder) -> None:
    s.every = 900


def sorted_by_value(s: Folder) -> None:
    s.run["width"] = np.sort(s.run["width"])


def parts_twice(s: Folder) -> None:
    half = s.crossed[s.crossed["part"] < 5]
    s.crossed = pd.concat([half, half.assign(part=half["part"] + 5)])


def gauge_studies_left_out(s: Folder) -> None:
    s.studies = ""


def good_rows_duplicated(s: Folder) -> None:
    good = s.run.loc[~_outside(s, 0.2), "width"].to_numpy()
    _width(s, np.resize(good[:600], N))


def coil_purged(s: Folder) -> None:
    s.run.loc[s.run["coil"] == "K3", "verdict"] = "purged"
    s.more["run"] = 'purge = ["purged"]\nset_aside_verdict = { purged = "coil taken out" }'


def coil_deleted(s: Folder) -> None:
    s.run = s.run[s.run["coil"] != "K3"]


def set_aside_a_third(s: Folder) -> None:
    s.end = '[[set_aside]]\nreason = "start-up"\nfirst = 1\nlast = 720\n'


def rows_duplicated(s: Folder) -> None:
    s.run = pd.concat([s.run, s.run[:500]])


def gauge_range(s: Folder) -> None:
    s.more["cam"] = "range = [4.7, 5.3]"


def family_by_hand(s: Folder) -> None:
    s.more["width"] = 'family = "normal"'


def own_criteria(s: Folder) -> None:
    s.more["criteria"] = (
        '[criteria]\ncapability_accept = 1.0\ncapability_review = 0.8\nsource = "AIAG PPAP, 4th ed."\n'
    )


def confidence_a_half(s: Folder) -> None:
    s.more["head"] = "confidence = 0.5"


def moving_average(s: Folder) -> None:
    _width(s, np.convolve(np.resize(s.run["width"], N + 4), np.ones(5) / 5, "valid"))


def winsorized(s: Folder) -> None:
    _width(s, np.clip(s.run["width"], 4.75, 5.25))


def shuffled(s: Folder) -> None:
    _width(s, np.random.default_rng(1).permutation(s.run["width"]))


def coil_deleted_all_matched(s: Folder) -> None:
    s.run = _renumbered(s.run[s.run["coil"] != "K3"])
    s.run["time"] = pd.Timestamp("2026-03-02 06:00") + pd.to_timedelta(
        s.run["stroke"] * 0.25, unit="s"
    )
    s.bins = s.bins[s.bins["period"] != "K3"]


def another_unit(s: Folder) -> None:
    s.more["unit"] = 'unit = "lbf"'


def masters_edited(s: Folder) -> None:
    s.masters["master"] = s.masters.groupby("master")["width"].transform("mean").round(3)


def parts_spread(s: Folder) -> None:
    s.crossed["width"] += 3 * (s.crossed.groupby("part")["width"].transform("mean") - 5)


def study_copied(s: Folder) -> None:
    first = s.crossed.groupby("part")["width"].transform("first")
    s.crossed["width"] = first + 0.001 * np.random.default_rng(1).integers(-1, 2, len(s.crossed))


def tags_removed(s: Folder) -> None:
    s.tags = ""


def not_special(s: Folder) -> None:
    s.special = False


def another_seed(s: Folder) -> None:
    s.more["head"] = "seed = 7"


def limits_widened(s: Folder) -> None:
    s.lower, s.upper = 4.3, 5.7


AUDIT = (
    Manipulation("plausible cut", plausible_cut, r"left out by a range or a missing code"),
    Manipulation(
        "out of limits as 9999",
        out_of_limits_as_9999,
        r"(no reading|no usable value in the row):? \d+",
    ),
    Manipulation(
        "out of limits missing",
        out_of_limits_missing,
        r"(no reading|no usable value in the row):? \d+",
    ),
    Manipulation(
        "good parts only", good_parts_only, r"accepted parts only|difference must be explained"
    ),
    Manipulation("rounded", rounded, r"coarser than the gauge's|resolution 20"),
    Manipulation("few subgroups", few_subgroups, r"6 subgroups"),
    Manipulation("fewer subgroups", fewer_subgroups, r"3 subgroups"),
    Manipulation("sorted by value", sorted_by_value, r"[Nn]ot in (statistical )?control"),
    Manipulation("same parts twice", parts_twice, r"pairs of parts are the same"),
    Manipulation(
        "gauge studies left out",
        gauge_studies_left_out,
        r"no crossed study of Camera",
    ),
    Manipulation("good rows duplicated", good_rows_duplicated, r"stand again"),
    Manipulation("coil purged", coil_purged, r"verdict purged:? 500"),
    Manipulation("coil deleted", coil_deleted, r"500 order numbers \(25.0 %\)"),
    Manipulation("a third set aside", set_aside_a_third, r"36.0 ?% of the readings"),
    Manipulation("rows duplicated", rows_duplicated, r"repeated row:? 500"),
    Manipulation("gauge range", gauge_range, r"left out by a range or a missing code"),
    Manipulation("family by hand", family_by_hand, r"distribution is named"),
    Manipulation("own criteria", own_criteria, r"is not where these values stand"),
    Manipulation("confidence a half", confidence_a_half, r"50% confidence only"),
    Manipulation("moving average", moving_average, r"averages over 5 neighbours"),
    Manipulation("winsorized", winsorized, r"piled-up end"),
    Manipulation("shuffled", shuffled, r"first and last readings.*gauge's own record"),
    Manipulation("coil deleted, all matched", coil_deleted_all_matched, r"coils \| 3: .*tickets"),
    Manipulation("another unit", another_unit, r"declared in lbf and multiplied by 4\.448"),
    Manipulation("masters edited", masters_edited, r"masters \|.*certificates"),
    Manipulation("parts spread", parts_spread, r"spread [\d.]+ times as much as those of the run"),
    Manipulation("gauge study copied", study_copied, r"contradict each other"),
    Manipulation("tags removed", tags_removed, r"The readings carry no clock, coil or station"),
    Manipulation("not special", not_special, r"limits and class.*4.5 to 5.5 mm, not special"),
    Manipulation("another seed", another_seed, r"seed of random draws \| 7"),
    Manipulation("limits widened", limits_widened, r"4.3 to 5.7 mm"),
)


# More.


def copied_with_a_constant(s: Folder) -> None:
    y = s.run["width"].to_numpy().copy()
    y[1200:1600] = y[:400] + 0.007
    _width(s, y)


def copied_with_noise(s: Folder) -> None:
    y = s.run["width"].to_numpy().copy()
    y[1200:1600] = y[:400] + 0.001 * np.random.default_rng(1).integers(-1, 2, 400)
    _width(s, y)


def copied_and_shuffled(s: Folder) -> None:
    y = s.run["width"].to_numpy().copy().reshape(-1, 25)
    draw = np.random.default_rng(1)
    for k in range(30):
        y[k + 40, :5] = draw.permutation(y[k, :5])
    _width(s, y.ravel())


def appraiser_copied(s: Folder) -> None:
    wide = s.crossed.set_index(["part", "who", "trial"])["width"].unstack("who")
    wide["B"] = wide["A"] + 0.004
    s.crossed = wide.stack().rename("width").reset_index()


def averages_as_readings(s: Folder) -> None:
    y = np.random.default_rng(2).normal(5, 0.12, (N, 5)).round(3).mean(axis=1)
    s.run["width"] = y.round(4)


def coarse_averages(s: Folder) -> None:
    s.run["width"] = np.random.default_rng(2).normal(5, 0.12 / 20, N).round(3)


def invented(s: Folder) -> None:
    draw, y = np.random.default_rng(3), []
    while len(y) < N:
        v = round(float(draw.normal(5, 0.07)) / 0.01) * 0.01
        if not y or abs(v - y[-1]) > 0.005:
            y.append(v)
    _width(s, y)


def preferred_digits(s: Folder) -> None:
    y = s.run["width"].to_numpy()
    some = np.random.default_rng(4).random(N) < 0.3
    _width(s, np.where(some, np.round(y / 0.005) * 0.005, y))


def earlier_limits(s: Folder) -> None:
    s.lower, s.upper = 4.3, 5.7
    s.more["head"] = 'earlier = "earlier.json"'
    s.earlier = {
        "study": {"revision": "A", "confidence": 0.95},
        "characteristics": {"width": {"unit": "mm", "lower": 4.5, "upper": 5.5}},
    }


def criteria_of_one(s: Folder) -> None:
    s.more["width"] = 'criteria = { capability_accept = 1.0, source = "Customer, by phone" }'


def bad_period(s: Folder) -> None:
    s.run.loc[700:760, "width"] += 0.6
    s.end = '[[set_aside]]\nreason = "setting"\nfirst = 701\nlast = 761\n'


def missing_code_among_parts(s: Folder) -> None:
    s.run.loc[_outside(s), "width"] = 5.321
    s.more["run"] = 'missing = ["", "NA", "5.321"]'


def bound_at_the_limit(s: Folder) -> None:
    s.run.loc[::400, "width"] = 4.4
    s.more["width"] = "bound = 4.5"


def rows_out_of_order(s: Folder) -> None:
    s.run = pd.concat([s.run[1000:], s.run[:1000]])


def averages_of_pairs(s: Folder) -> None:
    s.run["width"] = np.random.default_rng(2).normal(5, 0.12, (N, 2)).round(3).mean(axis=1)


def scaled(s: Folder) -> None:
    _width(s, 5 + 0.77 * (s.run["width"].to_numpy() - 5))


def rejected_blanked(s: Folder) -> None:
    bad = np.random.default_rng(6).choice(N, 12, replace=False)
    s.run.loc[bad, "verdict"], s.run.loc[bad, "width"] = "nok", np.nan


def lane_unread(s: Folder) -> None:
    s.run["width_2"] = (s.run["width"].to_numpy()[::-1] + 0.3).round(3)


def gaps_filled(s: Folder) -> None:
    read = s.run["width"].where(~_outside(s, 0.2))
    _width(s, read.interpolate(limit_direction="both"))


def limits_wider_than_the_sorter(s: Folder) -> None:
    s.run["verdict"] = np.where(_outside(s, 0.25), "nok", "ok")


def limits_wider_than_the_file(s: Folder) -> None:
    s.run["width USL"] = 5.3


def plan_at_one_phase(s: Folder) -> None:
    cycle = 0.2 * np.sin(2 * np.pi * np.arange(N) / 25)
    _width(s, 5 + 0.5 * (s.run["width"].to_numpy() - 5) + cycle)


def another_column(s: Folder) -> None:
    s.run["other"] = np.random.default_rng(4).normal(5.02, 0.06, N).round(3)
    s.run = s.run.rename(columns={"width": "Width"}).rename(columns={"other": "width"})


def readings_worked_out(s: Folder) -> None:
    s.run["untreated"] = s.run["width"]
    _width(s, s.run["width"].ewm(alpha=0.5, adjust=False).mean())


OWN = (
    Manipulation("copied with a constant", copied_with_a_constant, r"stand again"),
    Manipulation("copied with noise", copied_with_noise, r"stand again"),
    Manipulation("copied and shuffled", copied_and_shuffled, r"stand again, in another order"),
    Manipulation("appraiser copied", appraiser_copied, r"readings of A and B"),
    Manipulation("averages as readings", averages_as_readings, r"lie between the steps"),
    Manipulation("averages of 400, rounded", coarse_averages, r"run spreads less than its gauge"),
    Manipulation("invented", invented, r"neighbours are equal where chance"),
    Manipulation("preferred digits", preferred_digits, r"last digits: the readings use"),
    Manipulation("limits of the earlier revision", earlier_limits, r"lower limit 4.5 became 4.3"),
    Manipulation("criteria of one", criteria_of_one, r"accepted 1\.00 instead of 1\.67"),
    Manipulation("bad period", bad_period, r"lie outside the limits"),
    Manipulation(
        "missing code among parts", missing_code_among_parts, r"left out by a range or a missing"
    ),
    Manipulation(
        "bound at the limit", bound_at_the_limit, r"left out by a range or a missing code"
    ),
    Manipulation("rows out of order", rows_out_of_order, r"order numbers go back 1 time"),
)
#: Of what a file holds beside what is read, and of the steps of its numbers.
OF_FILES = (
    Manipulation("averages of pairs", averages_of_pairs, r"averages over 2 readings"),
    Manipulation("scaled", scaled, r"one in 3\.3\d holds more of them"),
    Manipulation("rejected blanked", rejected_blanked, r"12 rejected parts without a reading"),
    Manipulation("lane unread", lane_unread, r'column "width_2" is read by no'),
    Manipulation("gaps filled", gaps_filled, r"in the middle between their neighbours"),
    Manipulation(
        "limits wider than the sorter's", limits_wider_than_the_sorter, r"keeps to other limits"
    ),
    Manipulation(
        "limits wider than the file's", limits_wider_than_the_file, r"says an upper limit of 5\.3"
    ),
    Manipulation("plan at one phase", plan_at_one_phase, r"charted values against the others"),
    Manipulation("another column", another_column, r'has a column "Width", as the'),
    Manipulation("readings worked out", readings_worked_out, r'"width" is "untreated" averaged'),
)


def shrunk(s: Folder) -> None:
    draw = np.random.default_rng(1)
    _width(s, 5 + 0.6 * (s.run["width"].to_numpy() - 5) + draw.normal(0, 0.004, N))


def mirrored(s: Folder) -> None:
    half = np.random.default_rng(8).normal(5, 0.09, N // 2)
    _width(s, np.append(half, 10 - half))


def turned_about(s: Folder) -> None:
    half = np.random.default_rng(8).normal(5, 0.09, N // 2)
    _width(s, np.append(half, half[::-1] + np.random.default_rng(9).normal(0, 0.02, N // 2)))


def one_coil_four_times(s: Folder) -> None:
    draw = np.random.default_rng(8)
    coil = draw.normal(5, 0.09, N // 4)
    _width(s, np.concatenate([draw.permutation(coil) for _ in range(4)]))


def from_normal_scores(s: Folder) -> None:
    from scipy.special import ndtri

    rank = s.run["width"].rank(method="first").to_numpy()
    _width(s, 5 + 0.085 * ndtri((rank - 0.5) / N))


#: Of readings that were copied and changed, or moved all together.
CHANGED = (
    Manipulation("shrunk", shrunk, r"lie beyond all 2,000 readings|smallest and largest reading"),
    Manipulation("mirrored", mirrored, r"go with the opposite of those 1,000 places before"),
    Manipulation("turned about", turned_about, r"as far on the other side of reading 1,00\d"),
    Manipulation("one coil four times", one_coil_four_times, r"values occur 4 times"),
    Manipulation("from normal scores", from_normal_scores, r"readings too regular"),
)
ALL = (*AUDIT, *OWN, *OF_FILES, *CHANGED)
