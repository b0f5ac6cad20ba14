"""Measured results of QIF 3.0 (ISO 23952) files as a table with one value per row.

Read are the elements ``CharacteristicDefinitions`` (tolerance), ``CharacteristicNominals``
(target value), ``CharacteristicItems`` (name) and, within each ``MeasurementResults``,
``CharacteristicMeasurements`` (status, value, id of the item). A tolerance is absolute when
``DefinedAsLimit`` is true, else it is added to the target value. Elements are taken by their
local names, so any prefix will do. Element names follow the standard's published schema; files
have not been validated against the schema itself.

Entity declarations, document types and external references are refused.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.records.conversions import as_written
from linestudy.results import InputError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    import pandas as pd

    from linestudy.study.model import Data

COLUMNS = ("characteristic", "nominal", "lower", "upper", "actual", "status", "part", "time")


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
        Columns characteristic, nominal, lower, upper, actual, status, part, time; one row per
        measured value; empty text where the file says nothing. Numbers are in the file's unit.

    Raises
    ------
    InputError
        Not XML, not QIF, without results, or with a document type or entities.
    """
    from xml.etree.ElementTree import ParseError

    import pandas as pd
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    file = data.file
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
    items = _items(root)
    rows = [row for results in _all(root, "MeasurementResults") for row in _values(results, items)]
    if not rows:
        raise InputError(file, "holds no measured characteristic", "export results, not only plans")
    table = pd.DataFrame(rows, columns=list(COLUMNS), dtype=str)
    for name in ("nominal", "lower", "upper", "actual"):
        table[name] = [as_written(cell, data) for cell in table[name]]
    table.index = pd.RangeIndex(1, len(table) + 1)
    return table


def _local(element: Element) -> str:
    return str(element.tag).rsplit("}", 1)[-1]


def _all(parent: Element, name: str) -> list[Element]:
    return [element for element in parent.iter() if _local(element) == name]


def _text(parent: Element, *names: str) -> str:
    """Text of the first child with one of the names, or nothing."""
    for child in parent:
        if _local(child) in names and child.text:
            return child.text.strip()
    return ""


def _by_id(root: Element, container: str) -> dict[str, Element]:
    return {element.get("id", ""): element for group in _all(root, container) for element in group}


def _items(root: Element) -> dict[str, dict[str, str]]:
    """Item id → name, nominal, limits."""
    definitions = _by_id(root, "CharacteristicDefinitions")
    nominals = _by_id(root, "CharacteristicNominals")
    found = {}
    for key, item in _by_id(root, "CharacteristicItems").items():
        nominal = nominals.get(_text(item, "CharacteristicNominalId"))
        target, lower, upper = "", "", ""
        if nominal is not None:
            target = _text(nominal, "TargetValue")
            definition = definitions.get(_text(nominal, "CharacteristicDefinitionId"))
            if definition is not None:
                lower, upper = _limits(definition, target)
        name = _text(item, "Name", "Description")
        found[key] = {"name": name or key, "nominal": target, "lower": lower, "upper": upper}
    return found


def _limits(definition: Element, target: str) -> tuple[str, str]:
    for tolerance in _all(definition, "Tolerance"):
        low, high = _text(tolerance, "MinValue"), _text(tolerance, "MaxValue")
        if _text(tolerance, "DefinedAsLimit").lower() in ("true", "1"):
            return low, high
        try:
            return (
                repr(float(target) + float(low)) if low else "",
                repr(float(target) + float(high)) if high else "",
            )
        except ValueError:
            return "", ""
    return "", ""


def _values(results: Element, items: dict[str, dict[str, str]]) -> list[tuple[str, ...]]:
    part = next(
        (
            element.text.strip()
            for name in ("SerialNumber", "ProductInstanceId", "ActualProductInstanceId", "PartId")
            for element in _all(results, name)
            if element.text
        ),
        results.get("id", ""),
    )
    moment = next((e.text or "" for e in _all(results, "InspectionDateTime")), "")
    rows: list[tuple[str, ...]] = []
    for group in _all(results, "CharacteristicMeasurements"):
        for measured in group:
            item = items.get(_text(measured, "CharacteristicItemId"), {})
            status = next((e.text or "" for e in _all(measured, "CharacteristicStatusEnum")), "")
            rows.append(
                (
                    item.get("name") or _text(measured, "CharacteristicItemId"),
                    item.get("nominal", ""),
                    item.get("lower", ""),
                    item.get("upper", ""),
                    _text(measured, "Value"),
                    status.strip(),
                    part,
                    _text(measured, "MeasuredTime", "Time") or moment.strip(),
                )
            )
    return rows
