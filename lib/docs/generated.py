"""Pages made from the library itself: reference, gallery, glossary."""

from __future__ import annotations

import importlib
import inspect
from pathlib import Path
from typing import Any

from taken import PAGES

#: Package, and the question it answers.
PACKAGES = {
    "study": "What is claimed: study.toml as typed objects",
    "records": "What was recorded: files in, every row accounted for",
    "intake": "From raw files to a study, and what a person puts right",
    "gauges": "Is the measurement system adequate?",
    "stability": "Is the process in statistical control?",
    "linelog": "The same of weeks and months of every part",
    "shape": "What distribution is it?",
    "tails": "How far may values reach without leaning on one family?",
    "capability": "Does it fit the tolerance?",
    "verdict": "What may be claimed?",
    "dossier": "What the customer gets, and its recomputation",
    "plan": "How many parts, and in which order?",
    "simulate": "Lines of known truth: labs, exercises, practice",
    "results": "What every result has in common",
}


def reference(source: Path) -> None:
    """Write the pages of the reference, one for each package.

    Parameters
    ----------
    source : pathlib.Path
        Folder of the site's source.
    """
    place = source / "reference"
    place.mkdir()
    lines = ["# Reference by topic", "", "| package | question |", "|---|---|"]
    lines += [f"| [{name}]({name}.md) | {question} |" for name, question in PACKAGES.items()]
    lines += ["", "```{toctree}", ":hidden:", *PACKAGES, "```", ""]
    (place / "index.md").write_text("\n".join(lines), encoding="utf-8")
    for name, question in PACKAGES.items():
        (place / f"{name}.md").write_text(_package(name, question), encoding="utf-8")


def _package(name: str, question: str) -> str:
    module = importlib.import_module(f"linestudy.{name}")
    things = {each: getattr(module, each) for each in module.__all__}
    functions = [each for each, thing in things.items() if inspect.isfunction(thing)]
    classes = [each for each, thing in things.items() if inspect.isclass(thing)]
    lines = [
        f"# {name}",
        "",
        f"{question}",
        "",
        "```{eval-rst}",
        f".. py:module:: linestudy.{name}",
        "```",
    ]
    for heading, kind, names in (
        ("Functions", "autofunction", functions), ("What they return", "autoclass", classes),
    ):  # fmt: skip
        if names:
            lines += ["", f"## {heading}"]
        for each in sorted(names, key=str.lower):
            own = f"   {':members:' if kind == 'autoclass' else ''}".rstrip()
            lines += [
                "",
                f"### {each}",
                "",
                "```{eval-rst}",
                f".. {kind}:: linestudy.{name}.{each}",
            ]
            lines += [*([own] if own else []), "```"]
    return "\n".join([*lines, ""])


def glossary(source: Path, *, linked: bool) -> None:
    """Write the glossary from the list that the labs use too.

    Parameters
    ----------
    source : pathlib.Path
    linked : bool
        Whether pages of the labs will be there to lead to.
    """
    from linestudy.simulate.term_places import PLACES
    from linestudy.simulate.terms import TERMS

    lines = [
        "# Glossary",
        "",
        "Letters: *U*, *L* limits, *T* target (in Cg the width of the tolerance), *m* mean, *s* standard deviation,",
    ]
    lines += ["*u* standard uncertainty, *d* difference of two gauges.", ""]
    for term in sorted(TERMS, key=lambda each: each.name):
        symbol = f" ({term.symbol})" if term.symbol else ""
        lines += [
            f"## {term.name}{symbol}",
            "",
            f"{term.meaning[:1].upper()}{term.meaning[1:]}.",
            "",
        ]
        if term.formula:
            lines += [f"* Formula: `{term.formula}`"]
        place = PLACES[term.name]
        if place.function:
            lines.append(f"* Function: {{py:obj}}`{place.function} <linestudy.{place.function}>`")
        if place.labs:
            lines.append(f"* Lab: {', '.join(_lab(number, linked) for number in place.labs)}")
        if place.test:
            lines.append(f"* Checked in: {_checked(place.test)}")
        lines += [f"* Source: {term.source}", ""]
    (source / "glossary.md").write_text("\n".join(lines), encoding="utf-8")


def _lab(number: int, linked: bool) -> str:
    """A lab by its name, as a link to its page where notebooks were run."""
    from linestudy.simulate.term_places import LAB_FILES, lab_name

    page = f"notebooks/learning/{LAB_FILES[number - 1]}.html"
    return f'<a href="{page}">{lab_name(number)}</a>' if linked else lab_name(number)


def _checked(file: str) -> str:
    """A test by its place in the project; a report that is a page of the site as a link."""
    return f"[{file}]({PAGES[file]})" if file in PAGES else f"`{file}`"


def gallery(source: Path, samples: Path, *, drawn: bool) -> None:
    """Write the page of all pictures with the code that draws each.

    Parameters
    ----------
    source, samples : pathlib.Path
        Folder of the site's source, and of the sample data.
    drawn : bool
        Whether to draw them; else a page that says it was not done.
    """
    lines = ["# Gallery", ""]
    if not drawn:
        lines.append("This site was built without pictures.")
    else:
        (source / "pictures").mkdir()
        lines += _of_studies(source, samples) + _of_labs(source)
    (source / "gallery.md").write_text("\n".join([*lines, ""]), encoding="utf-8")


def _of_studies(source: Path, samples: Path) -> list[str]:
    import linestudy
    from linestudy.results.declared import declaration_of

    lines = [
        "Every picture is a method of the finding it shows: `.figure()` makes it, `.plot(ax)` draws it into a picture of your own.",
        "",
    ]
    seen: set[str] = set()
    for study in ("fork_receptacle", "twin_contact"):
        evaluation = linestudy.dossier.evaluate_once(samples / study)
        lines += [
            f"## Of the sample study {study.replace('_', ' ')}",
            "",
            "```python",
            "import linestudy",
            "",
        ]
        lines += [f'findings = linestudy.evaluate("sample_data/{study}").findings', "```", ""]
        for place, finding in evaluation.findings.items():
            known = declaration_of(place.path, of_study=place.characteristic is None)
            if known is None or f"{known.of_study}{known.key}" in seen:
                continue
            figure = finding.figure()
            if figure is None:
                continue
            seen.add(f"{known.of_study}{known.key}")
            keys = ", ".join(
                repr(key).replace("'", '"') for key in (place.characteristic, *place.path)
            )
            lines += _picture(
                source, f"{len(seen):03}", known.heading, figure, f"findings[{keys}].figure()"
            )
    return lines


def _of_labs(source: Path) -> list[str]:
    from linestudy.simulate import labs

    lines = ["## Of the labs", "", "```python", "from linestudy.simulate import labs", "```", ""]
    for name in labs.__all__:
        if name != "play":
            figure = getattr(labs, name)().figure()
            words = name.replace("_", " ").capitalize()
            lines += _picture(source, f"lab_{name}", words, figure, f"labs.{name}().figure()")
    return lines


def _picture(source: Path, name: str, heading: str, figure: Any, code: str) -> list[str]:
    (source / "pictures" / f"{name}.png").write_bytes(figure.png())
    alt = " ".join(figure.alt_text.split()).replace("[", "(").replace("]", ")")
    return [
        f"### {heading}",
        "",
        "```python",
        code,
        "```",
        "",
        f"![{alt}](pictures/{name}.png)",
        "",
    ]
