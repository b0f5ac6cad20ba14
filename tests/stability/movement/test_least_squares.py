"""What the last columns of a design add: NumPy's least squares, collinear columns, columns of any size, stacks."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.stability.movement.least_squares import reduce_to_last


def moments(design: np.ndarray, y: np.ndarray) -> np.ndarray:
    whole = np.column_stack([design, y])
    return (whole.T @ whole)[None]


def squares_left(design: np.ndarray, y: np.ndarray) -> float:
    return float(np.sum((y - design @ np.linalg.lstsq(design, y, rcond=None)[0]) ** 2))


def drawn(seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    # Columns of sizes from a hundred thousandth to a hundred thousand.
    design = np.column_stack([np.ones(40), rng.normal(size=(40, 3)) * [1e5, 1.0, 1e-5]])
    return design, design @ [3.0, 2e-5, -1.0, 4e4] + rng.normal(size=40)


@pytest.mark.checks("extra sum of squares", source="NumPy: lstsq with and without the columns")
@pytest.mark.parametrize("last", [1, 2, 3])
def test_it_is_the_difference_of_two_fits(last: int) -> None:
    design, y = drawn(1)
    found = reduce_to_last(moments(design, y), [0, 1, 2, 3], last)
    without = squares_left(design[:, : 4 - last], y)
    assert found.left == pytest.approx([squares_left(design, y)])
    assert found.explained == pytest.approx([without - squares_left(design, y)])
    coefficients = np.linalg.lstsq(design, y, rcond=None)[0][4 - last :]
    assert found.coefficients()[0] == pytest.approx(coefficients)
    assert found.known.all()


def test_the_order_of_the_columns_is_the_callers() -> None:
    design, y = drawn(2)
    found = reduce_to_last(moments(design, y), [0, 3, 1], 1)
    both = np.linalg.lstsq(design[:, [0, 3, 1]], y, rcond=None)[0]
    assert found.coefficients()[0] == pytest.approx(both[-1:])


def test_a_column_that_others_make_up_explains_nothing_and_has_no_coefficient() -> None:
    design, y = drawn(3)
    alike = np.column_stack([design[:, :2], 2 * design[:, 1] - 5.0, design[:, 2]])
    found = reduce_to_last(moments(alike, y), [0, 1, 2, 3], 2)
    assert found.known.tolist() == [[False, True]]
    assert found.determinant == pytest.approx([0.0])
    assert np.isnan(found.coefficients()).all()
    # The other column is still worth what it is without the copy.
    assert found.explained == pytest.approx(
        [squares_left(alike[:, :2], y) - squares_left(alike, y)]
    )
    assert found.left == pytest.approx([squares_left(alike, y)])


def test_the_determinant_is_what_the_columns_before_leave() -> None:
    rng = np.random.default_rng(4)
    one = np.ones(200)
    x = rng.normal(size=200)
    near = x + 0.5 * rng.normal(size=200)
    design = np.column_stack([one, x, near])
    found = reduce_to_last(moments(design, x), [0, 1, 2], 1)
    # One less R^2 of the column upon those before, of its square about nought.
    rest = squares_left(design[:, :2], near)
    assert found.determinant == pytest.approx([rest / float(near @ near)])


def test_many_sets_at_once_are_each_alone_and_nothing_of_the_callers_changes() -> None:
    pairs = [drawn(seed) for seed in (5, 6, 7)]
    stack = np.concatenate([moments(*pair) for pair in pairs])
    before = stack.copy()
    found = reduce_to_last(stack, [0, 1, 2, 3], 2)
    assert (stack == before).all()
    for at, pair in enumerate(pairs):
        alone = reduce_to_last(moments(*pair), [0, 1, 2, 3], 2)
        assert found.explained[at] == pytest.approx(alone.explained[0])
        assert found.coefficients()[at] == pytest.approx(alone.coefficients()[0])


def test_values_that_the_design_makes_exactly_leave_nothing_below_nought() -> None:
    design, _ = drawn(8)
    found = reduce_to_last(moments(design, design @ [1.0, 2.0, 3.0, 4.0]), [0, 1, 2, 3], 1)
    assert found.left[0] >= 0.0
