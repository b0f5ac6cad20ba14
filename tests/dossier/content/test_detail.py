"""What the annex says of single streams."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from linestudy.capability import joint_conformity, process_capability
from linestudy.dossier.content.detail import of_each_stream
from linestudy.results import Findings, Unjudged


def test_every_stream_is_told_under_its_own_name() -> None:
    draw = np.random.default_rng(1)
    findings = Findings()
    for name in ("L", "R"):
        parts = pd.DataFrame({"a": draw.normal(0, 1, 200), "b": draw.normal(0, 1, 200)})
        joint = joint_conformity(parts, {"a": (-5, 5), "b": (-5, 5)})
        findings.add(None, ("streams", name, "joint"), joint)
    findings.add(
        "a", ("streams", "L", "before_sorting"), Unjudged("Before sorting", "Too few parts.")
    )
    findings.add("a", ("streams", "L", "capability"), process_capability(parts["a"], -5, 5))
    evaluation: Any = SimpleNamespace(findings=findings)
    said = of_each_stream(evaluation, None, ("joint",))
    assert [name for name, _ in said] == [
        f"All characteristics together, stream {name}" for name in ("L", "R")
    ]
    assert said[0][1] == findings.get(None, "streams", "L", "joint").statement  # type: ignore[union-attr]
    assert of_each_stream(evaluation, "a", ("before_sorting", "crossed")) == [
        ("Before sorting, stream L", "Cannot be judged: too few parts.")
    ]


def test_the_index_of_a_stream_is_not_said_of_all_values() -> None:
    from dataclasses import replace

    found = process_capability(np.random.default_rng(1).normal(0, 1, 100), -5, 5)
    assert found.statement.startswith("All values together: Ppk")
    assert replace(found, whose="Stream L").statement.startswith("Stream L: Ppk")


def test_what_one_stream_does_not_allow_is_told_under_the_name_of_the_others() -> None:
    findings = Findings()
    findings.add("a", ("streams", "L", "tool_life"), Unjudged("Tool life of one stream", "Why."))
    findings.add(
        "a", ("streams", "R", "before_sorting"), Unjudged("Before sorting, one stream", "Why.")
    )
    evaluation: Any = SimpleNamespace(findings=findings)
    said = of_each_stream(evaluation, "a", ("before_sorting", "tool_life"))
    assert [name for name, _ in said] == ["Tool life, stream L", "Before sorting, stream R"]
