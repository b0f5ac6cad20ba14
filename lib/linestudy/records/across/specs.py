"""What a drawing asks for, as people write it in one cell: "2.80 ± 0.05", "Ø.047/.050", "max. 0.05", "⌖ Ø0.1 Ⓜ A B"."""

from __future__ import annotations

import re
from dataclasses import dataclass

from linestudy.records.units import is_unit, unit_factor

_NUMBER = r"(\d+(?:[.,]\d+)?|[.,]\d+)"
_UNIT = r"(?:\s*(mm|cm|µm|μm|um|inch|in|\"|°|deg|[cm]?N[·⋅]?c?m|kN|cN|mN|N|lbf|kg|g|%|[mµk]?[ΩΩ]|mV|V|mA|A))?"
_SIGNED = rf"([+\-]?)\s*{_NUMBER}"
#: Counts before a dimension: "4X Ø.047".
_TIMES = re.compile(r"^\s*\(?\d{1,3}\s*[xX×]\s*(?=\D|\d)\)?")
_PLUS_MINUS = re.compile(rf"{_NUMBER}{_UNIT}\s*±\s*{_NUMBER}{_UNIT}")
_DEVIATIONS = re.compile(
    rf"{_NUMBER}{_UNIT}(?:\s*[A-Za-z]{{1,2}}\d{{1,2}})?\s*\(?\s*([+\-])\s*{_NUMBER}{_UNIT}\s*[/,;|\s]\s*{_SIGNED}{_UNIT}"
    rf"|{_NUMBER}{_UNIT}\s*\(?\s*0\s*[/,;|\s]\s*([+\-])\s*{_NUMBER}{_UNIT}"
)
_FIRST = rf"\s*[:=.]?\s*[ØøR⌀]?\s*{_NUMBER}{_UNIT}"
#: "max. 0.05" before "0.05 max": in "min. 2.7 max. 2.9" each word goes with what follows it.
_UPPER, _LOWER = (
    (
        re.compile(rf"(?:\b{word}\.?|{signs}){_FIRST}", re.IGNORECASE),
        re.compile(rf"{_NUMBER}{_UNIT}\s*{word}(?:\.|\b)", re.IGNORECASE),
    )
    for word, signs in (
        ("max(?:imum|imal|imo)?", "≤|<=|<|höchstens|最大"),
        ("min(?:imum|imal|imo|dest|destens)?", "≥|>=|>|最小"),
    )
)
_RANGE = re.compile(
    rf"(?<![\d.,]){_NUMBER}{_UNIT}\s*(?:-|\.{{2,3}}|…|~|/|\bto\b|\bbis\b|à)\s*{_NUMBER}{_UNIT}(?![\d.,])"
)
#: Geometric tolerances, whose zone is what a deviation may be at most (ISO 1101, ASME Y14.5).
_ZONE_NAMES = (
    r"(?:true position|position|flatness|straightness|parallelism|perpendicularity|squareness|angularity|symmetry|profile|run-?out|"
    r"concentricity|coaxiality|roundness|circularity|cylindricity|ebenheit|geradheit|parallelität|rechtwinkligkeit|neigung|symmetrie|"
    r"rundheit|zylinderform|zylindrizität|linienform|flächenform|koaxialität|konzentrizität|rundlauf|planlauf|lauf|planéité|rectitude|"
    r"parallélisme|perpendicularité|circularité|cylindricité|coaxialité|localisation|battement|planitud|planicidade|planarità)"
)
_ZONE_SIGNS = "平面度|直线度|真直度|平行度|垂直度|直角度|位置度|同轴度|同軸度|同心度|圆度|真円度|圆柱度|円筒度|轮廓度|輪郭度|对称度|対称度|跳动|振れ|평면도|진직도|평행도|직각도|위치도|동축도|진원도"
_ZONE = re.compile(
    rf"(?:[⌖⏥⏤○◯⌭⌒⌓∠∥⊥◎↗⌰⌯]|\b{_ZONE_NAMES}\b|{_ZONE_SIGNS})[^\d.,]{{0,12}}{_NUMBER}{_UNIT}",
    re.IGNORECASE,
)
_SAYS_ZONE = re.compile(rf"\b{_ZONE_NAMES}\b|{_ZONE_SIGNS}", re.IGNORECASE)
_ALONE = re.compile(
    rf"^[^\w.,]*(?:Ø|⌀|R|SR|C)?\s*{_NUMBER}{_UNIT}(?:\s*\(?(?:REF|Hilfsmaß|réf|TYP|DIA|BASIC|BSC|NOM|THEO|TED)\.?\)?)*\W*$",
    re.IGNORECASE,
)
#: "10 -0,1": the other deviation is nought.
_ONE_DEVIATION = re.compile(rf"(?<![\d.,/+\-]){_NUMBER}{_UNIT}\s*([+\-])\s*{_NUMBER}{_UNIT}\s*$")
#: "Ø 8 H7": a fit by ISO 286, whose limits are in its tables.
_FIT = re.compile(
    rf"^[^\w.,]*[ØøR⌀]?\s*{_NUMBER}{_UNIT}\s*((?:[A-Z]{{1,2}}|[a-z]{{1,2}})\s?\d{{1,2}}(?:/[A-Za-z]{{1,2}}\d{{1,2}})?)\s*$"
)


@dataclass(frozen=True)
class Spec:
    """A nominal and limits out of one cell.

    Attributes
    ----------
    nominal, lower, upper : float or None
    unit : str
        Where the cell has one.
    rest : str
        What comes before them: the name, where name and tolerance share a cell.
    remark : str
        What a person should look at: a fit that is not worked out, a deviation that is missing.
    """

    nominal: float | None
    lower: float | None
    upper: float | None
    unit: str = ""
    rest: str = ""
    remark: str = ""

    @property
    def limited(self) -> bool:
        """Whether there is a limit."""
        return self.lower is not None or self.upper is not None


def spec_of(text: str) -> Spec | None:
    """Read a nominal and limits out of one cell.

    Parameters
    ----------
    text : str

    Returns
    -------
    Spec or None
        None where the cell says no size: a thread, a note.

    Examples
    --------
    >>> found = spec_of("Ø1,20 +0,02/-0,01")
    >>> found.nominal, found.lower, found.upper
    (1.2, 1.19, 1.22)
    """
    cell = text.replace("+/-", "±").replace("+-", "±").replace("−", "-").replace("–", "-").strip()
    bare = _TIMES.sub("", cell)
    if not any(sign.isdigit() for sign in bare) or len(bare) > 200:
        return None
    return next((spec for look in _LOOKS if (spec := look(bare)) is not None), None)


def _value(number: str) -> float:
    return float(number.replace(",", "."))


def _sum(nominal: float, deviation: float) -> float:
    # As decimals are added by hand: 6.3 and 0.05 make 6.35.
    return float(f"{nominal + deviation:.12g}")


def _before(text: str, found: re.Match[str]) -> str:
    return re.sub(r"[\s:=,;(]*[ØøR⌀]?[\s:=,;(]*$", "", text[: found.start()]).strip()


def _plus_minus(text: str) -> Spec | None:
    found = _PLUS_MINUS.search(text)
    if found is None:
        return None
    nominal, tolerance = _value(found[1]), _value(found[3])
    unit = found[2] or found[4] or ""
    if found[4] and found[4] != unit:
        # 2.8 mm ± 50 µm; a unit that is none leaves the numbers as they are.
        tolerance *= (
            unit_factor(found[4], unit, text) if is_unit(found[4]) and is_unit(unit) else 1.0
        )
    elif found[4] == "%" and not found[2]:
        tolerance, unit = nominal * tolerance / 100, ""
    return Spec(
        nominal, _sum(nominal, -tolerance), _sum(nominal, tolerance), unit, _before(text, found)
    )


def _deviations(text: str) -> Spec | None:
    found = _DEVIATIONS.search(text)
    if found is None:
        return None
    if found[1]:
        nominal = _value(found[1])
        one = _value(found[4]) * (-1 if found[3] == "-" else 1)
        other = _value(found[7]) * (-1 if found[6] == "-" else 1)
        if not found[6] and other:
            return None
        units = (found[2], found[5], found[8])
    else:
        nominal, one = _value(found[9]), 0.0
        other = _value(found[12]) * (-1 if found[11] == "-" else 1)
        units = (found[10], found[13], "")
    unit = next((each for each in units if each), "")
    low, high = sorted((one, other))
    return Spec(nominal, _sum(nominal, low), _sum(nominal, high), unit, _before(text, found))


def _one_sided(text: str) -> Spec | None:
    upper, lower = (
        next((m for look in looks if (m := look.search(text))), None) for looks in (_UPPER, _LOWER)
    )
    if upper is None and lower is None:
        return None
    found = upper or lower
    assert found is not None
    unit = next((m[2] for m in (upper, lower) if m and m[2]), "")
    ends = [None if m is None else _value(m[1]) for m in (lower, upper)]
    return Spec(None, ends[0], ends[1], unit, _before(text, found))


def _range(text: str) -> Spec | None:
    found = _RANGE.search(text)
    if found is None or text[: found.start()].rstrip().endswith(("+", "-", "±")):
        return None
    low, high = _value(found[1]), _value(found[3])
    # "1/2" and "12-14" are no sizes.
    whole = found[1].isdigit() and found[3].isdigit() and not (found[2] or found[4])
    if whole or not low < high <= 3 * max(low, 1e-12):
        return None
    return Spec(None, low, high, found[2] or found[4] or "", _before(text, found))


def _zone(text: str) -> Spec | None:
    found = _ZONE.search(text)
    return (
        None
        if found is None
        else Spec(None, None, _value(found[1]), found[2] or "", _before(text, found))
    )


def _alone(text: str) -> Spec | None:
    found = _ALONE.match(text)
    return (
        None if found is None or "±" in text else Spec(_value(found[1]), None, None, found[2] or "")
    )


def _one_deviation(text: str) -> Spec | None:
    found = _ONE_DEVIATION.search(text)
    if found is None:
        return None
    nominal, deviation = _value(found[1]), _value(found[4])
    # "12-3" is a number of something; deviations have decimals.
    if not 0 < deviation < 0.3 * nominal or found[4].isdigit():
        return None
    ends = sorted((nominal, _sum(nominal, deviation * (-1 if found[3] == "-" else 1))))
    remark = f'"{text}" says one deviation; the other is taken as 0'
    unit = found[2] or found[5] or ""
    return Spec(nominal, ends[0], ends[1], unit, _before(text, found), remark)


def _fit(text: str) -> Spec | None:
    found = _FIT.match(text)
    if found is None:
        return None
    remark = f"the fit {found[3]} is not worked out: give its limits from ISO 286-2"
    return Spec(_value(found[1]), None, None, found[2] or "", "", remark)


_LOOKS = (_plus_minus, _deviations, _zone, _one_sided, _range, _one_deviation, _fit, _alone)


def says_zone(name: str) -> bool:
    """Check whether a name is a geometric tolerance, whose number is the largest permitted deviation.

    Parameters
    ----------
    name : str

    Returns
    -------
    bool
    """
    return _SAYS_ZONE.search(name) is not None


_DEVIATION = re.compile(r"([+\-−±])\s*(\d+(?:[.,]\d+)?)")


def around(nominal: float, tolerance: str) -> tuple[float | None, float | None]:
    """Give limits around a nominal by a text such as "±0.05", "0.05", "+0.1/-0.05" or "+0.1 0".

    Parameters
    ----------
    nominal : float
    tolerance : str

    Returns
    -------
    (float or None, float or None)
        None where the text says none.
    """
    text = tolerance.strip().replace("+/-", "±")
    if not text:
        return None, None
    signed = [(sign, float(number.replace(",", "."))) for sign, number in _DEVIATION.findall(text)]
    if not signed:
        found = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*[A-Za-zµ]*", text)
        if found is None:
            return None, None
        signed = [("±", float(found[1].replace(",", ".")))]
    if signed[0][0] == "±":
        return _sum(nominal, -signed[0][1]), _sum(nominal, signed[0][1])
    deviations = [number if sign == "+" else -number for sign, number in signed]
    if len(deviations) == 1 and re.search(r"(?:^|[/\s])0(?:[.,]0*)?(?:$|[/\s])", text):
        deviations.append(0.0)
    if len(deviations) < 2:
        return None, None
    return _sum(nominal, min(deviations)), _sum(nominal, max(deviations))


def limits_from(
    nominal: float | None,
    limits: tuple[float | None, float | None],
    deviations: tuple[float | None, float | None],
    tolerance: str,
) -> tuple[float | None, float | None]:
    """Give limits as written, or the nominal and what may be beside it.

    Parameters
    ----------
    nominal : float or None
    limits, deviations : (float or None, float or None)
        Lower and upper, as far as a list has columns of them.
    tolerance : str
        A text such as "±0.05" or "max".

    Returns
    -------
    (float or None, float or None)
    """
    if any(each is not None for each in limits):
        lower, upper = limits
        if lower is None or upper is None or not nominal:
            return limits
        # "Min" and "Max" that hold deviations: on either side of nought, and below the nominal.
        if lower <= 0 <= upper < nominal:
            return _sum(nominal, lower), _sum(nominal, upper)
        return limits
    if nominal is None:
        return None, None
    below, above = deviations
    if says_most(tolerance):
        return None, nominal
    if below is not None or above is not None:
        if None not in (below, above) and _are_limits(nominal, below, above):
            return below, above
        if below is not None and below > 0 and (above is None or above >= 0):
            # "minus 0.05" is written without its sign.
            below = -below
        return _beside(nominal, below), _beside(nominal, above)
    return around(nominal, tolerance)


def says_most(tolerance: str) -> bool:
    """Check whether a tolerance only says that the number beside it is a maximum.

    Parameters
    ----------
    tolerance : str

    Returns
    -------
    bool
    """
    most = r"max(?:imum|imal|imo)?\.?|最大|höchstens|≤"
    return re.fullmatch(most, tolerance.strip(), re.IGNORECASE) is not None


def _are_limits(nominal: float, below: float | None, above: float | None) -> bool:
    """Check whether a so-called tolerance is a limit: "Tol. inf." 2.75, "Tol. sup." 2.85 around 2.8."""
    low, high = below or 0.0, above or 0.0
    return nominal > 0 and 0.8 * nominal < low <= nominal <= high < 1.2 * nominal


def _beside(nominal: float, deviation: float | None) -> float | None:
    return None if deviation is None else _sum(nominal, deviation)
