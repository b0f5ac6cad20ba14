"""All findings of a study, each at its place in results.json."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from linestudy.results.declared import Declaration, declaration_of
from linestudy.results.errors import CannotJudge, did_you_mean
from linestudy.results.finding import Finding, Unjudged, table_html
from linestudy.results.guarding import check_presentable, failed
from linestudy.results.interval import Interval
from linestudy.results.tables import strokes_for_slopes
from linestudy.running.threads import one_thread

if TYPE_CHECKING:
    import pandas as pd


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

        A method that fails numerically, or whose result cannot be written, is kept as one that could not be
        computed (:mod:`linestudy.results.guarding`); the others go on.
        """
        try:
            # Numerical libraries use one thread, so that numbers do not depend on how many cores there are.
            with one_thread():
                finding = compute()
            check_presentable(finding)
        except CannotJudge as stop:
            finding = Unjudged(method, stop.reason)
        except Exception as error:
            failure = failed(error)
            if failure is None:
                raise
            finding = Unjudged(method, failure.reason)
        self.add(characteristic, path, finding)
        return finding

    def evaluate(
        self,
        characteristic: str | None,
        declared: Declaration,
        compute: Callable[[], Finding],
        **names: str,
    ) -> Finding:
        """Run a method and keep what it found at the place where it is declared.

        Parameters
        ----------
        characteristic : str or None
        declared : Declaration
        compute : callable
            Returns the finding, or raises CannotJudge.
        **names : str
            For each part of the place in braces its name, as ``gauge="camera"``.

        Returns
        -------
        Finding
            An :class:`~linestudy.results.Unjudged` where the data do not allow the method.
        """
        return self.attempt(characteristic, declared.at(**names), declared.heading, compute)

    def get(self, characteristic: str | None, *path: str) -> Finding | None:
        """Return the finding at a place, or None."""
        return self._by_place.get(Place(characteristic, path))

    def of(self, characteristic: str | None, *prefix: str) -> dict[tuple[str, ...], Finding]:
        """Return findings of a characteristic whose path begins with `prefix`, in order."""
        return {
            place.path: finding
            for place, finding in self._by_place.items()
            if place.characteristic == characteristic and place.path[: len(prefix)] == prefix
        }

    def update(self, other: Findings) -> None:
        """Add all findings of another collection."""
        for place, finding in other.items():
            self.add(place.characteristic, place.path, finding)

    def tell_over_one_number(self) -> None:
        """Report all slopes of the study over one number of strokes, chosen by the flattest of them."""
        found_slopes: dict[Place, Any] = {
            place: finding
            for place, finding in self.items()
            if hasattr(finding, "over") and getattr(finding, "counted", "strokes") == "strokes"
        }
        keys = ("slope_per_thousand", "wear_per_thousand")
        slopes = [getattr(finding, key, None) for finding in found_slopes.values() for key in keys]
        over = strokes_for_slopes(slope for slope in slopes if isinstance(slope, Interval))
        for place, finding in found_slopes.items():
            self._by_place[place] = replace(finding, over=over)

    def items(self) -> Iterator[tuple[Place, Finding]]:
        """Return pairs of place and finding, in the order they were added."""
        return iter(self._by_place.items())

    def __len__(self) -> int:
        return len(self._by_place)

    def __getitem__(self, place: tuple[str | None, ...] | str) -> Finding:
        """Return the finding at a place, as ``findings["blade", "stability", "tool_wear"]``."""
        parts = place if isinstance(place, tuple) else (place,)
        found = self.get(parts[0], *(str(part) for part in parts[1:]))
        if found is None:
            raise KeyError(_nothing_at(self, parts))
        return found

    def __getattr__(self, name: str) -> Branch:
        if name.startswith("_"):
            raise AttributeError(name)
        if name in self.characteristics():
            return Branch(self, name, ())
        if (name,) in self.of(None) or any(path[0] == name for path in self.of(None)):
            return Branch(self, None, (name,))
        raise AttributeError(_nothing_at(self, (name,)))

    def __dir__(self) -> list[str]:
        of_study = {path[0] for path in self.of(None)}
        return sorted({*super().__dir__(), *self.characteristics(), *of_study})

    def characteristics(self) -> tuple[str, ...]:
        """Return ids of the characteristics that have findings, in order."""
        names = (place.characteristic for place in self._by_place)
        return tuple(dict.fromkeys(name for name in names if name is not None))

    def overview(self) -> pd.DataFrame:
        """Return one line for each finding: its place, what it is, what it says.

        Returns
        -------
        pandas.DataFrame
            Columns ``characteristic, place, study, result``.
        """
        import pandas as pd

        lines = [
            (place.characteristic or "", ".".join(place.path), finding.title, finding.statement)
            for place, finding in self.items()
        ]
        return pd.DataFrame(lines, columns=["characteristic", "place", "study", "result"])

    def __str__(self) -> str:
        lines = [
            f"{place.characteristic or 'study'}.{'.'.join(place.path)}: {finding.title}"
            for place, finding in self.items()
        ]
        return "\n".join([f"{len(self)} findings", *lines])

    __repr__ = __str__

    def _repr_html_(self) -> str:
        return table_html(self.overview())

    def nested(self, characteristic: str | None) -> dict[str, Any]:
        """Return records of all findings of a characteristic, nested by path, as results.json holds them.

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


@dataclass(frozen=True, repr=False)
class Branch:
    """What was found below a place; walked by names, as ``findings.blade.stability.tool_wear``.

    Where a finding is at the place itself, the branch shows it, and hands on its attributes.

    Attributes
    ----------
    finding : Finding or None
        The finding at the place itself.
    """

    _findings: Findings
    _characteristic: str | None
    _path: tuple[str, ...]

    @property
    def finding(self) -> Finding | None:
        """Return the finding at this place itself, or None where there are only some below it."""
        return self._findings.get(self._characteristic, *self._path)

    def below(self) -> tuple[str, ...]:
        """Return names of the places below this one."""
        depth = len(self._path)
        paths = self._findings.of(self._characteristic, *self._path)
        return tuple(dict.fromkeys(path[depth] for path in paths if len(path) > depth))

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        declared = declaration_of(self._path, of_study=self._characteristic is None)
        if declared is not None and name == declared.own and self.finding is not None:
            return self.finding
        if name in self.below():
            branch = Branch(self._findings, self._characteristic, (*self._path, name))
            return branch if branch.below() else branch.finding
        if self.finding is not None and hasattr(self.finding, name):
            return getattr(self.finding, name)
        own = dir(self.finding) if self.finding is not None else ()
        known = [*self.below(), *(item for item in own if not item.startswith("_"))]
        raise AttributeError(
            f"nothing is at {'.'.join((self._characteristic or 'study', *self._path, name))};"
            f"{did_you_mean(name, known)} Below it are: {', '.join(self.below()) or 'none'}."
        )

    __getitem__ = __getattr__

    def __dir__(self) -> list[str]:
        own = dir(self.finding) if self.finding is not None else ()
        return sorted(
            {"below", "finding", *self.below(), *(n for n in own if not n.startswith("_"))}
        )

    def __str__(self) -> str:
        lines = [str(self.finding)] if self.finding is not None else []
        if self.below():
            lines.append(
                f"Below {'.'.join(self._path) or self._characteristic}: {', '.join(self.below())}"
            )
        return "\n\n".join(lines)

    __repr__ = __str__

    def _repr_html_(self) -> str:
        found = self._findings.of(self._characteristic, *self._path)
        return "".join(finding.html() for finding in found.values())


def _nothing_at(findings: Findings, parts: tuple[str | None, ...]) -> str:
    places = [(place.characteristic or "", *place.path) for place, _ in findings.items()]
    wanted = tuple(part or "" for part in parts)
    known = (
        [".".join(place) for place in places]
        if len(parts) > 1
        else [*findings.characteristics(), *(place[1] for place in places if not place[0])]
    )
    return f"nothing was found at {'.'.join(wanted)!r};{did_you_mean('.'.join(wanted), known)}"


@dataclass(frozen=True)
class Shown:
    """Findings to be looked at together.

    Attributes
    ----------
    findings : tuple of Finding
    labels : tuple of str
        What each is about, from its place: for example ``"camera, crossed"``.
    pictures : bool
        Whether each finding's picture is drawn below it.
    nothing : str
        What is said where there are none.
    """

    findings: tuple[Finding, ...]
    labels: tuple[str, ...]
    pictures: bool
    nothing: str

    def __repr__(self) -> str:
        return "\n".join(item.statement for item in self.findings) or self.nothing

    def _repr_html_(self) -> str:
        if not self.findings:
            return f"<p>{html.escape(self.nothing)}</p>"
        pairs = zip(self.findings, self.labels, strict=True)
        return "".join(self._one(item, label) for item, label in pairs)

    def _one(self, item: Finding, label: str) -> str:
        place = f"<p><b>{html.escape(label)}</b></p>" if label else ""
        return place + item.html(pictures=self.pictures)


def show_findings(
    findings: Findings,
    characteristic: str | None,
    *place: str,
    pictures: bool = True,
    with_below: bool = True,
    method: str | tuple[str, ...] | None = None,
    names: Mapping[str, str] | None = None,
) -> Shown:
    """Show what was found about a characteristic, table, statement, cautions and picture.

    Parameters
    ----------
    findings : Findings
        From a package's ``evaluate``, or from a whole evaluation.
    characteristic : str or None
        Characteristic id; None for findings about the study as a whole.
    *place : str
        Beginning of the place in results.json, for example ``"gauges", "camera"``.
    pictures : bool
        Whether to draw the pictures.
    with_below : bool
        Whether to show what lies below that place too.
    method : str or tuple of str, optional
        Only findings whose place ends so, for example ``"crossed"`` of every gauge.
    names : mapping of str to str, optional
        What people call a gauge, by its id: findings are then shown under these names, and the method under its own title.

    Returns
    -------
    Shown
        Shows itself in a notebook; where nothing was found it says so.

    Examples
    --------
    >>> show_findings(Findings(), "throat", "gauges")
    Nothing was recorded here, so nothing can be said about it.
    """
    found = findings.of(characteristic, *place).items()
    ends = (method,) if isinstance(method, str) else method
    chosen = {
        path: finding
        for path, finding in found
        if (with_below or path == place) and (ends is None or path[-1] in ends)
    }
    labels = tuple(_label(path, names, of_study=characteristic is None) for path in chosen)
    return Shown(
        tuple(chosen.values()),
        labels,
        pictures,
        "Nothing was recorded here, so nothing can be said about it.",
    )


def _label(path: tuple[str, ...], names: Mapping[str, str] | None, *, of_study: bool) -> str:
    """Name what a finding is about, from its place; given names, only what its own title does not say."""
    declared = None if names is None else declaration_of(path, of_study=of_study)
    if names is None or declared is None:
        return ", ".join(part.replace("_", " ") for part in path[1:])
    given = [part for part, key in zip(path, declared.path, strict=False) if key[:1] == "{"]
    return ", ".join(" and ".join(names.get(one, one) for one in part.split("~")) for part in given)
