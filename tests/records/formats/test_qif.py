"""QIF results become the same tables; entities and document types are refused.

The file below follows the element names of QIF 3.0 (ISO 23952), written from memory of the
standard's schema, not taken from a published example.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linestudy.records import read
from linestudy.records.formats.qif import read_qif
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
