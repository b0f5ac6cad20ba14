"""Screening: each finding on data made to hold it, silence on clean data."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from linestudy.records import read

RUN = 'role = "run"\ncolumns = { width = "Width" }\norder = "Stroke"\n'


def clean(n: int = 2000, seed: int = 1) -> np.ndarray:
    return np.round(np.random.default_rng(seed).normal(2.8, 0.01, n), 3)


def table(values: np.ndarray, order: np.ndarray | None = None, **more: list[str]) -> str:
    order = np.arange(1, len(values) + 1) if order is None else order
    head = ",".join(["Stroke", "Width", *more])
    rows = [
        ",".join([str(int(o)), f"{v:.10g}", *(column[i] for column in more.values())])
        for i, (o, v) in enumerate(zip(order, values, strict=True))
    ]
    return "\n".join([head, *rows]) + "\n"


def noticed(study: object) -> dict[str, object]:
    return {seen.what: seen for _, seen in read(study).screening.seen}


@pytest.mark.proof
@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("kind", ["normal", "skewed", "folded", "coarse", "drifting"])
def test_clean_data_stay_silent(seed: int, kind: str, make_study: Callable) -> None:
    rng = np.random.default_rng(seed)
    n = 2000
    values = {
        "normal": rng.normal(2.8, 0.01, n),
        "skewed": 2.7 + rng.gamma(2.0, 0.02, n),
        "folded": 2.8 + np.abs(rng.normal(0, 0.01, n)),
        "coarse": np.round(rng.normal(2.8, 0.01, n), 2),
        "drifting": 2.8 + np.linspace(0, 0.05, n) + rng.normal(0, 0.005, n),
    }[kind]
    assert not noticed(make_study("f.csv", table(np.round(values, 3)), RUN))


def test_frozen(make_study: Callable) -> None:
    values = clean()
    values[700:730] = values[700]
    seen = noticed(make_study("f.csv", table(values), RUN))
    assert set(seen) == {"frozen values"}
    assert abs(seen["frozen values"].line - 702) <= 1


def test_range_ends(make_study: Callable) -> None:
    values = np.minimum(clean(), 2.815)
    seen = noticed(make_study("f.csv", table(values), RUN))
    assert seen["values at a range end"].count == (values == 2.815).sum()


@pytest.mark.parametrize("factor", [25.4, 1000.0])
def test_unit_slips(factor: float, make_study: Callable) -> None:
    values = clean()
    values[[5, 50, 500]] /= factor
    seen = noticed(make_study("f.csv", table(values), RUN))
    assert seen["unit slip"].count == 3
    assert seen["unit slip"].line == 7


@pytest.mark.parametrize(("factor", "unit"), [(25.4, "inch"), (0.001, "µm")])
def test_a_unit_of_the_column_is_suspected(factor: float, unit: str, make_study: Callable) -> None:
    seen = noticed(make_study("f.csv", table(clean() / factor), RUN))
    assert unit in seen["unit suspected"].evidence


def test_a_declared_unit_is_not_suspected(make_study: Callable) -> None:
    study = make_study("f.csv", table(clean() * 1000), RUN + 'unit = "µm"')
    assert not noticed(study)


def test_change_of_scale(make_study: Callable) -> None:
    values = clean()
    values[1200:] *= 1000
    seen = noticed(make_study("f.csv", table(values), RUN))
    assert abs(seen["change of scale"].line - 1202) <= 40


def test_change_of_resolution(make_study: Callable) -> None:
    values = clean()
    values[1000:] = np.round(values[1000:], 2)
    seen = noticed(make_study("f.csv", table(values), RUN))
    assert abs(seen["change of resolution"].line - 1002) <= 40


def test_gaps_and_order(make_study: Callable) -> None:
    order = np.arange(1, 2001)
    order[1500:] += 20
    order[[10, 11]] = order[[11, 10]]
    seen = noticed(make_study("f.csv", table(clean(), order), RUN))
    assert "Missing: 20 order numbers in 1 gap," in seen["gap in order numbers"].evidence
    assert seen["order goes back"].line == 13


def test_clock(make_study: Callable) -> None:
    seconds = np.arange(2000) * 0.25
    seconds[1000:] -= 3600
    seconds[1500:] += 600
    times = [
        str(t)
        for t in np.datetime64("2026-03-01T08:00:00.000")
        + (seconds * 1000).astype("timedelta64[ms]")
    ]
    study = make_study(
        "f.csv", table(clean(), Time=times, Run=["1"] * 2000), RUN + 'time = "Time"\nstop = "Run"'
    )
    seen = noticed(study)
    assert seen["clock goes back"].line == 1002
    assert seen["clock jumps ahead"].line == 1502
    assert "600 s" in seen["clock jumps ahead"].evidence


def test_purged_parts_in_use(make_study: Callable) -> None:
    words = ["purged"] * 12 + ["ok"] * 1988
    data = RUN + 'verdict = "V"\naccept = ["ok"]\npurge = ["purged"]\n'
    seen = noticed(make_study("f.csv", table(clean(), V=words), data))
    assert seen["purged parts in use"].count == 12
    told = data + 'set_aside_verdict = { purged = "after a stop" }'
    records = read(make_study("f.csv", table(clean(), V=words), told))
    assert not records.screening.seen
    assert records.sources[0].account.set_aside == {"verdict purged: after a stop": 12}


def test_screening_is_a_finding(make_study: Callable) -> None:
    values = clean()
    values[5] = 280.0
    screening = read(make_study("f.csv", table(values), RUN)).screening
    assert screening.table().loc[0, "first line"] == 7
    assert screening.shown().loc[0, "first line"] == "7"
    assert "nothing was changed" in screening.statement


def test_values_set_aside_by_reason(make_study: Callable) -> None:
    text = "Stroke,Width\n1,2.8\n2,-1\n3,5\n4,9\n5,9999\n6,2.81\n"
    study = make_study(
        "f.csv",
        text,
        RUN + 'missing = ["9999"]',
        characteristic="bound = 0.0\nplausible = [0.0, 4.0]",
        gauge="range = [-2.0, 8.0]",
    )
    records = read(study)
    assert records.table("run", "width")["value"].tolist() == [2.8, 2.81]
    account = records.sources[0].account
    assert account.set_aside == {"no usable value in the row": 4}
    assert account.rows_read == 6
