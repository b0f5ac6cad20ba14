"""Measured results of QIF 3.0 (ISO 23952) files as a table with one value per row.

Read are, where the standard's schema puts them: ``FileUnits`` (linear and angular unit), ``CharacteristicDefinitions``
(deviations or limits, the zone of a geometric tolerance, material condition), ``CharacteristicNominals`` (target),
``CharacteristicItems`` (name) and, in each ``MeasurementResults``, ``CharacteristicMeasurements`` (status, value,
time, part). A tolerance is absolute where ``DefinedAsLimit`` is true, else it is added to the target value. Of a
geometric tolerance the zone is the upper limit and there is no lower one. What is not toleranced (``NonTolerance``:
a reference or basic dimension) has no limits. Elements are taken by their local names, so any prefix will do.

Entity declarations, document types, and results that lean on another document are refused.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from linestudy.records.conversions import as_written
from linestudy.results import InputError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    import pandas as pd

    from linestudy.study.model import Data

COLUMNS = (
    "characteristic", "nominal", "lower", "upper", "actual", "status", "part", "time", "unit", "material",
)  # fmt: skip

#: Kinds of characteristic whose values are angles; every other dimension and zone is a length.
_ANGLES = ("Angle", "AngleBetween", "AngleFrom", "AngularCoordinate", "UserDefinedAngular")
#: Kinds whose values have units of their own, which the kit does not turn into others.
_OTHERS = (
    "UserDefinedArea", "UserDefinedForce", "UserDefinedMass", "UserDefinedPressure", "UserDefinedSpeed",
    "UserDefinedTemperature", "UserDefinedTime", "UserDefinedUnit", "UserDefinedAttribute",
)  # fmt: skip
_UNITS = {
    "mm": "mm", "millimeter": "mm", "millimeters": "mm", "millimetre": "mm",
    "in": "in", "inch": "in", "inches": "in", "m": "m", "meter": "m", "metre": "m", "cm": "cm", "centimeter": "cm",
    "um": "µm", "µm": "µm", "micrometer": "µm", "micron": "µm", "deg": "deg", "degree": "deg", "degrees": "deg",
    "rad": "rad", "radian": "rad", "radians": "rad",
}  # fmt: skip
#: Known by what they are of the unit of the SI, where a name is none of these.
_BY_FACTOR = {0.001: "mm", 0.0254: "in", 1e-6: "µm", 1.0: "m", 0.01: "cm"}


@dataclass(frozen=True)
class QifCharacteristic:
    """One characteristic of a QIF document.

    Attributes
    ----------
    name : str
    unit : str or None
        Of all its numbers, where the document says so.
    nominal, lower, upper : float or None
    material : str
        Material condition, empty where there is none.
    """

    name: str
    unit: str | None
    nominal: float | None
    lower: float | None
    upper: float | None
    material: str


class _Document:
    """The parts of a document that refer to each other by ids."""

    def __init__(self, root: Element, file: str) -> None:
        self.root, self.file = root, file
        self.by_id = {e.get("id", ""): e for e in root.iter() if e.get("id")}
        primary = next(iter(_all(root, "PrimaryUnits")), None)
        self.linear = _unit_name(primary, "LinearUnit")
        self.angular = _unit_name(primary, "AngularUnit")
        self.items = {
            key: self._item(key, item)
            for group in _all(root, "CharacteristicItems")
            for item in group
            if (key := item.get("id", ""))
        }
        twice = self._names_measured_twice()
        for key, item in self.items.items():
            if item.name in twice:
                mark = _designator(self.by_id[key]) or key
                self.items[key] = replace(item, name=f"{item.name} ({mark})")

    def _names_measured_twice(self) -> set[str]:
        """Find names shared by several characteristics of one part, such as two holes."""
        found: set[str] = set()
        for results in _all(self.root, "MeasurementResults"):
            ids = {(each.text or "").strip() for each in _all(results, "CharacteristicItemId")}
            counts = Counter(self.items[each].name for each in ids if each in self.items)
            found |= {name for name, times in counts.items() if times > 1}
        return found

    def follow(self, parent: Element, name: str) -> Element | None:
        """Return the element that a reference names; refuse a reference into another document."""
        for child in parent:
            if _local(child) != name:
                continue
            if child.get("xId") is not None:
                raise InputError(
                    self.file,
                    f"refers to another QIF document for what {_local(parent)} {parent.get('id', '')} needs",
                    "export results together with their characteristics in one file",
                )
            return self.by_id.get((child.text or "").strip())
        return None

    def _item(self, key: str, item: Element) -> QifCharacteristic:
        nominal = self.follow(item, "CharacteristicNominalId")
        definition = None if nominal is None else self.follow(nominal, "CharacteristicDefinitionId")
        name = _text(item, "Name", "Description") or _designator(item)
        if not name and nominal is not None:
            name = _text(nominal, "Name") or _designator(nominal)
        unit = self.unit_of(_local(item).removesuffix("CharacteristicItem"))
        target = None if nominal is None else self.number(nominal, "TargetValue", unit)
        lower, upper, material = None, None, ""
        if definition is not None:
            lower, upper = self._limits(definition, target, unit)
            material = _text(definition, "MaterialCondition")
        found = "" if material in ("NONE", "REGARDLESS") else material
        return QifCharacteristic(name or key, unit, target, lower, upper, found)

    def unit_of(self, kind: str) -> str | None:
        """Return the document's unit for a kind of characteristic."""
        if kind in _ANGLES:
            return self.angular
        return None if kind.startswith(_OTHERS) else self.linear

    def number(self, parent: Element, name: str, unit: str | None) -> float | None:
        """Return a number among the children, in the document's unit whatever its own."""
        for child in parent:
            if _local(child) == name and child.text:
                return self.value(child, unit)
        return None

    def value(self, element: Element, unit: str | None) -> float | None:
        """Return the number of an element, in the document's unit."""
        from linestudy.records.units import unit_factor

        try:
            number = float((element.text or "").strip())
        except ValueError:
            return None
        own = element.get("linearUnit") or element.get("angularUnit")
        if own is None or unit is None:
            return number
        return number * unit_factor(_UNITS.get(own.casefold(), own), unit, self.file)

    def _limits(
        self, definition: Element, target: float | None, unit: str | None
    ) -> tuple[float | None, float | None]:
        zone = self.number(definition, "ToleranceValue", unit)
        if zone is not None:
            return None, zone
        tolerance = next((child for child in definition if _local(child) == "Tolerance"), None)
        if tolerance is None:
            return None, None
        elsewhere = self.follow(tolerance, "DefinitionId")
        stated = elsewhere if elsewhere is not None else tolerance
        low, high = (self.number(stated, name, unit) for name in ("MinValue", "MaxValue"))
        as_limit = _text(tolerance, "DefinedAsLimit") or _text(stated, "DefinedAsLimit")
        if as_limit.lower() in ("true", "1"):
            return low, high
        if target is None:
            return None, None
        return (_sum(target, low), _sum(target, high))


def _sum(target: float, deviation: float | None) -> float | None:
    # As decimals are added by hand: 2.8 and 0.05 make 2.85.
    return None if deviation is None else float(f"{target + deviation:.12g}")


def _parsed(raw: bytes, file: str) -> _Document:
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import ParseError, fromstring

    try:
        root = fromstring(raw, forbid_dtd=True, forbid_entities=True, forbid_external=True)
    except DefusedXmlException:
        raise InputError(
            file, "declares a document type or entities", "export QIF without them"
        ) from None
    except (ParseError, ValueError, LookupError, RecursionError) as error:
        raise InputError(file, f"is not sound XML ({error})", "export it again") from None
    if _local(root) != "QIFDocument":
        raise InputError(file, f'is XML of the kind "{_local(root)}", not QIF', "export QIF 3.0")
    return _Document(root, file)


def characteristics_of(raw: bytes, data: Data) -> list[QifCharacteristic]:
    """List the characteristics of a QIF document, with limits and units.

    Parameters
    ----------
    raw : bytes
    data : linestudy.study.model.Data
        Its name, for messages.

    Returns
    -------
    list of QifCharacteristic
        In the order of the document, each name once.

    Raises
    ------
    InputError
        As :func:`read_qif`.
    """
    found: dict[str, QifCharacteristic] = {}
    for item in _parsed(raw, data.file).items.values():
        found.setdefault(item.name, item)
    return list(found.values())


def read_qif(raw: bytes, data: Data) -> pd.DataFrame:
    """Read the measured characteristics of a QIF file.

    Parameters
    ----------
    raw : bytes
        The file.
    data : linestudy.study.model.Data
        Its name, for messages, and the marks that its numbers are to be written with.

    Returns
    -------
    pandas.DataFrame of str
        Columns characteristic, nominal, lower, upper, actual, status, part, time, unit, material; one row per
        measured value; empty text where the file says nothing. Numbers are in the file's unit, which
        ``attrs["unit"]`` names; where lengths and angles are side by side, each value has its unit behind it.

    Raises
    ------
    InputError
        Not XML, not QIF, without results, leaning on another document, or with a document type or entities.
    """
    import pandas as pd

    document = _parsed(raw, data.file)
    rows = [
        row
        for results in _all(document.root, "MeasurementResults")
        for row in _values(document, results)
    ]
    if not rows:
        raise InputError(
            data.file, "holds no measured characteristic", "export results, not only plans"
        )
    table = pd.DataFrame(rows, columns=list(COLUMNS), dtype=str)
    for name in ("nominal", "lower", "upper", "actual"):
        table[name] = [as_written(cell, data) for cell in table[name]]
    units = set(table["unit"])
    if len(units) > 1:
        # What has no unit in the document stays without.
        spelt = {"deg": "°"}
        shown = ["" if not u else f" {spelt.get(u, u)}" for u in table["unit"]]
        table["actual"] = [
            f"{a}{u}" if a else a for a, u in zip(table["actual"], shown, strict=True)
        ]
    table.index = pd.RangeIndex(1, len(table) + 1)
    table.attrs["unit"] = units.pop() if len(units) == 1 else ""
    return table


def _local(element: Element) -> str:
    return str(element.tag).rsplit("}", 1)[-1]


def _all(parent: Element, name: str) -> list[Element]:
    return [element for element in parent.iter() if _local(element) == name]


def _text(parent: Element, *names: str) -> str:
    """Return the text of the first child with one of the names, or an empty string."""
    for child in parent:
        if _local(child) in names and child.text:
            return child.text.strip()
    return ""


def _designator(parent: Element) -> str:
    return next(
        (
            _text(child, "Designator")
            for child in parent
            if _local(child) == "CharacteristicDesignator"
        ),
        "",
    )


def _unit_name(primary: Element | None, kind: str) -> str | None:
    if primary is None:
        return None
    unit = next((child for child in primary if _local(child) == kind), None)
    if unit is None:
        return None
    name = _text(unit, "UnitName")
    known = _UNITS.get(name.casefold())
    if known is None and kind == "LinearUnit":
        factor = next(
            (_text(child, "Factor") for child in unit if _local(child) == "UnitConversion"), ""
        )
        try:
            known = _BY_FACTOR.get(float(factor))
        except ValueError:
            known = None
    return known or name or None


def _part(document: _Document, parent: Element, *references: str) -> str:
    """Return the serial number of the part that a reference names, else the reference."""
    for child in parent:
        if _local(child) not in references:
            continue
        names = [inner.text or "" for inner in child] or [child.text or ""]
        component = document.by_id.get(names[0].strip()) if names else None
        if component is not None and _local(component) == "ActualComponent":
            return _text(component, "SerialNumber") or component.get("id", "")
        if names and names[0].strip():
            return names[0].strip()
    return ""


def _values(document: _Document, results: Element) -> list[tuple[str, ...]]:
    whole = _part(document, results, "ActualComponentIds") or next(
        (
            element.text.strip()
            for name in ("SerialNumber", "ProductInstanceId", "ActualProductInstanceId", "PartId")
            for element in _all(results, name)
            if element.text
        ),
        results.get("id", ""),
    )
    moments = ("InspectionEnd", "InspectionStart", "InspectionDateTime")
    moment = next((e.text or "" for name in moments for e in _all(results, name)), "")
    rows: list[tuple[str, ...]] = []
    for group in _all(results, "CharacteristicMeasurements"):
        for measured in group:
            document.follow(measured, "CharacteristicItemId")
            reference = _text(measured, "CharacteristicItemId")
            item = document.items.get(reference)
            unit = (
                item.unit
                if item
                else document.unit_of(_local(measured).removesuffix("CharacteristicMeasurement"))
            )
            status = next((e.text or "" for e in _all(measured, "CharacteristicStatusEnum")), "")
            rows.append(
                (
                    item.name if item else reference,
                    _shown(item.nominal if item else None),
                    _shown(item.lower if item else None),
                    _shown(item.upper if item else None),
                    _shown(document.number(measured, "Value", unit)),
                    status.strip(),
                    _part(document, measured, "ActualComponentId") or whole,
                    _text(measured, "TimeStamp", "MeasuredTime", "Time") or moment.strip(),
                    unit or "",
                    item.material if item else "",
                )
            )
    return rows


def _shown(number: float | None) -> str:
    return "" if number is None else repr(number)
