"""Put recorded numbers in the place of recomputed ones that agree with them, so that what is set anew says the same.

On another processor a number differs in its last digits, and where it lies on the edge between two printed digits
the document set from it differs too. So that this accuses nobody, the document is set anew from the recorded
numbers, each of which has been held against recomputation before; what is decided and written from them is decided
and written again.
"""

from __future__ import annotations

import copy
import dataclasses
from typing import TYPE_CHECKING, Any

from linestudy.results import Findings, Interval

if TYPE_CHECKING:
    from linestudy.dossier.audit.numbers import Path
    from linestudy.dossier.evaluation import Evaluation


def adopted(evaluation: Evaluation, near: dict[Path, Any]) -> Evaluation:
    """Take over recorded numbers.

    Parameters
    ----------
    evaluation : Evaluation
        Recomputed.
    near : dict of path to number or str
        Recorded values that agree within their tolerance, by their place in results.json.

    Returns
    -------
    Evaluation
        The same one where there are none.

    Notes
    -----
    Findings keep their numbers as attributes under the name they are recorded by, which is how they are found
    here; a number recorded under another name stays as recomputed. Verdicts are decided again.

    Examples
    --------
    See :func:`linestudy.dossier.audit.recomputation.recompute`.
    """
    if not near:
        return evaluation
    from linestudy.verdict.evaluation import evaluate as decide

    walk = _Walk(near)
    findings = Findings()
    before = [
        (place, item) for place, item in evaluation.findings.items() if place.path != _VERDICT
    ]
    for place, item in before:
        top: Path = ("characteristics", place.characteristic) if place.characteristic else ()
        findings.add(place.characteristic, place.path, walk.take(item, (*top, *place.path)))
    findings.update(decide(evaluation.study, evaluation.records, findings))
    ordered = Findings()
    for place, _ in evaluation.findings.items():
        found = findings.get(place.characteristic, *place.path)
        if found is not None:
            ordered.add(place.characteristic, place.path, found)
    return dataclasses.replace(evaluation, findings=ordered)


_VERDICT = ("verdict",)


class _Walk:
    """Goes through an object as :func:`linestudy.results.plain` does, and copies what holds a number to be replaced."""

    def __init__(self, near: dict[Path, Any]) -> None:
        self._near = near
        self._above = {path[:length] for path in near for length in range(len(path) + 1)}
        #: What was copied, by the identity of the original, which is kept so that no other takes its number.
        self._done: dict[int, tuple[Any, Any]] = {}

    def take(self, value: Any, path: Path) -> Any:
        if path in self._near:
            return self._number(value, self._near[path])
        if path not in self._above:
            return self._done[id(value)][1] if id(value) in self._done else value
        if isinstance(value, Interval):
            ends = {name: self.take(getattr(value, name), (*path, name)) for name in _ENDS}
            try:
                return dataclasses.replace(value, **ends)
            except ValueError:
                # No interval at all: somebody turned a very narrow one round.
                return value
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            return self._object(value, path)
        if isinstance(value, dict):
            return type(value)((k, self.take(v, (*path, str(k)))) for k, v in value.items())
        if isinstance(value, list | tuple):
            items = [self.take(item, (*path, at)) for at, item in enumerate(value)]
            made: Any = getattr(type(value), "_make", type(value))
            return made(items)
        if hasattr(value, "to_dict") and hasattr(value, "columns"):
            return self._frame(value, path)
        if hasattr(value, "tolist") and hasattr(value, "flat"):
            changed = value.copy()
            for at in self._indices(path):
                changed[at] = self._near[(*path, *at)]
            return changed
        return value

    def _object(self, value: Any, path: Path) -> Any:
        changed = copy.copy(value)
        self._done[id(value)] = value, changed
        for item in dataclasses.fields(value):
            old = getattr(value, item.name)
            new = self.take(old, (*path, item.name))
            if new is not old:
                object.__setattr__(changed, item.name, new)
        # A result worked out before and kept is that of the old numbers.
        for name, kept in list(getattr(changed, "__dict__", {}).items()):
            if type(getattr(type(value), name, None)).__name__ == "cached_property":
                del kept, changed.__dict__[name]
        return changed

    def _frame(self, frame: Any, path: Path) -> Any:
        changed = frame.copy()
        for row, column in self._indices(path):
            if column in changed.columns:
                at = changed.columns.get_loc(column)
                changed.iloc[row, at] = self._near[(*path, row, column)]
        return changed

    def _indices(self, path: Path) -> list[tuple[Any, ...]]:
        return [place[len(path) :] for place in self._near if place[: len(path)] == path]

    @staticmethod
    def _number(value: Any, recorded: Any) -> Any:
        return type(value)(recorded) if hasattr(value, "dtype") else recorded


_ENDS = ("estimate", "low", "high")
