"""Benchmarks by pytest-benchmark: what is ours and its named peer stand in one group of one run.

Below the plugin's own table a line for each measurement says how it compares with each peer of its group.
Nothing is asserted on time.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import pytest
from timed import Timed


@pytest.fixture
def timed(benchmark: Any) -> Timed:
    """How a test has its work timed."""
    return Timed(benchmark)


def _seconds(value: float) -> str:
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if value >= size:
            return f"{value / size:.3g} {unit}"
    return f"{value * 1e6:.3g} µs"


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """One line for each measurement, with its ratio to the peers of its group (medians)."""
    session = getattr(config, "_benchmarksession", None)
    found = [item for item in getattr(session, "benchmarks", []) if item.extra_info.get("per")]
    if not found:
        return
    groups: dict[str, list[Any]] = defaultdict(list)
    for item in found:
        groups[str(item.group)].append(item)
    terminalreporter.section("ratios to named peers")
    for name, items in groups.items():
        spent = {id(item): item.stats.median / item.extra_info["per"] for item in items}
        peers = [item for item in items if item.extra_info["peer"]]
        terminalreporter.write_line(name)
        for item in items:
            if item.extra_info["peer"]:
                text = f"  {item.extra_info['peer']}: {_seconds(spent[id(item)])}"
            else:
                text = f"  {item.name.removeprefix('test_').replace('_', ' ')}: {_seconds(spent[id(item)])}"
                for peer in peers:
                    ratio = spent[id(item)] / spent[id(peer)]
                    how = f"{ratio:.2f} times" if ratio > 0.1 else f"1/{1 / ratio:.0f} of"
                    text += f"; {how} {peer.extra_info['peer']}"
                rest = {k: v for k, v in item.extra_info.items() if k not in ("per", "peer", "aim")}
                text += "".join(f"; {key} {value}" for key, value in rest.items())
                if item.extra_info["aim"]:
                    text += f" (aim: {item.extra_info['aim']})"
            terminalreporter.write_line(text)
