"""Stability of a log out of its sums, against the same methods on the parts.

Equal to 1e-9 where sums suffice; the correlation between summed lags is interpolated, and held to what the
parts give within the error that costs.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.signal import lfilter

from linestudy import open_study, read
from linestudy.cli import main
from linestudy.linelog import build_log, evaluate_log, summarise_log
from linestudy.results import Unjudged
from linestudy.stability import evaluate

PARTS, DAYS = 15_000, 2
TOML = """format = 1
[study]
title = "t"
part = "p"
line_rate = 20
[[characteristic]]
id = "w"
name = "width"
unit = "mm"
nominal = 2.8
lower = 2.7
upper = 2.9
[[gauge]]
id = "g"
name = "g"
resolution = 0.0001
[[event]]
at = 9000
name = "regrind"
characteristic = "w"
[[data]]
role = "run"
gauge = "g"
file = "{file}"
order = "S"
coil = "C"
columns = {{ w = "W" }}
subgroup = {{ size = 5, every = {every} }}
"""


def parts(serial: float, shift: float = 0.0, coil: float = 0.0, slope: float = 0.0) -> pd.DataFrame:
    n = PARTS * DAYS
    rng = np.random.default_rng(8)
    value = lfilter([np.sqrt(1 - serial**2)], [1, -serial], rng.normal(size=n))
    at = np.arange(n)
    value = value + shift * (at >= 18_000) + np.repeat(rng.normal(0, coil or 1e-9, 12), n // 12)
    value = value + slope * at / n
    return pd.DataFrame(
        {
            "S": at + 1,
            "C": [f"c{i:02d}" for i in at * 12 // n],
            "W": np.round(2.8 + 0.01 * value, 4),
        }
    )


def both(folder: Path, table: pd.DataFrame, every: int = 50, extra: str = "") -> tuple:
    """Findings of the log of two daily files, and of the whole run in one file."""
    (folder / "days").mkdir()
    for day in range(DAYS):
        table.iloc[day * PARTS : (day + 1) * PARTS].to_csv(folder / f"days/d{day}.csv", index=False)
    table.to_csv(folder / "all.csv", index=False)
    (folder / "study.toml").write_text(TOML.format(file="all.csv", every=every) + extra)
    study = open_study(folder)
    log = build_log(folder / "days", study, out=folder / "log")
    return evaluate_log(study, summarise_log(log.folder, study)), evaluate(study, read(study))


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> tuple:
    return both(tmp_path_factory.mktemp("log"), parts(0.8, shift=1.5))


def test_charts_are_those_of_the_parts(found: tuple) -> None:
    log, run = found
    for name in ((), ("between_within",), ("by_event",), ("small_shifts",)):
        one, two = log.get("w", "stability", *name), run.get("w", "stability", *name)
        assert type(one) is type(two)
        a, b = one.record(), two.record()
        for key in ("centre", "sd_within", "sd_overall", "limits", "signals", "df_within"):
            if key in b:
                assert json.dumps(a[key])[:40] == json.dumps(b[key])[:40] or a[
                    key
                ] == pytest.approx(b[key], rel=1e-9), (name, key)


@pytest.mark.proof
def test_correlation_is_that_of_the_parts_and_of_the_truth(tmp_path: Path) -> None:
    # Truth: a first-order autoregression has n (1 - r) / (1 + r) independent parts for its mean and
    # n (1 - r^2) / (1 + r^2) for its variance (Bayley & Hammersley 1946).
    log, run = both(tmp_path, parts(0.8))
    one, two = (item.get("w", "stability", "autocorrelation") for item in (log, run))
    n = PARTS * DAYS
    assert one.lag1.estimate == pytest.approx(two.lag1.estimate, abs=2e-3)
    assert one.n_eff_sd == pytest.approx(n * 0.36 / 1.64, rel=0.1)
    assert one.n_eff_sd == pytest.approx(two.n_eff_sd, rel=0.1)
    assert one.n_eff_mean == pytest.approx(n * 0.2 / 1.8, rel=0.25)
    assert "taken as straight" in one.cautions[-1]


def test_a_step_makes_the_effective_sample_size_small(found: tuple) -> None:
    one, two = (item.get("w", "stability", "autocorrelation") for item in found)
    # It is a slow movement: the log sees it in batches of quarter hours. Of the run's parts what starts anew at
    # a named event is known and taken off first.
    assert one.n_eff_mean < 60
    assert "named resets was taken off" in two.cautions[-1]


def test_the_step_is_found_where_it_was_made(found: tuple) -> None:
    step = max(
        found[0].get("w", "stability", "change_points").change_points,
        key=lambda s: abs(s.size.estimate),
    )
    assert step.at.low <= 18_001 <= step.at.high
    assert step.size.estimate == pytest.approx(0.015, abs=0.003)


def test_every_finding_of_charts_is_there(found: tuple) -> None:
    log, _ = found
    assert not isinstance(log.get("w", "stability", "run_length"), Unjudged)
    assert log.get("w", "stability", "sampling_plan") is not None


@pytest.mark.proof
@pytest.mark.parametrize(
    ("settings", "letter"),
    [
        ({"serial": 0.0}, "A1"),
        ({"serial": 0.0, "coil": 1.0}, "C4"),
        ({"serial": 0.0, "slope": 4.0}, "C3"),
    ],
)
def test_time_model_is_that_of_the_parts(settings: dict, letter: str, tmp_path: Path) -> None:
    log, run = both(tmp_path, parts(**settings))
    one, two = (item.get("w", "stability", "time_model") for item in (log, run))
    assert one.model == two.model
    # A regrind in the middle of a slope without a reset there makes two slopes of one.
    assert one.model == letter or "slope" in settings
    for key in ("between_share", "trend_share", "step_share", "spread_ratio"):
        assert getattr(one, key) == pytest.approx(getattr(two, key), rel=1e-6, abs=1e-9), key


@pytest.mark.proof
def test_independent_parts_stay_so(tmp_path: Path) -> None:
    log, _ = both(tmp_path, parts(0.0), every=250)
    study = log.get("w", "stability", "autocorrelation")
    n = PARTS * DAYS
    assert study.n_eff_mean > 0.8 * n
    assert study.n_eff_sd > 0.95 * n
    assert study.spacing == 1


def test_files_that_overlap_have_no_order(tmp_path: Path) -> None:
    table = parts(0.0)
    table["S"] = np.tile(np.arange(PARTS) + 1, DAYS)
    (tmp_path / "days").mkdir()
    for day in range(DAYS):
        table.iloc[day * PARTS :][:PARTS].to_csv(tmp_path / f"days/d{day}.csv", index=False)
    (tmp_path / "study.toml").write_text(TOML.format(file="days/d0.csv", every=50))
    study = open_study(tmp_path)
    log = build_log(tmp_path / "days", study, out=tmp_path / "log")
    found = evaluate_log(study, summarise_log(log.folder, study))
    assert "the log has no order" in found.get("w", "stability").reason


@pytest.mark.proof
def test_the_command_writes_what_it_tells(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    both(tmp_path, parts(0.5))
    out = tmp_path / "evidence.json"
    code = main(["log", str(tmp_path / "days"), "--study", str(tmp_path), "--evidence", str(out)])
    assert code == 0
    told = capsys.readouterr().out
    content = json.loads(out.read_text(encoding="utf-8"))
    stability = content["characteristics"]["w"]["stability"]
    assert stability["autocorrelation"]["statement"] in told
    assert stability["time_model"]["statement"] in told
    assert content["log"]["rows"] == PARTS * DAYS


def line(coil: float = 0.7, wear: float = 3.0) -> pd.DataFrame:
    """Coils, two stations, wear that a regrind at 9,000 takes back, and neighbours that are alike."""
    n = PARTS * DAYS
    rng = np.random.default_rng(21)
    at = np.arange(n)
    value = lfilter([np.sqrt(1 - 0.8**2)], [1, -0.8], rng.normal(size=n))
    value = value + wear * np.where(at < 8_999, at, at - 8_999) / n
    value = value + 0.8 * (at % 2) + np.repeat(rng.normal(0, 1, 12) * coil, n // 12)
    return pd.DataFrame(
        {
            "S": at + 1,
            "C": [f"c{i:02d}" for i in at * 12 // n],
            "P": np.where(at % 2, "b", "a"),
            "R": at // 1100,
            "W": np.round(2.8 + 0.01 * value, 4),
        }
    )


@pytest.fixture(scope="module")
def worn(tmp_path_factory: pytest.TempPathFactory) -> tuple:
    return both(tmp_path_factory.mktemp("worn"), line(), extra='station = "P"\nstop = "R"\n')


def test_components_are_those_of_the_parts(worn: tuple) -> None:
    one, two = (item.get("w", "stability", "variance_components") for item in worn)
    assert set(one.variance) == {"coil", "stop", "quarter hour", "within", "station"}
    for name, value in one.variance.items():
        for end in ("estimate", "low", "high"):
            assert getattr(value, end) == pytest.approx(
                getattr(two.variance[name], end), rel=1e-9
            ), (name, end)
    assert one.groups == two.groups
    # The truth: stations 0.8 SD apart have a variance of 0.16.
    assert one.variance["station"].estimate == pytest.approx(0.16e-4, rel=0.1)


def test_sources_are_those_of_the_parts(worn: tuple) -> None:
    one, two = (item.get("w", "stability", "variance_sources") for item in worn)
    assert one.sd == pytest.approx(two.sd, rel=1e-9)
    for name, share in one.shares.items():
        assert share.estimate == pytest.approx(two.shares[name].estimate, rel=1e-8, abs=1e-11)
        # Cut at quarter hours, not at any part: intervals are alike, not equal.
        assert share.low <= two.shares[name].high
        assert two.shares[name].low <= share.high
    wear, apart = one.wear_per_thousand, one.station_difference
    assert wear.estimate == pytest.approx(two.wear_per_thousand.estimate, rel=1e-8)
    assert apart.estimate == pytest.approx(two.station_difference.estimate, rel=1e-9)
    assert 0.008 in apart


@pytest.mark.proof
def test_wear_is_that_of_the_truth(tmp_path: Path) -> None:
    found = both(tmp_path, line(coil=0.0), extra='station = "P"\nstop = "R"\n')
    one, two = (item.get("w", "stability", "tool_wear") for item in found)
    # 3 SD of 0.01 mm over 30,000 parts.
    assert 0.03 / 30 in one.slope_per_thousand
    assert 0.03 / 30 in two.slope_per_thousand
    assert one.stretches == two.stretches == 2
    assert one.residual_sd == pytest.approx(two.residual_sd, rel=1e-6)
    wide, narrow = (
        item.slope_per_thousand.high - item.slope_per_thousand.low for item in (one, two)
    )
    assert 0.5 < wide / narrow < 2
    # Where 3 SD about the line meet 2.9: the line stands at 2.8 + 0.01 * (0.4 + 2.1) at the end.
    assert one.strokes_left.low < (2.9 - 0.03 - 2.825) / 1e-6 < one.strokes_left.high


@pytest.mark.proof
def test_stations_are_compared_as_from_the_parts(tmp_path: Path) -> None:
    # Truth: the stations stand 0.8 of 0.01 mm apart, and nothing else moves.
    found = both(tmp_path, line(coil=0.0, wear=0.0), extra='station = "P"\nstop = "R"\n')
    one, two = (item.get("w", "stability", "stations") for item in found)
    for study in (one, two):
        assert 0.008 in study.pairs[0].difference.mapped(abs)
    assert one.pairs[0].difference.estimate == pytest.approx(
        two.pairs[0].difference.estimate, abs=two.pairs[0].difference.half_width
    )
    assert [stream.n for stream in one.streams] == [stream.n for stream in two.streams]
    log, run = found
    assert log.get("w", "stability", "coils").p > 0.001
    assert "needs the single parts" in log.get("w", "stability", "equal_spread").reason
    assert run.get("w", "stability", "equal_spread").p > 0.001


def test_a_log_that_moves_slowly_says_that_stations_are_not_compared(worn: tuple) -> None:
    # Blocks of quarter hours would have to be longer than the log.
    assert "independent stretches" in worn[0].get("w", "stability", "stations").reason


def test_stations_that_are_not_known_are_no_source(found: tuple) -> None:
    log, _ = found
    assert "station" not in log.get("w", "stability", "variance_components").variance
    assert log.get("w", "stability", "variance_sources").station_difference is None


@pytest.mark.proof
def test_missing_values_enter_no_sum(tmp_path: Path) -> None:
    table = line()
    table.loc[::7, "W"] = np.nan
    one, two = (
        item.get("w", "stability", "variance_components")
        for item in both(tmp_path, table, extra='station = "P"\nstop = "R"\n')
    )
    assert one.n == two.n == table["W"].notna().sum()
    assert one.variance["coil"].estimate == pytest.approx(two.variance["coil"].estimate, rel=1e-9)


@pytest.mark.proof
def test_stations_that_take_turns_are_no_correlation(tmp_path: Path) -> None:
    # Independent parts from two stations 3 SD apart: every other part resembles this one, and none depends.
    at = np.arange(PARTS * DAYS)
    value = np.random.default_rng(31).normal(size=at.size) + 3.0 * (at % 2)
    table = line()
    table["W"] = np.round(2.8 + 0.01 * value, 4)
    one, two = (
        item.get("w", "stability", "autocorrelation")
        for item in both(tmp_path, table, every=250, extra='station = "P"\n')
    )
    # Pairs across the two files are not among the sums.
    assert one.lag1.estimate == pytest.approx(two.lag1.estimate, abs=1e-4)
    assert abs(one.lag1.estimate) < 0.02
    assert one.n_eff_mean > 0.8 * at.size
    assert two.n_eff_mean > 0.8 * at.size
    assert one.cautions[-1].startswith("From sums over the log")


def test_batches_of_hours_are_of_nearly_as_many_parts() -> None:
    from linestudy.linelog.evaluation import _batches

    rng = np.random.default_rng(3)
    n = rng.integers(50, 150, 400)
    values = rng.normal(5, 1, 400)
    table = pd.DataFrame({"n": [*n, 0], "mean": [*values, np.nan]})
    found = _batches(table)
    assert sorted(found) == [10, 20, 40]
    for number, (size, means) in found.items():
        assert size == pytest.approx(n.sum() / number)
        # Weighted by parts they are the mean of all; each is the mean of its own hours.
        middle = (np.cumsum(n) - n / 2) / n.sum()
        own = [(middle >= k / number) & (middle < (k + 1) / number) for k in range(number)]
        wanted = np.array([np.average(values[o], weights=n[o]) for o in own])
        assert means + values.mean() == pytest.approx(wanted, rel=1e-12)
    # Five hours cannot make ten batches.
    assert _batches(table.head(5)) == {}


def test_normality_by_skewness_and_kurtosis_is_scipys() -> None:
    from scipy.stats import jarque_bera, kurtosis, skew

    from linestudy.linelog.evaluation import _normal

    x = np.random.default_rng(8).standard_t(30, size=3000)
    whole = {"n": x.size, "skewness": float(skew(x)), "kurtosis": float(kurtosis(x))}
    wanted = float(jarque_bera(x).pvalue)
    assert 1e-6 < wanted < 0.9
    assert _normal(whole) == pytest.approx(wanted, rel=1e-9)
    assert _normal(whole | {"n": 19}) == 1.0


def test_findings_of_a_log_name_its_unit(worn: tuple, found: tuple) -> None:
    log, _ = worn
    assert found[0].get("w", "stability", "change_points").unit == "mm"
    for method in ("variance_sources", "variance_components", "autocorrelation"):
        assert log.get("w", "stability", method).unit == "mm", method


def test_lags_that_were_summed_are_not_told_from_subgroups(tmp_path: Path) -> None:
    # Subgroups every twenty parts reach lags of 20 to 100, which single parts tell better.
    from linestudy.linelog.evaluation import _groups, correlations

    (tmp_path / "days").mkdir()
    table = parts(0.8)
    table.to_csv(tmp_path / "days/d0.csv", index=False)
    (tmp_path / "study.toml").write_text(TOML.format(file="days/d0.csv", every=20))
    study = open_study(tmp_path)
    summary = summarise_log(build_log(tmp_path / "days", study, out=tmp_path / "log").folder, study)
    r = correlations(summary, "w", _groups(summary.subgroups("w")))
    for lag, value in summary.autocorrelation("w")[["lag (parts)", "autocorrelation"]].to_numpy():
        assert r[int(lag)] == pytest.approx(value, rel=1e-12), lag


def test_stations_far_apart_have_the_normal_interval_of_their_variance() -> None:
    # The noncentral chi-square has variance 2 (k + 2 L): far out, that of a normal (Johnson & Kotz, from memory).
    from scipy.stats import norm

    from linestudy.stability.movement.nested_levels import Sums, _station_interval

    # A variance of 5 where one part has 1, told by a million million of them.
    sums = Sums(np.array([1e12]), np.array([0.0]), np.array([1e12]))
    found = _station_interval(5.0, sums, 3, 0.95)
    half = norm.ppf(0.975) * 2 * np.sqrt(5.0 * 1e-12)
    assert (found.low, found.high) == (
        pytest.approx(5.0 - half, rel=1e-9),
        pytest.approx(5.0 + half, rel=1e-9),
    )
    assert found.high - found.low == pytest.approx(2 * half, rel=1e-4)


@pytest.mark.proof
def test_a_method_added_to_the_list_is_judged_of_runs_and_of_logs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Whoever adds a finding adds it once; what needs single parts is said not to be had from a log.
    import importlib

    from linestudy.results import declared
    from linestudy.stability import ChartStudy, control_chart

    room = importlib.import_module("linestudy.stability.evaluation")
    monkeypatch.setattr(declared, "_REGISTERED", dict(declared._REGISTERED))
    medians = declared.Declaration("stability.medians", ChartStudy, "Chart of medians")
    again = declared.Declaration("stability.again", ChartStudy, "Chart again")
    added = (
        room.Method(medians, lambda run, found: control_chart(run.parts["value"])),
        room.Method(again, lambda run, found: run.chart()),
    )
    monkeypatch.setattr(room, "METHODS", (*room.METHODS, *added))
    log, run = both(tmp_path, parts(0.0))
    assert "needs the single parts" in log.get("w", "stability", "medians").reason
    assert run.get("w", "stability", "medians").n == PARTS * DAYS
    for found in (log, run):
        assert found.get("w", "stability", "again").n > 0


@pytest.mark.proof
def test_a_coil_whose_name_comes_back_is_another_one(tmp_path: Path) -> None:
    """Twelve coils of four names, with levels of their own: the log knows as many as the run does."""
    table = parts(0.0, coil=0.8)
    table["C"] = [f"c{int(name[1:]) % 4}" for name in table["C"]]
    log, run = both(tmp_path, table)
    one, two = (item.get("w", "stability", "coils") for item in (log, run))
    # Of one coil the log holds too few whole quarter hours to compare it.
    assert (len(one.streams), len(two.streams)) == (11, 12)
    assert sum(", again 1" in stream.name for stream in one.streams) >= 3
    spread = [item.get("w", "stability", "variance_components") for item in (log, run)]
    assert [item.groups["coil"] for item in spread] == [12, 12]
    assert spread[0].variance["coil"].estimate == pytest.approx(
        spread[1].variance["coil"].estimate, rel=0.05
    )
