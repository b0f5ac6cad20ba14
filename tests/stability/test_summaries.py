"""Subgroups as a few numbers: pandas' own, large offsets, medians, labels that come back, tables made elsewhere."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.results import CannotJudge
from linestudy.stability import summaries_from_table, summarise


def test_summarise_counts() -> None:
    groups = summarise([3.0, 1.0, 2.0, 9.0, 8.0], [0, 0, 0, None, 1], [1, 2, 3, 4, 5])
    assert groups.n.tolist() == [3, 1]
    assert groups.median.tolist() == [2, 8]
    assert groups.low.tolist() == [1, 8]
    assert groups.order.tolist() == [1, 5]


@pytest.mark.checks("summaries of subgroups", source="pandas: groupby")
@pytest.mark.parametrize("sizes", [(5,) * 8, (1, 2, 7, 4, 1, 3)])
def test_they_are_those_of_pandas(sizes: tuple[int, ...]) -> None:
    labels = np.repeat(np.arange(len(sizes)), sizes)
    y = np.random.default_rng(1).normal(3.0, 0.5, labels.size)
    found, by = summarise(y, labels), pd.Series(y).groupby(labels)
    assert found.size == len(sizes)
    assert found.n.tolist() == list(sizes)
    assert found.mean == pytest.approx(by.mean())
    assert found.sd == pytest.approx(by.std().fillna(0.0))
    assert found.median == pytest.approx(by.median())
    assert found.range == pytest.approx(by.max() - by.min())
    assert found.squares == pytest.approx(by.var().fillna(0.0) * (by.size() - 1))


def test_a_large_offset_costs_nothing() -> None:
    # Powers of two: the offset changes no digit of the values.
    y = np.random.default_rng(2).integers(0, 64, 60) / 64.0
    labels = np.repeat(np.arange(12), 5)
    near, far = summarise(y, labels), summarise(y + 2.0**30, labels)
    assert far.sd == pytest.approx(near.sd, rel=1e-12)
    assert far.mean - 2.0**30 == pytest.approx(near.mean, abs=2e-7)


def test_equal_values_have_no_spread_at_all() -> None:
    assert summarise(np.full(15, 0.1), np.repeat(np.arange(5), 3)).sd.tolist() == [0.0] * 5


def test_without_labels_every_value_is_by_itself() -> None:
    found = summarise([4.0, 2.0, 9.0])
    assert found.order.tolist() == [1.0, 2.0, 3.0]
    assert found.n.tolist() == [1.0] * 3
    assert found.mean.tolist() == found.median.tolist() == found.low.tolist() == [4.0, 2.0, 9.0]
    assert found.squares.tolist() == [0.0] * 3


def test_chosen_subgroups_keep_their_own_numbers() -> None:
    found = summarise(np.arange(6.0), list("aabbcc")).where(np.array([True, False, True]))
    assert found.mean.tolist() == [0.5, 4.5]
    assert found.order.tolist() == [1.0, 5.0]


def test_a_label_that_comes_back_and_labels_that_are_all_missing_are_refused() -> None:
    with pytest.raises(CannotJudge, match="comes back after another subgroup began"):
        summarise([1.0, 2.0, 3.0, 4.0], ["a", "b", "b", "a"])
    with pytest.raises(CannotJudge, match="No part belongs to a subgroup"):
        summarise([1.0, 2.0], [None, None])
    # A part without a label in between does not end a subgroup.
    assert summarise([1.0, 9.0, 3.0], ["a", None, "a"]).n.tolist() == [2.0]
    with pytest.raises(ValueError, match="subgroup"):
        summarise([1.0, 2.0, 3.0], [0, 0])
    with pytest.raises(CannotJudge):
        summarise([1.0, np.nan, 3.0], [0, 0, 0])


def table(**columns: list[float]) -> pd.DataFrame:
    rows = {"n": [5, 5], "mean": [2.0, 2.1], "sd": [0.1, 0.1], "min": [1.9, 2.0], "max": [2.1, 2.2]}
    return pd.DataFrame({**rows, **columns})


def test_a_table_made_elsewhere_is_taken_as_it_is() -> None:
    rows = table()
    found = summaries_from_table(rows)
    assert found.order.tolist() == [1.0, 2.0]
    assert not found.has_median
    assert found.median.tolist() == [2.0, 2.1]  # the mean stands in
    given = summaries_from_table(table(order=[7, 12], median=[2.0, 2.05]))
    assert given.has_median
    assert given.order.tolist() == [7.0, 12.0]
    assert given.median.tolist() == [2.0, 2.05]
    assert "order" not in rows  # the caller's table is not written to


def test_one_subgroup_may_be_all_there_is() -> None:
    one = table(median=[2.0, 2.1]).iloc[:1]
    assert summaries_from_table(one).median.tolist() == [2.0]
    assert summaries_from_table(one.drop(columns="median")).size == 1


@pytest.mark.parametrize(
    "bad", [{"n": [0, 5]}, {"min": [2.3, 2.0]}, {"sd": [-0.1, 0.1]}, {"mean": [np.nan, 2.0]}]
)
def test_what_cannot_be_is_refused_in_a_sentence(bad: dict[str, list[float]]) -> None:
    with pytest.raises(CannotJudge) as stop:
        summaries_from_table(table(**bad))
    assert stop.value.reason.endswith(".")


def test_the_spread_of_a_single_part_may_be_missing_and_is_nought() -> None:
    found = summaries_from_table(table(n=[1, 5], sd=[np.nan, 0.1]))
    assert found.sd.tolist() == [0.0, 0.1]
    with pytest.raises(CannotJudge):
        summaries_from_table(table(sd=[np.nan, 0.1]))
    with pytest.raises(ValueError, match="no such column"):
        summaries_from_table(table().drop(columns="max"))
