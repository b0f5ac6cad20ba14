"""Words by which a cell or a name says nominal, limits and tolerances, in the languages of plants."""

from __future__ import annotations

import re

#: What names of columns, and rows below them, say of limits: meaning → words, in lower case.
SAID_OF_LIMITS: dict[str, tuple[str, ...]] = {
    "nominal": ("nominal", "nom", "target", "nennmaß", "nennmass", "nennwert", "sollmaß", "sollwert", "soll wert", "nominal value", "target value", "valor nominal", "valore nominale", "valeur nominale",
        "jmenovitý rozměr", "jmenovitá hodnota", "névleges méret", "medida nominal", "quota nominale", "nominale maat", "nominellt mått", "wymiar nominalny", "номинал", "nominale", "cote nominale",
        "公称", "公称值", "名义值", "基準寸法", "設計値", "wartość nominalna", "anma", "nominal değer", "공칭", "공칭값", "公称寸法", "标称值"),
    "upper tolerance": (
        "upper tol", "upper tolerance", "otol", "o tol", "ob tol", "obere toleranz", "utol", "u tol", "up tol", "uptol", "tol +", "plus", "+tol", "+", "oberes abmaß", "oberes abmass", "ob abmaß",
        "tolérance sup", "上偏差", "上公差", "上の許容差", "公差上限", "tol sup", "tolérance sup.", "odchyłka górna", "üst tolerans", "górna odchyłka", "horní úchylka", "horní odchylka", "felső eltérés", "felső tűrés", "desviación superior",
        "tolerancia superior", "scostamento superiore", "tolleranza superiore", "afastamento superior", "tolerância superior", "écart supérieur", "écart sup", "üst sapma",
        "bovenafwijking", "övre avmått", "верхнее отклонение"),
    "lower tolerance": (
        "lower tol", "lower tolerance", "unt tol", "untere toleranz", "ltol", "l tol", "low tol", "lotol", "tol -", "minus", "-tol", "-", "unteres abmaß", "unteres abmass", "unt abmaß",
        "tolérance inf", "下偏差", "下公差", "下の許容差", "公差下限", "tol inf", "tolérance inf.", "odchyłka dolna", "alt tolerans", "dolna odchyłka", "dolní úchylka", "dolní odchylka", "alsó eltérés", "alsó tűrés", "desviación inferior",
        "tolerancia inferior", "scostamento inferiore", "tolleranza inferiore", "afastamento inferior", "tolerância inferior", "écart inférieur", "écart inf", "alt sapma",
        "onderafwijking", "undre avmått", "нижнее отклонение"),
    "tolerance": ("tolerance", "tol", "±", "+/-", "plus minus", "toleranz", "tolérance", "公差"),
    "lower limit": (
        "lower", "lower limit", "lsl", "min", "minimum", "lower spec", "untere grenze", "usg", "ugw", "utg", "ut", "unterer grenzwert", "untere toleranzgrenze", "límite inferior", "limite inferior", "lsi", "mindestmaß",
        "limite inf", "mini", "下限", "规格下限", "下限値", "dolna granica", "alt limit", "alt sınır", "하한", "하한값", "規格下限", "lie", "limite inf.", "lim inf", "untergrenze", "ug", "mín", "mínimo", "нижний предел"),
    "upper limit": (
        "upper", "upper limit", "usl", "max", "maximum", "upper spec", "obere grenze", "osg", "ogw", "otg", "ot", "oberer grenzwert", "obere toleranzgrenze", "límite superior", "limite superior", "lss", "höchstmaß",
        "limite sup", "maxi", "上限", "规格上限", "上限値", "górna granica", "üst limit", "üst sınır", "상한", "상한값", "規格上限", "lse", "limite sup.", "lim sup", "obergrenze", "og", "máx", "máximo", "верхний предел"),
    "specification": (
        "spec", "specification", "vorgabe", "spécification", "especificação", "especificación", "规格", "規格", "规格值", "規格値", "규격",
    ),
    "unit": ("unit", "units", "uom", "einheit", "unité", "单位", "単位", "단위", "birim", "jednostka", "unidade", "unidad"),
}  # fmt: skip


def said_of_limits(text: str) -> str:
    """Tell what a word says of limits.

    Parameters
    ----------
    text : str
        A cell.

    Returns
    -------
    str
        ``nominal``, ``lower limit``, ``upper limit``, ``lower tolerance``, ``upper tolerance``, ``tolerance``,
        ``specification`` or ``unit``; empty where it says none of them.

    Examples
    --------
    >>> said_of_limits("USL [mm]"), said_of_limits("Höhe")
    ('upper limit', '')
    """
    return _BY_WORD.get(_plain(text), "")


def _plain(text: str) -> str:
    """Write a cell in lower case, without its unit and without marks between its words."""
    bare = re.sub(r"\s*(?:\[[^\[\]]*\]|\([^()]*\))\s*$", "", text.casefold()).strip(" .:")
    return " ".join(bare.replace("_", " ").replace(".", " ").split())


#: The first meaning of each word; ß is ss in lower case.
_BY_WORD = {
    _plain(word): said for said, words in reversed(SAID_OF_LIMITS.items()) for word in words
}
