"""A name that a package does not have is answered with the one that was meant."""

from __future__ import annotations

import pytest

import linestudy
from linestudy.running.lazy import attach_stub


@pytest.mark.parametrize(
    ("package", "name", "said"),
    [
        ("stability", "contol_chart", "has no 'contol_chart'; did you mean 'control_chart'?"),
        ("capability", "process_capabilty", "did you mean 'process_capability'?"),
        ("gauges", "nothing_of_the_kind", "linestudy.gauges has no 'nothing_of_the_kind'"),
    ],
)
def test_a_misspelt_name_is_told(package: str, name: str, said: str) -> None:
    with pytest.raises(AttributeError) as told:
        getattr(getattr(linestudy, package), name)
    assert str(told.value).endswith(said)


def test_what_a_tool_asks_for_is_only_absent() -> None:
    assert not hasattr(linestudy, "__wrapped__")
    assert not hasattr(linestudy, "no_such_package")


def test_every_name_of_a_stub_loads() -> None:
    load, directory, names = attach_stub("linestudy.running_of_a_test", linestudy.plan.__file__)
    assert sorted(directory()) == sorted(names)
    with pytest.raises(AttributeError, match="has no 'sizes'"):
        load("sizes")
