"""Rows that sum up others: averages, ranges, indices below the readings or between them, and the lines of a footer."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.cells.limit_words import said_of_limits
from linestudy.records.formats.stacked_tables import is_number

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.study.model import Data

#: Words that begin a row of totals, in the languages exports come in, without accents and marks.
_TOTAL_WORDS = frozenset([
    "total", "totals", "grand total", "sum", "mean", "mean value", "average", "averages", "avg", "ave", "min", "max", "minimum",
    "maximum", "median", "count", "n", "sd", "std", "stdev", "std dev", "st dev", "standard deviation", "std deviation", "sigma",
    "s", "variance", "range", "xbar", "x bar", "x", "xquer", "x quer", "r", "rbar", "r bar", "x double bar", "cp", "cpk", "pp", "ppk",
    "cm", "cmk", "cg", "cgk", "usl", "lsl", "ucl", "lcl", "yield", "grr", "ndc",
    "summe", "mittelwert", "mittel", "anzahl", "gesamt", "spannweite", "durchschnitt", "std abw", "stdabw", "standardabweichung",
    "streuung", "kleinstwert", "grosstwert", "minimalwert", "maximalwert",
    "somme", "moyenne", "etendue", "ecart type", "nombre", "effectif", "mediane",
    "totale", "massimo", "maks", "maksimum", "media", "suma", "promedio", "desv est", "desviacion estandar", "desv estandar", "minimo", "maximo", "rango",
    "recorrido", "scarto tipo", "dev std", "deviazione standard", "somma", "escursione", "mediana", "conteggio", "numero",
    "soma", "desvio padrao", "desv pad", "amplitude", "contagem",
    "prumer", "smerodatna odchylka", "sm odchylka", "rozpeti", "soucet", "celkem", "pocet",
    "srednia", "odchylenie std", "odchylenie standardowe", "odch std", "rozstep", "razem", "liczba",
    "priemer", "smerodajna odchylka", "atlag", "szoras", "terjedelem", "osszesen",
    "gemiddelde", "standaardafwijking", "spreiding", "totaal", "medelvarde", "standardavvikelse", "summa", "ortalama",
    "standart sapma", "toplam", "среднее", "сумма", "итого", "размах", "ско", "минимум", "максимум",
    "平均", "平均値", "平均值", "最大", "最小", "最大値", "最小値", "最大值", "最小值", "极差", "範囲", "合計", "合计", "标准差", "標準偏差",
    "중앙값", "평균", "최대", "최소", "범위", "합계", "표준편차",
])  # fmt: skip
#: Of these, what is between blocks of readings; words that may be names (Max, R, N) are left out.
_BETWEEN_WORDS = frozenset([
    "average", "averages", "avg", "ave", "mean", "mean value", "range", "xbar", "x bar", "rbar", "r bar", "mittelwert", "spannweite",
    "durchschnitt", "moyenne", "etendue", "media", "promedio", "rango", "amplitude", "prumer", "rozpeti", "srednia", "rozstep",
    "standard deviation", "standardabweichung", "std dev", "ecart type", "desvio padrao",
    "平均", "平均値", "平均值", "极差", "範囲", "평균", "범위",
])  # fmt: skip
#: Of these, what makes a total of a longer label: "Average of A", "x̄ part", "Part range".
_ANYWHERE = frozenset([
    "average", "averages", "avg", "mean", "range", "xbar", "rbar", "x̄", "r̄", "mittelwert", "spannweite", "durchschnitt", "moyenne",
    "etendue", "promedio", "prumer", "rozpeti", "srednia", "rozstep",
])  # fmt: skip
#: Lines below a table that name who wrote it.
_FOOTER = re.compile(
    r"signature|signed|unterschrift|gez\.|visa|assinatura|firma\b|podpis|handtekening|underskrift|imza|aláírás|responsável"
    r"|checked by|approved|geprüft|freigegeben|vérifié|verificado|contrôlé|remark|bemerkung|remarque|observa|comment"
    r"|подпись|签名|签字|审核|署名|承認|서명",
    re.IGNORECASE,
)
#: "Date: 3 May".
_LABEL = re.compile(r"[^\W\d][^:;]{0,30}:(?:\s|$)")
#: Most rows that a footer has.
_DEEPEST = 20
_MARKS = re.compile(r"[.:=_\-–\s\u0304\u0305]+")
#: A letter with a bar over it, or two.
_BARRED = re.compile("([xrs])[\u0304\u0305\u033f]+")


def plain_word(cell: object) -> str:
    """Write a cell in lower case, without accents, marks, and a unit in brackets."""
    text = unicodedata.normalize("NFKD", re.sub(r"[\[(][^\])]*[\])]\s*$", "", str(cell).strip()))
    barred = _BARRED.sub(r"\1bar", text.casefold())
    bare = "".join(
        sign for sign in barred if not unicodedata.combining(sign) or sign in "\u0304\u0305"
    )
    return unicodedata.normalize("NFC", _MARKS.sub(" ", bare)).strip()


def is_total(cell: object) -> bool:
    """Check whether a cell is a word for a total or limit of other rows."""
    word = plain_word(cell)
    limits = word.partition(" ")[0] in ("ucl", "lcl", "usl", "lsl")
    return word in _TOTAL_WORDS or limits or sums_up(word)


def sums_up(cell: object) -> bool:
    """Check whether a cell names an average or a range, which may come between readings or below."""
    word = plain_word(cell)
    return word in _BETWEEN_WORDS or not _ANYWHERE.isdisjoint(word.split())


#: Words of a row that sums up the rows of one group, as a pivot table writes it: "Total L", "Anna Result".
_GROUP_WORDS = _BETWEEN_WORDS | {
    "total", "totals", "subtotal", "sub total", "sum", "grand total", "summe", "zwischensumme", "teilergebnis", "gesamt", "gesamtergebnis",
    "somme", "sous total", "total general", "suma", "soma", "totale", "subtotale", "mezisoucet", "celkem", "razem", "suma czesciowa", "osszesen",
    "reszosszeg", "subtotaal", "totaal", "delsumma", "summa", "toplam", "ara toplam", "итого", "小计", "合计", "小計", "合計", "소계", "합계", "count", "anzahl",
}  # fmt: skip
#: Of these, what is a sum even alone.
_SURE_GROUP_WORDS = frozenset([
    "subtotal", "sub total", "grand total", "zwischensumme", "teilergebnis", "gesamtergebnis", "sous total", "total general", "subtotale",
    "mezisoucet", "reszosszeg", "subtotaal", "delsumma", "ara toplam", "小计", "小計", "소계",
])  # fmt: skip


def totals_of_groups(entries: list[str]) -> set[str]:
    """Find the entries of a column of labels that sum up another entry: "Total L" beside "L", "Anna Mean" beside "Anna".

    Parameters
    ----------
    entries : list of str
        Each once.

    Returns
    -------
    set of str
    """
    if len(entries) > _MOST_GROUPS:
        return set()
    plain = {entry: plain_word(entry) for entry in entries}
    others = set(plain.values()) - {""}
    found = set()
    for entry, word in plain.items():
        named = [each for each in (*word.split(" ", 1), *word.rsplit(" ", 1)) if each != word]
        rests = {word.removeprefix(f"{each} ") for each in named}
        rests |= {word.removesuffix(f" {each}") for each in named}
        summed = any(
            rest in others - {word}
            and (
                word.removesuffix(f" {rest}")
                if word.endswith(f" {rest}")
                else word.removeprefix(f"{rest} ")
            )
            in _GROUP_WORDS
            for rest in rests
        )
        if summed or word in _SURE_GROUP_WORDS:
            found.add(entry)
    return found


#: Labels of groups are few.
_MOST_GROUPS = 500


def totals_below(table: pd.DataFrame) -> int:
    """Count the rows of totals and of the footer at the end of a table.

    Parameters
    ----------
    table : pandas.DataFrame of str

    Returns
    -------
    int
        0 where nothing would be left.
    """
    end = table.tail(_DEEPEST + 1).astype(object)
    rows = [
        [str(cell).strip() for cell in row]
        for row in end.where(end.notna(), "").to_numpy().tolist()
    ]
    firsts = [next((cell for cell in row if cell), "") for row in rows]
    count, taken = 0, set()
    at = len(rows) - 1
    while at >= 0:
        word = plain_word(firsts[at])
        if is_total(firsts[at]) or _says_a_limit(firsts[at]):
            if word in taken and not sums_up(word):
                return 0
            taken.add(word)
            count = len(rows) - at
        elif not (_is_footer(rows, at) or (at and _below_its_label(rows, at))):
            break
        elif _FOOTER.search(firsts[at]):
            count = len(rows) - at
        at -= 1
    if count >= len(table):
        return 0
    # Whoever is called Max, or a part called N, occurs in a row above too.
    words = [
        first for first in firsts[len(rows) - count :] if is_total(first) and not sums_up(first)
    ]
    above = table.iloc[: len(table) - count, 0]
    return 0 if words and bool(above.isin(words).any()) else count


def _says_a_limit(cell: str) -> bool:
    """Check whether a cell names a nominal, a limit or an index; a single sign does not."""
    return len(cell) > 2 and (bool(said_of_limits(cell)) or plain_word(cell) in _BELOW)


#: Rows of indices and limits below the readings, beside the words for totals.
_BELOW = frozenset(["bias", "linearity", "linearität", "abweichung", "cpu", "cpl", "ppu", "ppl", "pass/fail", "upper spec limit", "lower spec limit", "target value", "kurtosis", "skewness"])  # fmt: skip


def _is_footer(rows: list[list[str]], at: int) -> bool:
    """Check whether a row without readings is a footer such as "Date: 3 May", unlike any row above."""
    first = next((cell for cell in rows[at] if cell), "")
    if not first:
        return True
    label = _LABEL.match(first) and not any(_LABEL.match(cell) for cell in rows[0])
    return bool(_FOOTER.search(first) or label) and not is_number(first)


def _below_its_label(rows: list[list[str]], at: int) -> bool:
    """Check whether numbers are below a word for a total that is alone in the row above."""
    above = [cell for cell in rows[at - 1] if cell]
    return len(above) == 1 and is_total(above[0]) and len(plain_word(above[0])) > 1


def totals_between(table: pd.DataFrame, data: Data) -> NDArray[np.bool_]:
    """Find rows between readings whose part, trial or other tag is a word for an average or a range.

    Parameters
    ----------
    table : pandas.DataFrame of str
    data : linestudy.study.model.Data
        Its tags are looked at.

    Returns
    -------
    numpy.ndarray of bool, one for each row
    """
    found = np.zeros(len(table), dtype=bool)
    tags = {data.part, data.appraiser, data.trial, data.order, data.subgroup, *(data.levels or ())}
    groups = {data.coil, *(data.station if isinstance(data.station, tuple) else (data.station,))}
    for name in tags | groups:
        if isinstance(name, str) and name in table:
            entries = table[name].unique().tolist()
            sums = totals_of_groups(entries)
            if name in tags:
                sums |= {entry for entry in entries if plain_word(entry) in _BETWEEN_WORDS}
            found |= table[name].isin(sums).to_numpy(dtype=bool)
    return found if not found.all() else np.zeros(len(table), dtype=bool)
