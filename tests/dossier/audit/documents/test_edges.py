"""Digits on an edge accuse nobody, and a changed digit finds no number that lies around one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.dossier.audit.documents.edges import Edges


def test_digits_on_an_edge() -> None:
    edges = Edges([(0.30499999999, 0.30500000001), (1234.5, 1234.4999999999)])
    assert edges.explain("a 0.30 b", "a 0.31 b")
    assert edges.explain("30.5 %", "30.5 %")
    assert edges.explain("30 %", "31 %")
    assert edges.explain("1,234 strokes", "1,235 strokes")
    assert not edges.explain("a 0.30 b", "a 0.31 c")
    assert not edges.explain("0.31", "0.32")
    assert not edges.explain("0.30", "0.3")
    assert not edges.explain("0.30", "0.32")
    assert not Edges([]).explain("A1", "A2")


@given(st.integers(100, 99_999), st.sampled_from([0, 1, 2, 3]))
def test_a_number_around_an_edge_explains_its_own_two_digits_and_no_others(
    whole: int, places: int
) -> None:
    unit = 10.0**-places
    edge = (whole + 0.5) * unit
    edges = Edges([(edge * (1 - 1e-12), edge * (1 + 1e-12))])
    below, above, far = (f"{(whole + k) * unit:.{places}f}" for k in (0, 1, 2))
    assert edges.explain(f"n {below}", f"n {above}")
    assert edges.explain(f"n {above}", f"n {below}")
    assert not edges.explain(f"n {above}", f"n {far}")
    assert not edges.explain(f"n {below}", f"n {far}")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # A sign, a word, a number more, or other places.
        ("0.30", "-0.31"),
        ("0.30 mm", "0.31 in"),
        ("0.30", "0.31 0.31"),
        ("0.305", "0.31"),
        ("1,234", "1234"),
    ],
)
def test_what_else_differs_is_no_digit(one: str, other: str) -> None:
    assert not Edges([(0.30499999999, 0.30500000001)]).explain(one, other)


def test_all_numbers_that_differ_must_lie_around_their_edges() -> None:
    edges = Edges([(1.33499999999, 1.33500000001)])
    assert edges.explain("1.33 and 2.00", "1.34 and 2.00")
    assert not edges.explain("1.33 and 2.00", "1.34 and 2.01")
    # Of a share printed in per cent, and of six standard deviations.
    assert Edges([(0.0664999999999, 0.0665000000001)]).explain("6.6 %", "6.7 %")
    assert Edges([(0.02249999999999, 0.02250000000001)]).explain("0.13", "0.14")
