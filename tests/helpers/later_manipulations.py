"""More ways to make a study look better, and slips of a clerk, each with the trace it must leave on the decision sheet.

Beside those of ``manipulations``: what is done to order, hours, lanes, gauge study, causes and events. Where nothing in the folder can
show it the trace is the line that a reader holds against records of their own.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from line_study import Folder, N
from manipulations import Manipulation

_DRAW = np.random.default_rng


def _width(s: Folder, values: Any) -> None:
    """Readings with the verdicts and bins that go with them, as somebody careful would write them."""
    s.run["width"] = np.round(np.asarray(values, float), 3)
    s.run["verdict"] = np.where(np.abs(s.run["width"] - 5) > 0.5, "nok", "ok")
    bins = (s.run["verdict"] == "ok").groupby(s.run["coil"], sort=False).agg(["sum", "size"])
    s.bins = pd.DataFrame(
        {"period": bins.index, "accepted": bins["sum"], "rejected": bins["size"] - bins["sum"]}
    )


def _rewritten(s: Folder, rows: pd.DataFrame) -> None:
    """These rows, counter and clock written anew so that nothing is missing."""
    at = np.arange(len(rows))
    seconds = pd.to_timedelta(at * 0.25, unit="s").round("ms")
    s.run = rows.reset_index(drop=True).assign(
        stroke=at + 1, time=pd.Timestamp("2026-03-02 06:00") + seconds
    )
    _width(s, s.run["width"])


def _good(s: Folder) -> None:
    _width(s, _DRAW(3).normal(5, 0.085, N))


def shifted(s: Folder) -> None:
    _width(s, _DRAW(3).normal(5.15, 0.09, N) - 0.15)


def best_hours(s: Folder) -> None:
    wave = 0.1 * np.sin(np.arange(N) / N * 6 * np.pi)
    _width(s, 5 + 0.08 * _DRAW(1).normal(size=N) + wave)
    hour = np.arange(N) // 100
    off = (s.run["width"].groupby(hour).mean() - 5).abs()
    _rewritten(s, s.run[np.isin(hour, off.nsmallest(12).index)])


def _two_lanes(s: Folder, left: tuple[float, float], right: tuple[float, float]) -> None:
    odd = np.arange(N) % 2 == 1
    _width(s, np.where(odd, _DRAW(1).normal(*left, N), _DRAW(2).normal(*right, N)))


def lanes_mixed(s: Folder) -> None:
    _two_lanes(s, (5, 0.07), (5.1, 0.13))
    s.run["station"] = _DRAW(4).choice(["L", "R"], N)


def lanes_exchanged_halfway(s: Folder) -> None:
    _two_lanes(s, (4.93, 0.085), (5.07, 0.085))
    odd = (np.arange(N) % 2 == 1) ^ (np.arange(N) >= N // 2)
    s.run["station"] = np.where(odd, "L", "R")


def worst_lane_left_out(s: Folder) -> None:
    _two_lanes(s, (5, 0.08), (5.1, 0.12))
    rows = s.run[s.run["station"] == "L"]
    _rewritten(s, rows.assign(station=np.where(np.arange(len(rows)) % 2, "L", "R")))


def limits_of_another(s: Folder) -> None:
    s.lower, s.upper = 4.4, 5.6


def gauge_study_halved(s: Folder) -> None:
    _good(s)
    middle = s.crossed.groupby("part")["width"].transform("mean")
    s.crossed["width"] = np.round(middle + _DRAW(5).normal(0, 0.045, 90) / 2, 3)
    s.masters["width"] = np.round(s.masters["master"] + _DRAW(6).normal(0, 0.045, 60), 3)


def gauge_and_masters_halved(s: Folder) -> None:
    _good(s)
    middle = s.crossed.groupby("part")["width"].transform("mean")
    s.crossed["width"] = np.round(middle + _DRAW(5).normal(0, 0.03, 90) / 2, 3)
    s.masters["width"] = np.round(s.masters["master"] + _DRAW(6).normal(0, 0.03, 60) / 2, 3)


def half_in_inches(s: Folder) -> None:
    y = _DRAW(3).normal(5, 0.085, N)
    y[N // 2 :] /= 25.4
    s.run["width"] = np.round(y, 3)


def every_other_subgroup(s: Folder) -> None:
    group = np.arange(N) // 5
    worst = (s.run["width"] - 5).abs().groupby(group).max().to_numpy().reshape(-1, 2)
    kept = 2 * np.arange(len(worst)) + worst.argmin(axis=1)
    _rewritten(s, s.run[np.isin(group, kept)])


def _stepped(s: Folder) -> None:
    y = _DRAW(3).normal(5, 0.06, N)
    y[400:520] += 0.2
    y[1200:1300] -= 0.2
    _width(s, y)


def causes_invented(s: Folder) -> None:
    _stepped(s)
    s.end = "".join(
        f'[[cause]]\ncause = "operator"\naction = "instructed"\nby = "NN"\nfirst = {a}\nlast = {b}\n'
        for a, b in ((376, 525), (1176, 1325))
    )


def events_invented(s: Folder) -> None:
    _stepped(s)
    s.end = "".join(
        f'[[event]]\nname = "tool change"\nat = {at}\ncharacteristic = "width"\nresets = true\n'
        for at in (401, 521, 1201, 1301)
    )


def appraisers_copied_with_a_step(s: Folder) -> None:
    _good(s)
    one = s.crossed.loc[s.crossed["who"] == "A", "width"].to_numpy()
    for name in "BC":
        steps = 0.001 * _DRAW(ord(name)).integers(-1, 2, one.size)
        s.crossed.loc[s.crossed["who"] == name, "width"] = np.round(one + steps, 3)


def set_to_its_master_again(s: Folder) -> None:
    saw = (np.arange(N) % 500) / 500 * 0.12 - 0.06
    _width(s, _DRAW(3).normal(5, 0.075, N) + saw)


def fifty_parts_again(s: Folder) -> None:
    parts = _DRAW(3).normal(5, 0.085, 50)
    parts = parts[np.abs(parts - 5) < 0.17]
    taken = _DRAW(4).permutation(np.resize(np.arange(parts.size), N))
    _width(s, parts[taken] + _DRAW(5).normal(0, 0.01, N))


def drawn_from_the_good_ones(s: Folder) -> None:
    y = s.run["width"].to_numpy()
    good = y[np.abs(y - 5) < 0.25]
    _width(s, _DRAW(4).choice(good, N) + 0.001 * _DRAW(5).integers(-1, 2, N))


def bad_ones_replaced(s: Folder) -> None:
    y = s.run["width"].to_numpy().copy()
    bad = np.abs(y - 5) > 0.22
    y[bad] = _DRAW(6).normal(5, 0.1, bad.sum()).clip(4.79, 5.21)
    _width(s, y)


def night_left_out(s: Folder) -> None:
    _good(s)
    rows = pd.concat([s.run[:800], s.run[1200:]])
    s.run = rows.assign(stroke=np.arange(1, len(rows) + 1))


def half_are_averages(s: Folder) -> None:
    y = _DRAW(3).normal(5, 0.12, N).reshape(-1, 5)
    y[200:] = y[200:].mean(axis=1, keepdims=True) + 0.02 * _DRAW(4).normal(size=(200, 5))
    _width(s, y.ravel())


_MOVES = r"Not in statistical control"
_PLACE = r"differ by their place among every"
#: Of order, hours, lanes, gauge study, causes and events.
LATER = (
    Manipulation("shifted to the middle", shifted, r"first and last readings.*gauge's own record"),
    Manipulation("best hours kept, clock rewritten", best_hours, _MOVES),
    Manipulation("labels of lanes mixed", lanes_mixed, _PLACE),
    Manipulation("labels of lanes exchanged halfway", lanes_exchanged_halfway, _PLACE),
    Manipulation(
        "worst lane left out, labels rewritten", worst_lane_left_out, r"lie beyond all 1,000"
    ),
    Manipulation("limits of another characteristic", limits_of_another, r"4.4 to 5.6 mm"),
    Manipulation("gauge study halved", gauge_study_halved, r"contradict each other"),
    Manipulation(
        "gauge study and masters halved",
        gauge_and_masters_halved,
        r"parts of the gauge study \|.*first reading",
    ),
    Manipulation("half in inches", half_in_inches, r"readings outside the limits"),
    Manipulation(
        "every other subgroup, counter rewritten",
        every_other_subgroup,
        r"strokes \| .*1 to 1,000 \| the counter",
    ),
    Manipulation("causes invented", causes_invented, r"causes named and acted upon"),
    Manipulation("events invented", events_invented, _MOVES),
    Manipulation("appraisers copied with a step", appraisers_copied_with_a_step, r"err alike"),
    Manipulation("gauge set to its master again and again", set_to_its_master_again, _MOVES),
    Manipulation("fifty parts read again", fifty_parts_again, r"lie beyond all 2,000 readings"),
    Manipulation("drawn from the good ones", drawn_from_the_good_ones, r"parts taken out"),
    Manipulation("bad ones replaced", bad_ones_replaced, r"parts taken out"),
    Manipulation("a night left out", night_left_out, r"clock stands still"),
    Manipulation("half are averages", half_are_averages, _MOVES),
)
