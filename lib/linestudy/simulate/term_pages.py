"""The glossary as a table to compute with, and as a page with links to the labs."""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linestudy.simulate.term_places import LAB_FILES, PLACES, lab_name
from linestudy.simulate.terms import TERMS, Term

if TYPE_CHECKING:
    import pandas as pd


def glossary() -> pd.DataFrame:
    """List the terms of the trade with symbol, meaning, formula, and where each lives.

    Returns
    -------
    pandas.DataFrame
        Of text; columns ``term, symbol, meaning, formula, function, lab, test, source``, in the order of the alphabet.

    See Also
    --------
    show_glossary : The same as a page with links to the labs.

    Examples
    --------
    >>> terms = glossary().set_index("symbol")
    >>> print(terms.loc["Pm, Pmk", "formula"])
    (U - L) / (6 s); min(U - m, m - L) / (3 s)
    """
    import pandas as pd

    rows = []
    for term in sorted(TERMS, key=lambda each: each.name):
        place = PLACES[term.name]
        rows.append(
            {
                "term": term.name,
                "symbol": term.symbol,
                "meaning": term.meaning,
                "formula": term.formula,
                "function": place.function,
                "lab": ", ".join(map(str, place.labs)),
                "test": place.test,
                "source": term.source,
            }
        )
    return pd.DataFrame(rows)


@dataclass(frozen=True)
class Glossary:
    """The terms of the trade as a notebook shows them, each with links to the labs beside it.

    Attributes
    ----------
    terms : tuple of Term
        In the order of the alphabet.
    """

    terms: tuple[Term, ...]

    def __str__(self) -> str:
        return "\n".join(f"{term.name}: {term.meaning}" for term in self.terms)

    __repr__ = __str__

    def _repr_html_(self) -> str:
        head = ("term", "meaning", "formula", "function", "labs", "checked in", "source")
        cells = "".join(f'<th style="text-align:left">{name}</th>' for name in head)
        rows = "".join(f"<tr>{self._row(term)}</tr>" for term in self.terms)
        return f"<table><thead><tr>{cells}</tr></thead><tbody>{rows}</tbody></table>"

    def _row(self, term: Term) -> str:
        place = PLACES[term.name]
        symbol = f" ({term.symbol})" if term.symbol else ""
        labs = [
            f'<a href="{LAB_FILES[number - 1]}.ipynb">{html.escape(lab_name(number))}</a>'
            for number in place.labs
        ]
        cells = (
            f"<b>{html.escape(term.name + symbol)}</b>",
            html.escape(term.meaning),
            html.escape(term.formula),
            f"<code>{place.function}</code>" if place.function else "",
            "<br>".join(labs),
            html.escape(place.test),
            html.escape(term.source),
        )
        return "".join(f'<td style="text-align:left">{cell}</td>' for cell in cells)


def show_glossary() -> Glossary:
    """Show the terms of the trade, each with its function, labs, test and source.

    Returns
    -------
    Glossary
        A table in a notebook; links to labs lead to the notebooks beside it.

    See Also
    --------
    glossary : The same as a table to compute with.

    Examples
    --------
    >>> "ndc" in show_glossary()._repr_html_()
    True
    """
    return Glossary(tuple(sorted(TERMS, key=lambda each: each.name)))
