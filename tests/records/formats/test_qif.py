"""QIF results become the same tables; entities and document types are refused.

The first document below is written from memory of the standard and leaves parts of it out; the second holds what
QIF 3.0 (ISO 23952) asks for. It is validated against the standard's schema where the environment variable
LINESTUDY_QIF_SCHEMA names the folder with the published schema files, as are the examples beside them.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from linestudy.records import read
from linestudy.records.formats.qif import characteristics_of, read_qif
from linestudy.results import InputError
from linestudy.study.model import Data

QIF = """<?xml version="1.0" encoding="UTF-8"?>
<QIFDocument xmlns="http://qifstandards.org/xsd/qif3" versionQIF="3.0.0">
 <Characteristics>
  <CharacteristicDefinitions n="1">
   <LengthCharacteristicDefinition id="1">
    <Tolerance><MaxValue>0.05</MaxValue><MinValue>-0.05</MinValue>
     <DefinedAsLimit>{limits}</DefinedAsLimit></Tolerance>
   </LengthCharacteristicDefinition>
  </CharacteristicDefinitions>
  <CharacteristicNominals n="1">
   <LengthCharacteristicNominal id="2">
    <CharacteristicDefinitionId>1</CharacteristicDefinitionId><TargetValue>2.8</TargetValue>
   </LengthCharacteristicNominal>
  </CharacteristicNominals>
  <CharacteristicItems n="1">
   <LengthCharacteristicItem id="3"><Name>width</Name>
    <CharacteristicNominalId>2</CharacteristicNominalId></LengthCharacteristicItem>
  </CharacteristicItems>
 </Characteristics>
 <MeasurementsResults>
  {results}
 </MeasurementsResults>
</QIFDocument>
"""
RESULT = """<MeasurementResults id="{id}">
 <MeasuredCharacteristics><CharacteristicMeasurements n="1">
  <LengthCharacteristicMeasurement id="{id}9">
   <Status><CharacteristicStatusEnum>PASS</CharacteristicStatusEnum></Status>
   <CharacteristicItemId>3</CharacteristicItemId><Value>{value}</Value>
  </LengthCharacteristicMeasurement>
 </CharacteristicMeasurements></MeasuredCharacteristics>
</MeasurementResults>"""
LONG = 'role = "run"\nlong = { characteristic = "characteristic", value = "actual" }'


def document(limits: str = "false") -> str:
    results = "".join(RESULT.format(id=10 + i, value=v) for i, v in enumerate((2.801, 2.799)))
    return QIF.format(limits=limits, results=results)


AS_DATA = Data(role="run", file="f.qif", order="part", columns={"width": "actual"})


def test_results_become_a_run(make_study: Callable) -> None:
    study = make_study("f.qif", document(), LONG)
    assert read(study).table("run", "width")["value"].tolist() == [2.801, 2.799]


def test_limits_are_target_plus_tolerance_or_absolute() -> None:
    table = read_qif(document().encode(), AS_DATA)
    assert table.loc[1, "nominal"] == "2.8"
    assert float(table.loc[1, "lower"]) == pytest.approx(2.75)
    assert float(table.loc[1, "upper"]) == pytest.approx(2.85)
    assert table["status"].tolist() == ["PASS", "PASS"]
    assert table["part"].tolist() == ["10", "11"]
    assert read_qif(document("true").encode(), AS_DATA).loc[1, "upper"] == "0.05"


ENTITY = '<!DOCTYPE a [<!ENTITY b "x"><!ENTITY c "&b;&b;">]>'
EXTERNAL = '<!DOCTYPE a [<!ENTITY b SYSTEM "secret.txt">]>'


@pytest.mark.parametrize("trap", [ENTITY, EXTERNAL, '<!DOCTYPE a SYSTEM "http://x.invalid/a.dtd">'])
def test_traps_are_refused(trap: str) -> None:
    raw = document().replace("?>\n", "?>\n" + trap, 1)
    with pytest.raises(InputError, match="document type or entities"):
        read_qif(raw.encode(), AS_DATA)


@pytest.mark.parametrize(
    ("raw", "what"),
    [(b"<a", "not sound XML"), (b"<a/>", "not QIF"), (b"<QIFDocument/>", "no measured")],
)
def test_other_xml_is_refused(raw: bytes, what: str) -> None:
    with pytest.raises(InputError, match=what):
        read_qif(raw, AS_DATA)


FULL = """<?xml version="1.0" encoding="UTF-8"?>
<QIFDocument xmlns="http://qifstandards.org/xsd/qif3" idMax="60" versionQIF="3.0.0">
 <QPId>dc5103a5-75da-4fc9-b5cf-ecf0f7eed9fd</QPId>
 <StandardsDefinitions n="1"><Standard id="60"><Organization><StandardsOrganizationEnum>ISO</StandardsOrganizationEnum>
  </Organization><Designator>1101</Designator><Year>2017</Year></Standard></StandardsDefinitions>
 <FileUnits><PrimaryUnits>
  <AngularUnit><SIUnitName>radian</SIUnitName><UnitName>degree</UnitName></AngularUnit>
  <LinearUnit><SIUnitName>meter</SIUnitName><UnitName>inch</UnitName>
   <UnitConversion><Factor>0.0254</Factor></UnitConversion></LinearUnit>
 </PrimaryUnits></FileUnits>
 <Characteristics>
  <FormalStandardId>60</FormalStandardId>
  <CharacteristicDefinitions n="7">
   <DiameterCharacteristicDefinition id="1"><Tolerance><MaxValue>0.002</MaxValue><MinValue>-0.001</MinValue>
    <DefinedAsLimit>false</DefinedAsLimit></Tolerance></DiameterCharacteristicDefinition>
   <LengthCharacteristicDefinition id="2"><Tolerance><MaxValue linearUnit="mm">25.5</MaxValue><MinValue>0.999</MinValue>
    <DefinedAsLimit>true</DefinedAsLimit></Tolerance></LengthCharacteristicDefinition>
   <FlatnessCharacteristicDefinition id="3"><ToleranceValue>0.003</ToleranceValue></FlatnessCharacteristicDefinition>
   <PositionCharacteristicDefinition id="4"><ToleranceValue>0.004</ToleranceValue>
    <MaterialCondition>MAXIMUM</MaterialCondition><ZoneShape><DiametricalZone/></ZoneShape>
   </PositionCharacteristicDefinition>
   <AngleCharacteristicDefinition id="5"><Tolerance><MaxValue>1</MaxValue><MinValue>-1</MinValue>
    <DefinedAsLimit>false</DefinedAsLimit></Tolerance></AngleCharacteristicDefinition>
   <LengthCharacteristicDefinition id="6"><NonTolerance>SET</NonTolerance></LengthCharacteristicDefinition>
   <LengthCharacteristicDefinition id="7"><Tolerance><MaxValue>0.05</MaxValue>
    <DefinedAsLimit>true</DefinedAsLimit></Tolerance></LengthCharacteristicDefinition>
  </CharacteristicDefinitions>
  <CharacteristicNominals n="7">
   <DiameterCharacteristicNominal id="11"><CharacteristicDefinitionId>1</CharacteristicDefinitionId><TargetValue>0.5</TargetValue></DiameterCharacteristicNominal>
   <LengthCharacteristicNominal id="12"><CharacteristicDefinitionId>2</CharacteristicDefinitionId><TargetValue>1.0</TargetValue></LengthCharacteristicNominal>
   <FlatnessCharacteristicNominal id="13"><CharacteristicDefinitionId>3</CharacteristicDefinitionId></FlatnessCharacteristicNominal>
   <PositionCharacteristicNominal id="14"><CharacteristicDefinitionId>4</CharacteristicDefinitionId></PositionCharacteristicNominal>
   <AngleCharacteristicNominal id="15"><CharacteristicDefinitionId>5</CharacteristicDefinitionId><TargetValue>30</TargetValue></AngleCharacteristicNominal>
   <LengthCharacteristicNominal id="16"><CharacteristicDefinitionId>6</CharacteristicDefinitionId><TargetValue>2.0</TargetValue></LengthCharacteristicNominal>
   <LengthCharacteristicNominal id="17"><CharacteristicDefinitionId>7</CharacteristicDefinitionId></LengthCharacteristicNominal>
  </CharacteristicNominals>
  <CharacteristicItems n="7">
   <DiameterCharacteristicItem id="21"><Name>Hole</Name><CharacteristicNominalId>11</CharacteristicNominalId></DiameterCharacteristicItem>
   <LengthCharacteristicItem id="22"><Name>Length</Name><CharacteristicNominalId>12</CharacteristicNominalId></LengthCharacteristicItem>
   <FlatnessCharacteristicItem id="23"><Name>Flatness</Name><CharacteristicNominalId>13</CharacteristicNominalId></FlatnessCharacteristicItem>
   <PositionCharacteristicItem id="24"><CharacteristicDesignator><Designator>P4</Designator></CharacteristicDesignator><CharacteristicNominalId>14</CharacteristicNominalId></PositionCharacteristicItem>
   <AngleCharacteristicItem id="25"><Name>Angle</Name><CharacteristicNominalId>15</CharacteristicNominalId></AngleCharacteristicItem>
   <LengthCharacteristicItem id="26"><Name>Basic</Name><CharacteristicNominalId>16</CharacteristicNominalId></LengthCharacteristicItem>
   <LengthCharacteristicItem id="27"><Name>Burr</Name><CharacteristicNominalId>17</CharacteristicNominalId></LengthCharacteristicItem>
  </CharacteristicItems>
 </Characteristics>
 <Results><MeasurementResultsSet n="2">{results}</MeasurementResultsSet>
  <ActualComponentSets n="1"><ActualComponentSet n="2">
   <ActualComponent id="51"><SerialNumber>S-1</SerialNumber><Status><InspectionStatusEnum>PASS</InspectionStatusEnum></Status></ActualComponent>
   <ActualComponent id="52"><SerialNumber>S-2</SerialNumber><Status><InspectionStatusEnum>PASS</InspectionStatusEnum></Status></ActualComponent>
  </ActualComponentSet></ActualComponentSets>
 </Results>
</QIFDocument>
"""
MEASURED = {
    "Diameter": (21, "0.501"),
    "Flatness": (23, "0.001"),
    "Position": (24, "0.002"),
    "Angle": (25, "30.2"),
}


def full(lengths_only: bool = False) -> str:
    """Two parts, each with four characteristics; the second value of the first is in millimetres."""
    results = ""
    for part in (0, 1):
        kinds = {k: v for k, v in MEASURED.items() if not (lengths_only and k == "Angle")}
        measured = ""
        for number, (kind, (item, value)) in enumerate(kinds.items()):
            unit = ' linearUnit="mm"' if kind == "Flatness" and part else ""
            value = "0.0254" if unit else value
            measured += (
                f'<{kind}CharacteristicMeasurement id="{30 + 5 * part + number}"><Status>'
                f"<CharacteristicStatusEnum>PASS</CharacteristicStatusEnum></Status><CharacteristicItemId>{item}"
                f"</CharacteristicItemId><TimeStamp>2026-03-02T06:0{part}:00</TimeStamp>"
                f"<Value{unit}>{value}</Value></{kind}CharacteristicMeasurement>"
            )
        results += (
            f'<MeasurementResults id="{28 + part}"><MeasuredCharacteristics><CharacteristicMeasurements n="{len(kinds)}">'
            f"{measured}</CharacteristicMeasurements></MeasuredCharacteristics><InspectionStatus><InspectionStatusEnum>PASS"
            f'</InspectionStatusEnum></InspectionStatus><ActualComponentIds n="1"><Id>{51 + part}</Id></ActualComponentIds>'
            "</MeasurementResults>"
        )
    return FULL.replace("{results}", results)


def test_every_kind_of_tolerance() -> None:
    found = {item.name: item for item in characteristics_of(full().encode(), AS_DATA)}
    limits = {
        name: (item.unit, item.nominal, item.lower, item.upper) for name, item in found.items()
    }
    assert limits == {
        "Hole": ("in", 0.5, 0.499, 0.502),
        "Length": ("in", 1.0, 0.999, pytest.approx(25.5 / 25.4)),
        "Flatness": ("in", None, None, 0.003),
        "P4": ("in", None, None, 0.004),
        "Angle": ("deg", 30.0, 29.0, 31.0),
        "Basic": ("in", 2.0, None, None),
        "Burr": ("in", None, None, 0.05),
    }
    assert found["P4"].material == "MAXIMUM"


def test_parts_times_and_units_of_values() -> None:
    table = read_qif(full().encode(), AS_DATA)
    assert table["part"].tolist() == ["S-1"] * 4 + ["S-2"] * 4
    assert table["time"].tolist()[0] == "2026-03-02T06:00:00"
    assert table["actual"].tolist()[3] == "30.2 °"
    flat = table.loc[table["characteristic"] == "Flatness", "actual"].tolist()
    assert flat[0] == "0.001 in"
    assert float(flat[1].removesuffix(" in")) == pytest.approx(0.001)
    lengths = read_qif(full(lengths_only=True).encode(), AS_DATA)
    assert lengths.attrs["unit"] == "in"
    assert lengths["actual"].tolist()[0] == "0.501"


@pytest.mark.parametrize("lengths_only", [True, False])
def test_inches_become_the_studys_millimetres(make_study: Callable, lengths_only: bool) -> None:
    text = full(lengths_only).replace("Hole", "width")
    study = make_study("f.qif", text, LONG)
    assert read(study).table("run", "width")["value"].tolist() == pytest.approx([0.501 * 25.4] * 2)


def test_two_characteristics_of_one_name_stay_two() -> None:
    text = full().replace("<Name>Hole</Name>", "<Name>Burr</Name>")
    # No part has the other "Burr" measured, so nothing has to be told apart.
    assert "Burr" in set(read_qif(text.encode(), AS_DATA)["characteristic"])
    text = full().replace("<Name>Hole</Name>", "<Name>Flatness</Name>")
    table = read_qif(text.encode(), AS_DATA)
    assert {"Flatness (21)", "Flatness (23)"} < set(table["characteristic"])
    assert not table.duplicated(["part", "characteristic"]).any()
    found = {item.name: item.upper for item in characteristics_of(text.encode(), AS_DATA)}
    assert (found["Flatness (21)"], found["Flatness (23)"]) == (0.502, 0.003)


def test_results_that_lean_on_another_document_are_refused() -> None:
    text = full().replace("<CharacteristicItemId>21<", '<CharacteristicItemId xId="4">7<')
    with pytest.raises(InputError, match="refers to another QIF document"):
        read_qif(text.encode(), AS_DATA)


SCHEMA = os.environ.get("LINESTUDY_QIF_SCHEMA", "")


@pytest.fixture(scope="module")
def schema():
    if not Path(SCHEMA, "QIFApplications", "QIFDocument.xsd").is_file():
        pytest.skip("LINESTUDY_QIF_SCHEMA names no folder with the published schema")
    import xmlschema

    return xmlschema.XMLSchema(str(Path(SCHEMA, "QIFApplications", "QIFDocument.xsd")))


@pytest.mark.parametrize("lengths_only", [True, False])
def test_the_full_document_is_valid_by_the_schema(schema, lengths_only: bool) -> None:
    schema.validate(full(lengths_only))


def test_the_published_examples_are_read(schema) -> None:
    """One of the two is not valid by the schema itself (its features have no items); both are read."""
    examples = sorted(Path(SCHEMA, "samples").glob("*.qif"))
    assert examples
    for file in examples:
        text = file.read_text(encoding="utf-8")
        table = read_qif(text.encode(), AS_DATA)
        assert table["part"].nunique() == text.count("<MeasurementResults ")
        assert len(table) == text.count("<CharacteristicItemId>")
        assert (table["actual"] != "").all()
