"""Put the notebooks and the sample data, which lie beside the library in the repository, into what is built."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

SHIPPED = ("notebooks", "sample_data/fork_receptacle", "sample_data/published")


class Shipped(BuildHookInterface):  # type: ignore[type-arg]
    """Adds them under ``linestudy/_shipped``, where ``linestudy.study.shipped`` looks."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        # An editable install finds them in the repository; an unpacked sdist has them in place already.
        top = Path(self.root).parent
        if version == "editable" or (Path(self.root) / "linestudy" / "_shipped").is_dir():
            return
        for name in SHIPPED:
            for file in sorted((top / name).rglob("*")):
                inside = file.relative_to(top)
                hidden = any(
                    part.startswith(".") or part.endswith(".dossier") for part in inside.parts
                )
                if file.is_file() and not hidden and "__pycache__" not in inside.parts:
                    build_data["force_include"][str(file)] = (
                        f"linestudy/_shipped/{inside.as_posix()}"
                    )
