"""Old names warn where they are used, do what the new ones do, and are not forgotten."""

from __future__ import annotations

import importlib
import pkgutil
import types
import warnings

import pytest

import linestudy
from linestudy.running import deprecation
from linestudy.running.deprecation import old_keywords, old_names, overdue, renamed


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> list[deprecation.Renamed]:
    found: list[deprecation.Renamed] = []
    monkeypatch.setattr(deprecation, "DECLARED", found)
    return found


def test_no_old_name_of_the_kit_is_kept_beyond_its_time() -> None:
    for module in pkgutil.walk_packages(linestudy.__path__, "linestudy."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    late = [one.message for one in overdue(linestudy.__version__)]
    assert late == []


def test_that_check_sees_a_name_whose_time_has_come(fresh: list[deprecation.Renamed]) -> None:
    old_names("room", [renamed("a", "b", "0.2.0", "0.4.0")], lambda name: name)
    # By number and not by letter: 0.10 comes after 0.4.
    assert [len(overdue(v)) for v in ("0.2.0", "0.4.0.dev1", "0.4.0", "0.10.0", "1.0")] == [
        0,
        0,
        1,
        1,
        1,
    ]


def test_an_old_public_name_gives_the_new_thing_and_warns_at_the_users_line(
    fresh: list[deprecation.Renamed],
) -> None:
    room = types.ModuleType("room")
    names = [
        renamed("influence_of", "influence", "0.2.0", "0.4.0"),
        renamed("interval", "linestudy.results.interval.Interval", "0.2.0", "0.4.0"),
    ]
    room.__getattr__ = old_names("room", names, lambda name: f"the {name}")  # type: ignore[method-assign]
    with pytest.warns(
        DeprecationWarning, match=r"'influence' since version 0\.2\.0.*0\.4\.0"
    ) as told:
        assert room.influence_of == "the influence"
    assert told[0].filename == __file__
    with pytest.warns(DeprecationWarning, match="Interval"):
        assert room.interval is linestudy.results.Interval
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert room.influence == "the influence"


def test_an_old_keyword_is_taken_once(fresh: list[deprecation.Renamed]) -> None:
    @old_keywords(renamed("sigmas", "width", "0.2.0", "0.4.0"))
    def limits(x: float, *, width: float = 3.0) -> float:
        """Say how wide."""
        return x * width

    assert limits(2.0) == 6.0
    assert limits.__doc__ == "Say how wide."
    with pytest.warns(DeprecationWarning, match="'width'") as told:
        assert limits(2.0, sigmas=1.0) == 2.0  # type: ignore[call-arg]
    assert told[0].filename == __file__
    with pytest.raises(TypeError, match="which are the same"):
        limits(2.0, sigmas=1.0, width=2.0)  # type: ignore[call-arg]
    with pytest.raises(TypeError, match="unexpected keyword"):
        limits(2.0, sigma=1.0)  # type: ignore[call-arg]


@pytest.mark.parametrize("words", [("a", "a", "1", "2"), ("a", "b", "0.10.0", "0.9.0")])
def test_a_rename_that_makes_no_sense_is_refused(words: tuple[str, str, str, str]) -> None:
    with pytest.raises(ValueError, match=r"itself|not later"):
        renamed(*words)


def test_an_old_function_takes_its_options_by_position_as_before(
    fresh: list[deprecation.Renamed],
) -> None:
    def width(low: float, high: float, *, scale: float = 1.0, shift: float = 0.0) -> float:
        """Compute a width."""
        return scale * (high - low) + shift

    room = types.ModuleType("room")
    room.__getattr__ = old_names(  # type: ignore[method-assign]
        "room",
        [renamed("span", "width", "0.2.0", "0.4.0")],
        lambda name: width,
        positions={"span": ("low", "high", "shift", "scale")},
    )
    with pytest.warns(DeprecationWarning, match="'span' is called 'width'"):
        span = room.span
    assert span(1.0, 3.0, 10.0, 2.0) == 14.0
    assert span(1.0, 3.0, scale=2.0) == 4.0
    with pytest.raises(TypeError, match="at most 4"):
        span(1, 2, 3, 4, 5)
    with pytest.raises(TypeError, match="'high' twice"):
        span(1, 2, high=3)


def test_an_old_argument_of_a_public_function_is_told_at_the_callers_line() -> None:
    from linestudy.gauges import bias_study

    with pytest.warns(DeprecationWarning, match="'spread' is called 'sd_method'") as told:
        bias_study([1.0, 1.1, 0.9, 1.2], 1.0, spread="sd")
    assert told[0].filename == __file__
