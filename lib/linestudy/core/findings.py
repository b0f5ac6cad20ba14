"""All findings of a study, each at its place in results.json."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from linestudy.core.errors import CannotJudge
from linestudy.core.finding import Finding, Unjudged
from linestudy.core.guarding import can_tell, failed


@dataclass(frozen=True, slots=True)
class Place:
    """Where a finding lives: a characteristic (or the whole study) and a path below it.

    Attributes
    ----------
    characteristic : str or None
        Characteristic id; None for findings about the study as a whole.
    path : tuple of str
        Keys below it in results.json, for example ``("gauges", "camera", "crossed")``.
    """

    characteristic: str | None
    path: tuple[str, ...]


@dataclass
class Findings:
    """An ordered collection of findings by place.

    Examples
    --------
    >>> found = Findings()
    >>> found.add("throat", ("shape",), Unjudged("Shape", "Only one part."))
    >>> found.get("throat", "shape").reason
    'Only one part.'
    """

    _by_place: dict[Place, Finding] = field(default_factory=dict)

    def add(self, characteristic: str | None, path: tuple[str, ...], finding: Finding) -> None:
        """Put a finding in its place; a place holds one finding."""
        place = Place(characteristic, path)
        if place in self._by_place:
            raise KeyError(f"there is already a finding at {place}")
        self._by_place[place] = finding

    def attempt(
        self,
        characteristic: str | None,
        path: tuple[str, ...],
        method: str,
        compute: Callable[[], Finding],
    ) -> Finding:
        """Run a method and keep what it found, or why the data do not allow it.

        A method that fails numerically, or whose result cannot be told, stands as one that could not be
        computed (:mod:`linestudy.core.guarding`); the others go on.
        """
        try:
            finding = compute()
            can_tell(finding)
        except CannotJudge as stop:
            finding = Unjudged(method, stop.reason)
        except Exception as error:
            failure = failed(error)
            if failure is None:
                raise
            finding = Unjudged(method, failure.reason)
        self.add(characteristic, path, finding)
        return finding

    def get(self, characteristic: str | None, *path: str) -> Finding | None:
        """The finding at a place, or None."""
        return self._by_place.get(Place(characteristic, path))

    def of(self, characteristic: str | None, *prefix: str) -> dict[tuple[str, ...], Finding]:
        """Findings of a characteristic whose path begins with `prefix`, in order."""
        return {
            place.path: finding
            for place, finding in self._by_place.items()
            if place.characteristic == characteristic and place.path[: len(prefix)] == prefix
        }

    def update(self, other: Findings) -> None:
        """Add all findings of another collection."""
        for place, finding in other.items():
            self.add(place.characteristic, place.path, finding)

    def items(self) -> Iterator[tuple[Place, Finding]]:
        """Pairs of place and finding, in the order they were added."""
        return iter(self._by_place.items())

    def __len__(self) -> int:
        return len(self._by_place)

    def nested(self, characteristic: str | None) -> dict[str, Any]:
        """Records of all findings of a characteristic, nested by path, as results.json holds them.

        Raises
        ------
        KeyError
            If a finding's own record already uses the key of a finding below it.
        """
        tree: dict[str, Any] = {}
        for path, finding in sorted(self.of(characteristic).items()):
            branch = tree
            for key in path[:-1]:
                branch = branch.setdefault(key, {})
            # Sorted, a finding comes before those below it: a key already there is the
            # parent's own, and would be overwritten.
            if path[-1] in branch:
                raise KeyError(f"{'.'.join(path)} is recorded twice")
            branch[path[-1]] = finding.record()
        return tree
