"""Strokes and parts: what one stroke makes is kept, what a counter repeats is not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from linestudy.records import read
from linestudy.records.counting.counters import numbered_on
from linestudy.records.strokes import parts_per_stroke, strokes_of
from linestudy.results import InputError
from linestudy.study.model import Data

RUN = 'role = "run"\ncolumns = { width = "Width" }\norder = "Stroke"\n'
STREAMS = RUN + 'station = "Lane"\n'


def two_out(strokes: int = 200, streams: str = "LR", seed: int = 1) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    order = np.repeat(np.arange(1, strokes + 1), len(streams))
    return pd.DataFrame(
        {
            "Stroke": order,
            "Lane": list(streams) * strokes,
            "Width": np.round(rng.normal(2.8, 0.01, order.size), 2),
        }
    )


def made(make_study: Callable, data: str, content: str, extra: str = "") -> object:
    return make_study("run.csv", content, data=data, extra=extra)


def used(study: object) -> pd.DataFrame:
    table = read(study).table("run", "width")
    assert table is not None
    return table


def reasons(study: object) -> dict[str, int]:
    return dict(read(study).ledger.accounts[0].set_aside)


def seen(study: object) -> dict[str, str]:
    return {item.what: item.evidence for _, item in read(study).screening.seen}


def test_every_part_of_a_stroke_is_used(make_study: Callable) -> None:
    study = made(make_study, STREAMS, two_out().to_csv(index=False))
    table = used(study)
    assert len(table) == 400
    assert table["station"].value_counts().to_dict() == {"L": 200, "R": 200}
    assert table.attrs["parts_per_stroke"] == 2
    assert not reasons(study)
    assert not seen(study)


def test_streams_one_below_the_other_are_put_in_order_of_strokes(make_study: Callable) -> None:
    table = two_out().sort_values(["Lane", "Stroke"])
    study = made(make_study, STREAMS, table.to_csv(index=False))
    found = used(study)
    assert found["order"].is_monotonic_increasing
    assert list(found["station"][:4]) == ["L", "R", "L", "R"]
    assert not seen(study)


def test_a_repeated_export_is_still_found_in_each_stream(make_study: Callable) -> None:
    table = two_out()
    study = made(make_study, STREAMS, pd.concat([table, table.iloc[40:60]]).to_csv(index=False))
    assert reasons(study) == {"repeated row: same order number, same content": 20}


def test_a_few_numbers_used_again_in_another_stream_are_no_second_outlet(
    make_study: Callable,
) -> None:
    table = two_out(streams="L")
    stray = table.iloc[[20]].assign(Lane="R", Width=2.95)
    study = made(make_study, STREAMS, pd.concat([table, stray]).to_csv(index=False))
    assert reasons(study) == {"order number used again with other content": 1}


def test_parts_beyond_those_of_a_stroke_are_set_aside(make_study: Callable) -> None:
    table = two_out(streams="LRX")
    study = made(
        make_study, STREAMS, table.to_csv(index=False), extra="[tool]\nparts_per_stroke = 2\n"
    )
    assert reasons(study) == {"more parts of one stroke than the tool makes": 200}


def test_parts_that_no_column_tells_apart_are_kept_and_that_is_said(make_study: Callable) -> None:
    study = made(
        make_study, RUN, two_out().to_csv(index=False), extra="[tool]\nparts_per_stroke = 2\n"
    )
    assert len(used(study)) == 400
    assert "no column says which" in seen(study)["streams not named"]


def test_one_out_says_that_numbers_stand_once(make_study: Callable) -> None:
    study = made(
        make_study, STREAMS, two_out().to_csv(index=False), extra="[tool]\nparts_per_stroke = 1\n"
    )
    assert sum(reasons(study).values()) == 200
    large = read(study).ledger.large_shares()
    assert sum(item.share for item in large) == pytest.approx(0.5)
    assert any("name the column of their streams with station" in item.sentence for item in large)


def test_strokes_with_a_part_missing_are_counted(make_study: Callable) -> None:
    table = two_out().drop(index=[3, 7, 11])
    study = made(make_study, STREAMS, table.to_csv(index=False))
    told = seen(study)["strokes with parts missing"]
    assert told == "Of 200 strokes 3 hold fewer than 2 parts (L: 200, R: 197)"


def test_several_columns_make_one_stream(make_study: Callable) -> None:
    table = two_out(streams="LR")
    table["Station"] = table["Stroke"] % 2 + 1
    columns = RUN + 'station = ["Station", "Lane"]\n'
    study = made(
        make_study, columns, table.to_csv(index=False), extra="[tool]\nparts_per_stroke = 2\n"
    )
    found = used(study)
    assert sorted(found["station"].unique()) == ["1 / L", "1 / R", "2 / L", "2 / R"]
    assert len(found) == 400


def test_subgroups_never_mix_streams(make_study: Callable) -> None:
    columns = STREAMS + "subgroup = { size = 5, every = 20 }\n"
    found = used(made(make_study, columns, two_out().to_csv(index=False)))
    groups = found.dropna(subset="subgroup").groupby("subgroup")
    assert (groups["station"].nunique() == 1).all()
    assert set(groups.size()) == {5}
    assert groups.ngroups == 20


def test_strokes_without_numbers_are_counted_by_their_streams(make_study: Callable) -> None:
    columns = 'role = "run"\ncolumns = { width = "Width" }\nstation = "Lane"\n'
    study = made(
        make_study, columns, two_out().to_csv(index=False), extra="[tool]\nparts_per_stroke = 2\n"
    )
    assert used(study)["order"].max() == 200


@pytest.mark.parametrize("named", [True, False])
def test_a_counter_that_begins_anew_is_numbered_on(named: bool, make_study: Callable) -> None:
    first, second = two_out(150), two_out(200, seed=2)
    table = pd.concat([first.assign(Job="A17"), second.assign(Job="A18")], ignore_index=True)
    clock = pd.Timestamp("2026-03-02 06:00") + pd.to_timedelta(np.arange(len(table)) // 2, "s")
    table["Clock"] = clock
    order = 'order = ["Job", "Stroke"]\n' if named else 'order = "Stroke"\ntime = "Clock"\n'
    columns = f'role = "run"\ncolumns = {{ width = "Width" }}\nstation = "Lane"\n{order}'
    study = made(make_study, columns, table.to_csv(index=False))
    found = used(study)
    assert len(found) == 700
    assert found["order"].max() == 350
    assert "begins anew 1 time" in seen(study)["counter begins anew"]


def test_a_chunk_exported_twice_is_no_new_job(make_study: Callable) -> None:
    table = two_out(150)
    table["Clock"] = pd.Timestamp("2026-03-02 06:00") + pd.to_timedelta(table["Stroke"], "s")
    again = pd.concat([table, table.iloc[100:180]])
    study = made(make_study, STREAMS + 'time = "Clock"\n', again.to_csv(index=False))
    assert reasons(study) == {"repeated row: same order number, same content": 80}


def test_days_whose_counters_begin_anew_follow_each_other() -> None:
    def day(number: int) -> pd.DataFrame:
        time = pd.Timestamp(f"2026-03-0{number} 06:00") + pd.to_timedelta(np.arange(50), "s")
        return pd.DataFrame({"order": np.arange(1.0, 51), "time": time})

    second, first = numbered_on([day(3), day(2)])
    assert (first["order"].min(), second["order"].min(), second["order"].max()) == (1, 51, 100)
    together = numbered_on([day(2), day(2)])
    assert together[1]["order"].min() == 1


def test_an_event_by_the_clock_gets_its_stroke(make_study: Callable) -> None:
    table = two_out()
    table["Clock"] = pd.Timestamp("2026-03-02 06:00") + pd.to_timedelta(table["Stroke"], "s")
    event = '[[event]]\nname = "punch reground"\ntime = "2026-03-02T06:01:40"\n'
    records = read(
        made(make_study, STREAMS + 'time = "Clock"\n', table.to_csv(index=False), extra=event)
    )
    assert records.study.events[0].at == 100
    wrong = event.replace("2026-03-02T06:01:40", "Monday")
    with pytest.raises(InputError, match="time is none"):
        read(made(make_study, STREAMS + 'time = "Clock"\n', table.to_csv(index=False), extra=wrong))


def test_parts_per_stroke_is_the_usual_number() -> None:
    order = np.repeat(np.arange(100.0), 3)
    assert parts_per_stroke(order, np.tile(list("abc"), 100), None) == 3
    assert parts_per_stroke(order, None, None) == 1
    assert parts_per_stroke(order, None, 3) == 3


@pytest.mark.parametrize(("last", "first"), [(9999, 0), (9999, 1), (99_998, 1), (65_535, 0)])
@pytest.mark.parametrize("streams", ["", "LR"])
def test_a_counter_that_is_full_goes_on(
    make_study: Callable, last: int, first: int, streams: str
) -> None:
    before, after = np.arange(last - 20, last + 1), np.arange(first, first + 20)
    shots = np.repeat([*before, *after], max(len(streams), 1))
    table = pd.DataFrame({"Stroke": shots, "Width": 2.7 + np.arange(shots.size) / 1000})
    if streams:
        table["Lane"] = list(streams) * 41
    data = STREAMS if streams else RUN
    found = used(made(make_study, data, table.to_csv(index=False)))
    np.testing.assert_allclose(found["value"], table["Width"])
    assert (np.diff(found["order"]) >= 0).all()


def test_a_stray_number_or_another_station_fills_no_counter(make_study: Callable) -> None:
    stray = [1, 2, 3, 9999, 4, 5, 6]
    table = pd.DataFrame({"Stroke": stray, "Width": 2.8 + np.arange(7) / 1000})
    assert used(made(make_study, RUN, table.to_csv(index=False)))["order"].max() == 9999
    below = pd.DataFrame(
        {"Stroke": [*range(9900, 10_000), *range(1, 101)], "Lane": ["L"] * 100 + ["R"] * 100}
    )
    below["Width"] = 2.8 + np.arange(200) / 10_000
    assert used(made(make_study, STREAMS, below.to_csv(index=False)))["order"].max() == 9999


@pytest.mark.parametrize("rows", ["newest first", "in no order", "past midnight", "as made"])
def test_rows_without_a_counter_are_put_in_the_order_of_their_clock(rows: str) -> None:
    n = 200
    # Ten parts a second: the file's own order tells those of one second apart.
    time = pd.Series(pd.Timestamp("2026-03-02") + pd.to_timedelta(np.arange(n) // 10, unit="s"))
    at = np.arange(n)
    if rows == "newest first":
        at = at[::-1]
    elif rows == "in no order":
        time = pd.Series(pd.Timestamp("2026-03-02") + pd.to_timedelta(np.arange(n), unit="s"))
        at = np.random.default_rng(1).permutation(n)
    elif rows == "past midnight":
        time = pd.Series(np.concatenate([time[n // 2 :], time[: n // 2]]))
    data = Data.model_validate(
        {"role": "run", "file": "run.csv", "columns": {"width": "w"}, "gauge": "cam"}
    )
    text = pd.DataFrame({"w": ["1"] * n})
    found = strokes_of(data, text, time.iloc[at].reset_index(drop=True), None).order
    assert found.tolist() == (at + 1.0).tolist()
