"""The lock of versions: all that runs, by the name pip knows it under, and nothing else."""

from __future__ import annotations

import platform
import re
from importlib import metadata

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from linestudy import __version__
from linestudy.dossier.audit.check_bag import versions
from linestudy.dossier.bag.versions import lock


def test_lines_as_pip_reads_them_in_the_order_of_their_names() -> None:
    head, *lines = lock().removesuffix("\n").split("\n")
    assert head == f"# Python {platform.python_version()}"
    needed = [Requirement(line) for line in lines]
    names = [need.name for need in needed]
    assert names == sorted(set(names)) == [canonicalize_name(name) for name in names]
    for need in needed:
        (pin,) = need.specifier
        assert pin.operator == "=="
        there = __version__ if need.name == "linestudy" else metadata.version(need.name)
        assert pin.version == there


def test_what_is_needed_by_way_of_others_is_listed_and_what_only_tests_need_is_not() -> None:
    names = {line.partition("==")[0] for line in lock().splitlines()[1:]}
    # Matplotlib needs contourpy; nothing that runs needs pytest or ruff.
    assert {"linestudy", "numpy", "pandas", "matplotlib", "contourpy"} <= names
    assert not {"pytest", "ruff", "mypy", "jupyterlab"} & names


def test_the_auditor_reads_what_was_written(tmp_path) -> None:
    file = tmp_path / "versions.txt"
    file.write_text(lock(), encoding="utf-8")
    assert versions(file, {"linestudy": __version__}) == ((), ())
    older = re.sub(r"(?m)^numpy==.*$", "numpy==1.0.0", lock())
    file.write_text(older, encoding="utf-8")
    wrong, other = versions(file, {})
    assert wrong == ()
    assert other == (f"numpy 1.0.0 there, {metadata.version('numpy')} here",)
