"""Notes on the cells of a file that a person must read before trusting its numbers: stars, readings beyond a number, units."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.records.infer.words import says
from linestudy.records.stream_names import note_on_twins
from linestudy.records.units import is_unit
from linestudy.results import counted

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.infer.guesses import Guess
    from linestudy.records.text_table import TextTable


def notes_on_cells(guess: Guess, table: TextTable, columns: list[str]) -> list[str]:
    """Collect notes on cells of a table that a person has to look at.

    Parameters
    ----------
    guess : Guess
        What its columns are taken for.
    table : TextTable
    columns : list of str
        Those of numbers.

    Returns
    -------
    list of str
        One sentence each.
    """
    says_so = (note_on_bounds_as_readings, note_on_stars, note_on_words)
    found = [told for name in columns for say in says_so if (told := say(table, name))]
    return found + twins_in(guess, table)


def twins_in(guess: Guess, table: TextTable) -> list[str]:
    """Say where names of parts or people that are read several times may mean one."""
    tags = [(key, value) for key, value, _ in guess.keys if key in ("part", "appraiser")]
    found = []
    for tag, name in tags if guess.role in ("crossed", "attribute", "paired", "reference") else ():
        if name in table.cells:
            told = note_on_twins(tag, list(dict.fromkeys(table.cells[name].str.strip().tolist())))
            found += [told] if told else []
    return found


def note_on_stars(table: TextTable, name: str) -> str:
    """Say that readings are marked with a star, and read without it."""
    text = table.cells[name].astype("string").fillna("").str.strip()
    found = text[text.str.match(r"[-+]?\d[\d.,]*\s?\*+$")]
    if not len(found):
        return ""
    many = counted(len(found), "cell")
    return f'{many} of "{name}", such as "{found.iloc[0]}", bear a star; the reading counts'


def note_on_bounds_as_readings(table: TextTable, name: str) -> str:
    """Say that a column holds readings such as "< 0.01", of which nobody knows how large they are."""
    text = table.cells[name].astype("string").fillna("").str.strip()
    found = text[text.str.match(r"[<>≤≥]\s*[-+]?[\d.,]+")]
    if not len(found):
        return ""
    verb, them = ("says", "it is") if len(found) == 1 else ("say", "they are")
    return (
        f'{counted(len(found), "cell")} of "{name}", such as "{found.iloc[0]}", {verb} only that a reading lies beyond a number, and '
        f"{them} left out: take the readings themselves from the gauge, for the others are no fair sample without them"
    )


def note_on_words(table: TextTable, name: str) -> str:
    """Say that numbers of a column bear a word that is no unit: a verdict, the month of a date that was a number once."""
    text = table.cells[name].astype("string").fillna("").str.strip()
    words = text.str.extract(r"^[-+]?\d[\d.,]*\s*([^\W\d_]{2,12})\.?$", expand=False)
    odd = text[words.notna() & ~words.fillna("").map(is_unit).astype(bool)]
    if not len(odd):
        return ""
    return (
        f'{counted(len(odd), "cell")} of "{name}", such as "{odd.iloc[0]}", bear a word behind a number that is no unit known here: '
        "give numbers alone, and the word in a column of its own"
    )


def notes_on_units(cells: pd.DataFrame, name: str) -> list[str]:
    """Say which features of a file with one reading a row have rows in several units.

    Parameters
    ----------
    cells : pandas.DataFrame of str
    name : str
        Column that says of what each reading is.

    Returns
    -------
    list of str
    """
    unit = next((str(column) for column in cells if says(str(column), "unit")), None)
    if unit is None or unit == name:
        return []
    found = []
    for feature, rows in cells.groupby(cells[name].str.strip(), sort=False):
        own = list(dict.fromkeys(each for each in rows[unit].str.strip() if each))
        if len(own) > 1:
            named = " and ".join(own[:3])
            found.append(
                f'"{feature}" has rows in {named}, and is read as if all were in one: give them in one unit'
            )
    return found
