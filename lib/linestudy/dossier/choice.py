"""A choice of characteristic and stream, and what is shown of it: drawn anew when another is made."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

from linestudy.dossier.last_choice import ALL, keep_chosen
from linestudy.results import Findings, show_findings
from linestudy.results.declared import declarations
from linestudy.results.tables import named
from linestudy.verdict.criteria import Criteria, resolve

if TYPE_CHECKING:
    from linestudy.dossier.choice_lists import Lists
    from linestudy.results.findings import Shown
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


class Handle(Protocol):
    """A place on a notebook's page where something else may be shown later."""

    def update(self, obj: Any) -> object:
        """Show something else there."""


@dataclass(eq=False)
class Choice:
    """A characteristic and a stream, chosen from two lists; shows the lists in a notebook.

    Attributes
    ----------
    study : Study
    findings : Findings
        Empty where nothing was evaluated yet.
    characteristic : str
        Id of the characteristic that is chosen.
    stream : str
        Name of the stream that is chosen; empty for all together.
    note : str
        What there is to say beside the lists, where the study has nothing of what the notebook is about.
    """

    study: Study
    findings: Findings
    characteristic: str
    stream: str = ALL
    note: str = ""
    _lists: Lists | None = field(default=None, repr=False)
    _shown: dict[str, tuple[Handle, View]] = field(default_factory=dict, repr=False)

    @property
    def item(self) -> Characteristic:
        """The characteristic that is chosen, as study.toml describes it."""
        return self.study.characteristic(self.characteristic)

    @property
    def criteria(self) -> Criteria:
        """What is asked of the characteristic that is chosen."""
        return resolve(self.study.criteria, self.item)

    @property
    def required(self) -> float:
        """The index that is asked of it."""
        return self.criteria["capability_accept"].number

    def streams(self) -> tuple[str, ...]:
        """List the streams of the chosen characteristic that have findings of their own."""
        found = self.findings.of(self.characteristic, "streams")
        return tuple(dict.fromkeys(path[1] for path in found))

    def show(
        self,
        *place: str,
        method: str | tuple[str, ...] | None = None,
        pictures: bool = True,
        with_below: bool = True,
    ) -> View:
        """Show what was found of the choice at a place; drawn anew when another is made.

        Parameters
        ----------
        *place : str
            Beginning of the place in results.json, for example ``"gauges", "camera"``.
        method, pictures, with_below
            As for :func:`linestudy.show_findings`.

        Returns
        -------
        View
            Shows itself in a notebook. What is known of a stream by itself is shown of the stream, all else of all parts;
            where nothing was studied, that is said by name.
        """

        ends = (method,) if isinstance(method, str) else method

        def now(item: Characteristic) -> Any:
            own = self._own(item, place, ends, pictures)
            # What the stream has by itself is not shown of all streams again.
            rest = ends and tuple(end for end in ends if end not in own)
            if own and not rest:
                return Together(tuple(own.values()))
            found = show_findings(
                self.findings,
                item.id,
                *place,
                pictures=pictures,
                with_below=with_below,
                method=rest,
                names=self._names(),
            )
            if found.findings:
                note = "" if self.stream == ALL else "Of all streams together:"
                return Together((*own.values(), Said(note), found))
            judged = ", which is judged" if item.is_attribute else ""
            nothing = Said(f"{_wanted(place, ends)}: not studied for {item.name}{judged}.")
            return Together(tuple(own.values()) or (nothing,))

        return self.view(now, key=repr((place, method, pictures, with_below)))

    def show_study(self, *place: str) -> Together:
        """Show what was found of the study as a whole, whatever is chosen.

        Parameters
        ----------
        *place : str
            Beginning of the place in results.json, for example ``"biases"``.

        Returns
        -------
        Together
            Where nothing was studied, that is said by name.
        """
        found = show_findings(self.findings, None, *place, names=self._names())
        nothing = Said(f"{_wanted(place, None, of_study=True)}: not studied here.")
        return Together((found if found.findings else nothing,))

    def _names(self) -> dict[str, str]:
        """Map the ids of the gauges, and the chosen stream, to the names people gave them."""
        gauges = {gauge.id: gauge.name for gauge in self.study.gauges}
        return gauges | ({} if self.stream == ALL else {self.stream: named("stream", self.stream)})

    def _own(
        self,
        item: Characteristic,
        place: tuple[str, ...],
        ends: tuple[str, ...] | None,
        pictures: bool,
    ) -> dict[str, Shown]:
        """Show the findings of the chosen stream alone, under the place they have below it."""
        if self.stream == ALL:
            return {}
        # The chart of all is the finding at "stability" itself; that of a stream has a name.
        wanted = ends or (("chart",) if place == ("stability",) else place[-1:])
        found = {
            name: show_findings(
                self.findings,
                item.id,
                "streams",
                self.stream,
                name,
                pictures=pictures,
                names=self._names(),
            )
            for name in wanted
        }
        return {name: shown for name, shown in found.items() if shown.findings}

    def view(
        self,
        make: Callable[[Characteristic], Any],
        *,
        key: str | None = None,
        measured: bool = False,
    ) -> View:
        """Show what a function makes of the characteristic that is chosen; made anew when another is.

        Parameters
        ----------
        make : callable
            Takes the characteristic, returns what a notebook can show.
        key : str, optional
            What is made anew in place of an older view of the same key.
        measured : bool
            Whether it makes sense only of what is measured; of what is judged that is said instead.

        Returns
        -------
        View
            Shows itself in a notebook.
        """

        def now(item: Characteristic) -> Any:
            if measured and item.is_attribute:
                return Said(
                    f"{item.name} is judged, or has no limits: nothing is measured against them."
                )
            return make(item)

        return View(self, now, key or f"view {len(self._shown)}")

    def explore(self) -> View:
        """Show the chart of the choice with a slider for the stretch of the run to be seen.

        Returns
        -------
        View
        """
        from linestudy.stability import explore

        return self.view(lambda item: explore(self.study, self.findings, item.id), key="explore")

    def choose(self, characteristic: str, stream: str = ALL) -> None:
        """Choose without a hand on the lists; everything shown below is drawn anew.

        Parameters
        ----------
        characteristic : str
            Its id.
        stream : str
            Its name; empty for all together.

        Raises
        ------
        KeyError
            There is no such characteristic.
        ValueError
            Nothing was found of such a stream.
        """
        self.study.characteristic(characteristic)
        self.characteristic = characteristic
        if stream not in (ALL, *self.streams()):
            raise ValueError(
                f"stream {stream!r}: known of {characteristic} are {', '.join(self.streams()) or 'none'}"
            )
        self.stream = stream
        keep_chosen(self.study, self.characteristic, self.stream)
        if self._lists is not None:
            self._lists.follow()
        for handle, view in list(self._shown.values()):
            handle.update(view.now())

    def _ipython_display_(self) -> None:
        from IPython.display import display

        from linestudy.dossier.choice_lists import Lists

        self._lists = Lists(self)
        display(self._lists.panel)  # type: ignore[no-untyped-call]

    def __repr__(self) -> str:
        return f"{self.item.name} ({self.characteristic}), stream {self.stream or 'all together'}"


@dataclass(frozen=True)
class View:
    """Something shown of a choice, drawn anew when another is made.

    Attributes
    ----------
    choice : Choice
    make : callable
        Takes the characteristic, returns what is shown.
    key : str
    """

    choice: Choice
    make: Callable[[Characteristic], Any]
    key: str

    def now(self) -> Any:
        """Return what is shown for the choice as it stands."""
        return self.make(self.choice.item)

    def _ipython_display_(self) -> None:
        from IPython.display import display

        handle = display(self.now(), display_id=True)  # type: ignore[no-untyped-call]
        self.choice._shown[self.key] = (handle, self)

    def __repr__(self) -> str:
        return repr(self.now())


@dataclass(frozen=True)
class Said:
    """A sentence among findings.

    Attributes
    ----------
    text : str
    """

    text: str

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        return f"<p><i>{html.escape(self.text)}</i></p>" if self.text else ""


@dataclass(frozen=True)
class Together:
    """Several things shown below each other.

    Attributes
    ----------
    parts : tuple
    """

    parts: tuple[Any, ...]

    def __repr__(self) -> str:
        return "\n".join(text for part in self.parts if (text := repr(part)))

    def _repr_html_(self) -> str:
        return "".join(part._repr_html_() for part in self.parts)


def _wanted(place: tuple[str, ...], ends: tuple[str, ...] | None, *, of_study: bool = False) -> str:
    """Name the findings that were looked for by their headings."""
    known = [
        d
        for d in declarations("gauges", "stability", "shape", "capability", "verdict")
        if d.of_study == of_study and (of_study or d.path[0] != "streams")
    ]
    # Where a part in braces is last, the one before it is the name.
    headings = {d.path[0]: d.heading for d in known if len(d.path) == 2 and d.path[1][0] == "{"}
    headings |= {d.path[-1]: d.heading for d in known}
    names = [headings.get(end, end.replace("_", " ")) for end in ends or place[-1:]]
    text = ", ".join(names[:-1]) + " and " + names[-1] if len(names) > 1 else names[0]
    return text[:1].upper() + text[1:]
