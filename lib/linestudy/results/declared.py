"""A finding is declared once: where it lives, what it is called, and where a document shows it.

Everything else reads the declaration. The package that evaluates puts the finding in its place, the
document and the notebooks show it there under its heading, the page of keys is written from its
class, and a rule of the verdict that asks a finding for a field can only ask for one that exists.
"""

from __future__ import annotations

import dataclasses
import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from linestudy.results.finding import Finding

#: The questions a characteristic's pages go through, in this order.
Question = Literal["measurement", "control", "distribution", "fit", "set aside", "further"]
#: Where the document shows a finding: with its characteristic, in the part of its package, or not at all.
Part = Literal["characteristic", "annex", "none"]

_REGISTERED: dict[tuple[bool, str], Declaration] = {}


@dataclass(frozen=True)
class Declaration:
    """What everyone needs to know about a finding before there is one.

    Attributes
    ----------
    key : str
        Its place in results.json below the characteristic (or the study), with dots:
        ``"stability.tool_wear"``; a part in braces stands for a name of the study, as in
        ``"gauges.{gauge}.crossed"``.
    finding : type
        Its class.
    heading : str
        What the study is called in headings and tables, in the field's words; the title of its class when absent.
    part : str
        ``"characteristic"``: on the pages of its characteristic; ``"annex"``: where the findings of
        its package are side by side; ``"none"``: only results.json and notebooks hold it.
    question : str
        For ``part="characteristic"``: the question it answers.
    order : int
        Among the findings of its part and question: small numbers first.
    picture : int
        Width of its picture in percent of the text; 0 where the document does not show it.
    with_table : bool
        Whether the document shows its table too.
    brief : bool
        Whether its cautions are left to the annex.
    own : str
        Name under which the finding itself is reached where others are below it, as
        ``findings.blade.stability.chart``.
    of_study : bool
        True for a finding about the study as a whole.
    """

    key: str
    finding: type[Finding]
    heading: str = ""
    part: Part = "annex"
    question: Question = "further"
    order: int = 100
    picture: int = 0
    with_table: bool = False
    brief: bool = False
    own: str = ""
    of_study: bool = False
    path: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "path", tuple(self.key.split(".")))
        object.__setattr__(self, "heading", self.heading or self.finding.title)
        known = _REGISTERED.get((self.of_study, self.key))
        if known is not None and known.finding.__qualname__ != self.finding.__qualname__:
            raise ValueError(f"two findings are declared at {self.key}")
        if self.picture and not shows_picture(self.finding):
            raise ValueError(f"{self.key}: {self.finding.__name__} draws no picture to be shown")
        _REGISTERED[self.of_study, self.key] = self

    def at(self, **names: str) -> tuple[str, ...]:
        """Return the place in results.json, with the names of this study filled in.

        Parameters
        ----------
        **names : str
            For each part in braces its name, as ``gauge="camera"``.

        Returns
        -------
        tuple of str

        Raises
        ------
        KeyError
            A part in braces is not named.
        """
        return tuple(
            names[part[1:-1]] if part.startswith("{") and part.endswith("}") else part
            for part in self.path
        )

    def fits(self, path: tuple[str, ...]) -> bool:
        """Check whether a place in results.json is one of this finding's."""
        return len(path) == len(self.path) and all(
            part == own or own.startswith("{") for part, own in zip(path, self.path, strict=True)
        )

    def field(self, name: str) -> str:
        """Return the name of a field of the finding, if it has one so called.

        Parameters
        ----------
        name : str

        Returns
        -------
        str

        Raises
        ------
        AttributeError
            The finding has no such field: whoever reads it learns of it at import.
        """
        fields = {item.name for item in dataclasses.fields(self.finding)}  # type: ignore[arg-type]
        if name not in fields and not isinstance(getattr(self.finding, name, None), property):
            raise AttributeError(f"{self.finding.__name__} ({self.key}) has no field {name!r}")
        return name


def shows_picture(finding: type[Finding]) -> bool:
    """Check whether findings of a class draw a picture.

    Parameters
    ----------
    finding : type
        Class of a finding.

    Returns
    -------
    bool
        True where it has a picture.
    """
    return bool(finding.picture) or finding._draw is not Finding._draw


def declaration_of(path: tuple[str, ...], *, of_study: bool = False) -> Declaration | None:
    """Return the declaration of the finding at a place, or None.

    Parameters
    ----------
    path : tuple of str
        Keys below the characteristic, or the study.
    of_study : bool
        Whether it is a place of the study as a whole.

    Returns
    -------
    Declaration or None
        The declaration of that place itself, else of the pattern it fits.
    """
    exact = _REGISTERED.get((of_study, ".".join(path)))
    if exact is not None:
        return exact
    return next((d for d in _REGISTERED.values() if d.of_study == of_study and d.fits(path)), None)


def declarations(*packages: str) -> tuple[Declaration, ...]:
    """Return all declarations, by key; every module of the packages is imported for it.

    Parameters
    ----------
    *packages : str
        Names of packages below ``linestudy``; without any, what has been imported so far.

    Returns
    -------
    tuple of Declaration
        Sorted by place, those of characteristics first.
    """
    for name in _modules(packages):
        importlib.import_module(name)
    within = tuple(f"linestudy.{name}." for name in packages) or ("",)
    return tuple(
        _REGISTERED[place]
        for place in sorted(_REGISTERED)
        if _REGISTERED[place].finding.__module__.startswith(within)
    )


def _modules(packages: tuple[str, ...]) -> Iterator[str]:
    for name in packages:
        package: Any = importlib.import_module(f"linestudy.{name}")
        for item in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if not item.name.endswith("__main__"):
                yield item.name
