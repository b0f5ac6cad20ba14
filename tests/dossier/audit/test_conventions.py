"""Conventions that explain a printed number, on AIAG's crossed example (values from memory) and on sums."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from linestudy.dossier.audit.conventions import explain
from linestudy.gauges import average_and_range, grr_anova
from linestudy.results import plain

WHERE = "characteristics.a.gauges.g.crossed.components"


@pytest.fixture(scope="module")
def results(request: pytest.FixtureRequest) -> dict:
    folder = request.config.rootpath / "sample_data" / "published" / "aiag_crossed"
    data = pd.read_csv(folder / "data" / "crossed.csv")
    gauge = {
        "crossed": grr_anova(data, tolerance=8.0, draws=500).record(),
        "average_and_range": plain(average_and_range(data, draws=500).record()),
    }
    return {"characteristics": {"a": {"gauges": {"g": gauge}}}}


def sd(results: dict, name: str) -> float:
    gauge = results["characteristics"]["a"]["gauges"]["g"]
    return gauge["crossed"]["components"][name]["sd"]["estimate"]


@pytest.mark.parametrize(
    ("name", "printed", "decimals", "words"),
    [
        # From GRR and PV rounded to two decimals, 0.30 and 1.04.
        ("total", 1.08, 2, "rounded to 2 decimals"),
        # Not pooled: EV is the root of 2.7589 / 60.
        ("repeatability", 0.2144, 4, "not pooled"),
        # The same book by averages and ranges: AV 0.2297, PV 1.1045; EV by d2, 0.20188.
        ("appraiser", 0.2297, 4, "averages and ranges"),
        ("part", 1.1045, 4, "averages and ranges"),
        ("repeatability", 0.2019, 4, "with d2"),
        # An older edition counts 5.15 standard deviations.
        ("repeatability", 1.0297, 4, "5.15"),
    ],
)
def test_the_crossed_example(
    results: dict, name: str, printed: float, decimals: int, words: str
) -> None:
    place = f"{WHERE}.{name}.sd.estimate"
    assert words in str(explain(sd(results, name), printed, decimals, place, results))


def test_shares_of_the_tolerance_and_per_cent(results: dict) -> None:
    share = 6 * sd(results, "grr") / 8.0
    place = f"{WHERE}.grr.share_of_tolerance.estimate"
    assert explain(share, round(100 * share, 2), 2, place, results) == "as per cent"
    older = round(share * 5.15 / 6, 4)
    assert "5.15" in str(explain(share, older, 4, place, results))


def test_n_or_one_less() -> None:
    values = {"a": {"n": 15, "sd": 0.21202}}
    printed = round(0.21202 * math.sqrt(14 / 15), 4)
    assert "n instead of n - 1" in str(explain(0.21202, printed, 4, "a.sd", values))


def test_what_no_convention_explains_stays_so(results: dict) -> None:
    place = f"{WHERE}.grr.sd.estimate"
    assert explain(sd(results, "grr"), 0.345678, 6, place, results) is None
