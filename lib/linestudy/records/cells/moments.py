"""Words in dates and times, reigns, months, weekdays, halves of the day, time zones, as a reader of times knows them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

#: Halves of the day as East Asia writes them.
_HALVES = {"오전": "AM", "오후": "PM", "上午": "AM", "下午": "PM", "午前": "AM", "午後": "PM"}
_HALF = re.compile("|".join(_HALVES))
#: Behind the time, as they are written in Greece, Hungary, Turkey and Vietnam, and one letter alone.
_LATER_HALVES = {
    "πμ": "AM", "μμ": "PM", "de": "AM", "du": "PM", "öö": "AM", "ös": "PM", "sa": "AM", "ch": "PM", "a": "AM", "p": "PM",
}  # fmt: skip
_LATER_HALF = re.compile(r"(?<=\d)\s?(π\.?μ|μ\.?μ|de|du|öö|ös|sa|ch|a|p)\.?$", re.IGNORECASE)
#: Marks between the parts of a time that no layout has: 2. 3. 2026, 2026. 03. 02., and behind the date 6h05, kl. 6.05 or 6.05.
_DAY_FIRST = re.compile(r"^(\d{1,2})\.\s(\d{1,2})\.\s?(?=\d{2})")
_YEAR_FIRST = re.compile(r"^(\d{4})\.\s?(\d{1,2})\.\s?(\d{1,2})\.(?=$|\s)")
_HOUR_BEHIND = re.compile(
    r"\s(?:klo?\.?\s?)?(\d{1,2})(?:\s?h\s?|[.:])([0-5]\d)(?:(?:\s?min\s?|[.:])([0-5]\d))?(?=$|\s[^\W\d_])"
)
_MARKED = re.compile(
    r"\d\.\s\d|^\d{4}\.\d{1,2}\.\d{1,2}\.|\s\d{1,2}(?:\s?h\s?|\.)\d{2}|\skl|\d\s?[^\W\d_]\.?[^\W\d_]?\.?$"
)
#: Years of Japan's reigns: the year before the first of each.
_REIGNS = {"令和": 2018, "平成": 1988}
_REIGN = re.compile(r"(令和|平成)\s*(\d{1,2}|元)(?=年)")
#: Years of Thailand, 543 ahead of the others.
_BUDDHIST = re.compile(r"(?<=[/\- ])25[4-9]\d(?=$|[ T])|^25[4-9]\d(?=[/\-])")
#: Month by month, what their names begin with; the longest beginning that fits tells.
_MONTHS: dict[str, tuple[str, ...]] = {
    "Jan": ("jan", "jän", "ene", "gen", "sty", "led", "oca", "tammi"),
    "Feb": ("feb", "fév", "fev", "lut", "úno", "şub", "helmi"),
    "Mar": ("mar", "mär", "mrz", "maa", "mrt", "bře"),
    "Apr": ("apr", "avr", "abr", "kwi", "dub", "nis", "ápr"),
    "May": ("may", "mai", "maj", "mei", "mag", "kvě", "máj"),
    "Jun": ("jun", "juin", "giu", "cze", "haz", "jún", "červen"),
    "Jul": ("jul", "juil", "lug", "lip", "tem", "júl", "červenec"),
    "Aug": ("aug", "aoû", "aou", "ago", "sie", "srp", "ağu"),
    "Sep": ("sep", "set", "wrz", "zář", "eyl", "sze"),
    "Oct": ("oct", "okt", "out", "ott", "paź", "říj", "eki"),
    "Nov": ("nov", "lis", "kas"),
    "Dec": ("dec", "dez", "déc", "dic", "gru", "pro", "ara"),
}
_BEGINS = {begin: month for month, begins in _MONTHS.items() for begin in begins}
#: Weekdays in front of a date.
_WEEKDAY = re.compile(
    r"^(?:mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so|lun|mar|mer|jeu|ven|sam|dim|mié|jue|vie|sáb|dom|gio|sab|seg|ter|qua|qui|sex"
    r"|pon|wto|śro|czw|pią|sob|nie)[^\W\d]*\.?,?\s+(?=\d{1,4}[./-]\d|.*[^\W\d_]{3})",
    re.IGNORECASE,
)
#: Time zones behind a time; a clock is that of its place, so they say nothing that its rows do not.
_ZONE = re.compile(
    r"\s+\(?(?:UTC|GMT|CES?T|MES?Z|WES?T|EES?T|BST|[ECMP][SD]T|JST|KST|MSK|TRT|IST|Uhr|uur|hod\.?|óra|r\.)\)?(?=$|\s\d{4}$)"
)
_HALF_WITH_POINTS = re.compile(r"(?<=\d)\s*([ap])\.?\s?m\b\.?", re.IGNORECASE)
_WORD = re.compile(r"[^\W\d_]{3,}\.?")
#: So many cells are looked at for words.
_LOOKED_AT = 500


def plain_times(text: pd.Series, layout: str = "") -> pd.Series:
    """Write months and halves of the day in English, and leave weekdays and time zones out.

    Parameters
    ----------
    text : pandas.Series of str
    layout : str
        How study.toml says that times are written: what it names itself stays.

    Returns
    -------
    pandas.Series of str
    """
    if text.str.contains(_HALF, regex=True, na=False).any():
        text = text.str.replace(_HALF, lambda found: _HALVES[found[0]], regex=True)
    if text.str.contains(_BUDDHIST, regex=True, na=False).any():
        text = text.str.replace(_BUDDHIST, lambda found: str(int(found[0]) - 543), regex=True)
    if text.str.contains("令和|平成", regex=True, na=False).any():
        text = text.str.replace(_REIGN, _year_of_reign, regex=True)
    if text.head(_LOOKED_AT).str.contains(_MARKED, regex=True, na=False).any():
        text = _without_marks(text, layout)
    if (
        not text.head(_LOOKED_AT)
        .str.contains(r"[^\W\d_]{2}|[ap]\.\s?m|\sr\.", regex=True, na=False)
        .any()
    ):
        return text
    if "%Z" not in layout:
        text = text.str.replace(_ZONE, "", regex=True)
    # March is no Tuesday: a weekday has a date behind it.
    if "%a" not in layout.lower():
        text = text.str.replace(_WEEKDAY, "", regex=True)
    text = text.str.replace(_HALF_WITH_POINTS, lambda found: f" {found[1].upper()}M", regex=True)
    return text if "%B" in layout else text.str.replace(_WORD, _month, regex=True)


def _without_marks(text: pd.Series, layout: str) -> pd.Series:
    """Write the parts of dates and hours with the marks that layouts have, unless study.toml names their own."""
    if ". " not in layout:
        text = text.str.replace(_DAY_FIRST, r"\1.\2.", regex=True)
        text = text.str.replace(_YEAR_FIRST, r"\1.\2.\3", regex=True)
    if "%H.%M" not in layout and "%Hh%M" not in layout and "%I.%M" not in layout:
        text = text.str.replace(_HOUR_BEHIND, _with_colons, regex=True)
    return text.str.replace(
        _LATER_HALF,
        lambda found: " " + _LATER_HALVES[found[1].casefold().replace(".", "")],
        regex=True,
    )


def _with_colons(found: re.Match[str]) -> str:
    return " " + ":".join(each for each in found.groups() if each)


def _year_of_reign(found: re.Match[str]) -> str:
    return str(_REIGNS[found[1]] + (1 if found[2] == "元" else int(found[2])))


def _month(found: re.Match[str]) -> str:
    word = found[0].rstrip(".").casefold()
    # Červen and červenec, juin and juillet: the longest beginning tells.
    begin = max((each for each in _BEGINS if word.startswith(each)), key=len, default="")
    return _BEGINS.get(begin, found[0])
