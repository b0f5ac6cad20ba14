"""Summaries of a line log against the parts, pandas and statsmodels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from line_days import DATA, day

from linestudy.linelog import build_log, summarise_log
from linestudy.records import read
from linestudy.study.model import Subgroup


def _moment(values: pd.Series, power: int) -> float:
    centred = values - values.mean()
    return float((centred**power).mean() / (centred**2).mean() ** (power / 2))


@pytest.mark.parametrize("gaps", [False, True])
def test_summaries_equal_the_parts(gaps: bool, make_study: Callable, tmp_path: Path) -> None:
    """Against pandas and statsmodels on the same parts, to 1e-9."""
    study = make_study("run.csv", day(0, gaps=gaps), DATA)
    days = tmp_path / "days"
    days.mkdir()
    (days / "a.csv").write_text(day(0, gaps=gaps))
    summary = summarise_log(build_log(days, study).folder, study)
    for name in ("width", "gap"):
        parts = read(study).table("run", name)
        values = parts["value"]
        found = summary.moments(name)
        assert found["n"] == len(values)
        assert found["mean"] == pytest.approx(values.mean(), rel=1e-12)
        assert found["sd"] == pytest.approx(values.std(), rel=1e-9)
        assert found["skewness"] == pytest.approx(_moment(values, 3), rel=1e-8, abs=1e-9)
        assert found["kurtosis"] == pytest.approx(_moment(values, 4) - 3, rel=1e-8, abs=1e-9)
        assert (found["min"], found["max"]) == (values.min(), values.max())
        groups = parts.dropna(subset="subgroup").groupby("subgroup")["value"]
        table = summary.subgroups(name)
        assert table["mean"].to_numpy() == pytest.approx(groups.mean().to_numpy(), rel=1e-12)
        assert table["sd"].dropna().to_numpy() == pytest.approx(
            groups.std().dropna().to_numpy(), rel=1e-9, abs=1e-12
        )
        for probability in (0.00135, 0.5, 0.99865):
            value, error = summary.quantile(name, probability)
            exact = np.quantile(values, probability, method="inverted_cdf")
            assert abs(value - exact) <= error
            # Every value stands on the camera's resolution: nothing is lost at all.
            assert value == pytest.approx(exact, abs=1e-12)
    counted = summary.counts()
    assert counted["rows"].sum() == len(read(study).sources[0].frame)


def test_autocorrelation_is_that_of_statsmodels(line: tuple) -> None:
    from statsmodels.tsa.stattools import acf

    study, days = line
    (days / "a.csv").write_text(day(0))
    summary = summarise_log(build_log(days, study).folder, study)
    parts = read(study).table("run", "width")
    values = parts["value"]
    levels = values.groupby(parts["station"]).transform("mean")
    for stations, series in ((False, values), (True, values - levels)):
        table = summary.autocorrelation("width", stations=stations)
        wanted = acf(series, nlags=100, fft=False)[table["lag (parts)"]]
        assert table["autocorrelation"].to_numpy() == pytest.approx(wanted, abs=1e-9)
        assert summary.variance("width", stations) == pytest.approx(
            float((series - series.mean()).pow(2).sum() / (len(series) - 1)), rel=1e-9
        )
    assert summary.station_means("width") == pytest.approx(
        values.groupby(parts["station"]).mean().to_dict(), rel=1e-12
    )


def test_classes_far_apart_are_counted_too(line: tuple) -> None:
    # One wild value hundreds of millions of classes away costs no memory.
    study, days = line
    rows = [(1, 2.8), (2, 2.801), (3, 2.801), (4, 1e6)]
    text = "".join(f"{n},2026-01-01 00:00:0{n},left,ok,{w},0.6\n" for n, w in rows)
    (days / "a.csv").write_text("S,T,St,V,W,G\n" + text)
    found = summarise_log(build_log(days, study).folder, study).histogram("width")
    assert found["value"].tolist() == pytest.approx([2.8, 2.801, 1e6])
    assert found["count"].tolist() == [1, 2, 1]


@pytest.mark.parametrize(("size", "every"), [(5, 25), (3, 3), (1, 7)])
def test_subgroups_are_those_of_pandas(line: tuple, size: int, every: int) -> None:
    # Order numbers with gaps, rows out of order, values missing: counted from each file's first part.
    study, days = line
    run = study.file.data[0].model_copy(update={"subgroup": Subgroup(size=size, every=every)})
    study = replace(study, file=study.file.model_copy(update={"data": [run]}))
    parts = pd.read_csv(StringIO(day(0, gaps=True))).drop_duplicates()
    parts.sample(frac=1, random_state=3).to_csv(days / "a.csv", index=False)
    table = summarise_log(build_log(days, study).folder, study, cache=False).subgroups("width")
    place = parts["S"] - parts["S"].min()
    inside = parts[(place % every < size) & (parts["W"] < 9999)]
    wanted = inside.groupby(place // every)["W"].agg(["count", "mean", "std", "min", "max"])
    assert table["n"].tolist() == wanted["count"].tolist()
    for ours, theirs in (("mean", "mean"), ("min", "min"), ("max", "max"), ("sd", "std")):
        np.testing.assert_allclose(table[ours], wanted[theirs], rtol=1e-9, atol=1e-12)
