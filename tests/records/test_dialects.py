"""A table written in a random dialect reads back equal; properties of reading."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.records.conversions import to_numbers
from linestudy.records.roles import build
from linestudy.records.text_table import read_text_table
from linestudy.study.load import Study, _checked
from linestudy.study.model import Data

TOML = {
    "format": 1,
    "study": {"title": "t", "part": "p"},
    "characteristic": [{"id": "w", "name": "w", "unit": "mm", "lower": 0.0, "upper": 10.0}],
    "gauge": [{"id": "g", "name": "g"}],
}

dialects = st.fixed_dictionaries(
    {
        "delimiter": st.sampled_from([",", ";", "\t", "|"]),
        "decimal": st.sampled_from([".", ","]),
        "encoding": st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
        "end": st.sampled_from(["\n", "\r\n", "\r"]),
        "quoting": st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
        "thousands": st.sampled_from([None, " ", "'"]),
        "above": st.integers(0, 3),
        "blank_below": st.integers(0, 2),
    }
)
values = st.lists(st.integers(-9_999_999, 9_999_999), min_size=1, max_size=20)
notes = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), max_size=6)


def shown(value: int, dialect: dict) -> str:
    whole, fraction = divmod(abs(value), 1000)
    digits = f"{whole:,}".replace(",", dialect["thousands"] or "")
    return f"{'-' if value < 0 else ''}{digits}{dialect['decimal']}{fraction:03d}"


@given(dialect=dialects, numbers=values, note=notes)
def test_any_dialect_reads_back(dialect: dict, numbers: list[int], note: str) -> None:
    stream = io.StringIO()
    writer = csv.writer(
        stream,
        delimiter=dialect["delimiter"],
        lineterminator="\n",
        quoting=dialect["quoting"],
    )
    writer.writerow(["Stroke", "W", "Note"])
    for i, value in enumerate(numbers, start=1):
        writer.writerow([i, shown(value, dialect), note])
    text = "# made by the line\n" * dialect["above"] + stream.getvalue()
    text += "\n" * dialect["blank_below"]
    data = Data(
        role="run",
        file="f.csv",
        columns={"w": "W"},
        order="Stroke",
        gauge="g",
        decimal=dialect["decimal"],
        thousands=dialect["thousands"],
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "f.csv"
        path.write_bytes(text.replace("\n", dialect["end"]).encode(dialect["encoding"]))
        table = read_text_table(path, data)
    back, missing, _ = to_numbers(table.cells["W"], data)
    assert not missing.any()
    # A decimal text is the double nearest to it: exactly what Python's own reading gives.
    assert back.tolist() == [float(f"{v / 1000:.3f}") for v in numbers]
    assert table.rows_read == len(numbers)


@given(
    rows=st.lists(
        st.tuples(st.integers(1, 12), st.sampled_from(["", "9999", "1.5", "2.5", "-1", "11"])),
        min_size=1,
        max_size=30,
    )
)
def test_the_ledger_adds_up_whatever_the_rows(rows: list[tuple[int, str]]) -> None:
    import pandas as pd

    data = Data(
        role="run", file="f.csv", columns={"w": "W"}, order="S", gauge="g", missing=("", "9999")
    )
    content = {**TOML, "data": [data.model_dump(exclude_none=True)]}
    content["characteristic"] = [{**TOML["characteristic"][0], "bound": 0.0, "plausible": (0, 10)}]
    study = Study(Path("."), _checked(content, ""))
    cells = pd.DataFrame(rows, columns=["S", "W"]).astype(str)
    frame, reasons, counts, _ = build(study, data, cells)
    assert len(frame) + sum(reasons.values()) == len(rows)
    assert counts["w"].read == counts["w"].used + sum(counts["w"].set_aside.values())
    assert counts["w"].used == frame["w"].notna().sum()
    # Used are the first rows of each order number that hold a value from 0 to 10.
    first = dict(reversed(rows))
    wanted = {s: float(v) for s, v in first.items() if v in ("1.5", "2.5")}
    assert dict(zip(frame["order"], frame["w"], strict=True)) == wanted
    assert np.all(np.diff(frame["order"]) > 0)


@given(
    factor=st.sampled_from([("mm", 1.0), ("µm", 1e-3), ("inch", 25.4), ("cm", 10.0), ("m", 1e3)])
)
def test_units_are_those_of_the_si(factor: tuple[str, float]) -> None:
    # 1 inch = 25.4 mm exactly: NIST SP 811, appendix B.8.
    from linestudy.records.units import unit_factor

    unit, expected = factor
    assert unit_factor(unit, "mm", "f") == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(
    ("given", "wanted", "factor"),
    [
        ("N·m", "Nm", 1.0),
        ("Ncm", "N·m", 0.01),
        ("N⋅mm", "N·m", 0.001),
        ("cNm", "mN·m", 10.0),
        ("mΩ", "Ω", 0.001),
        ("kΩ", "Ω", 1000.0),
        ("Ω", "mOhm", 1000.0),
        ("kPa", "mbar", 10.0),
    ],
)
def test_units_of_torque_and_resistance(given: str, wanted: str, factor: float) -> None:
    from linestudy.records.units import is_unit, unit_factor

    assert is_unit(given)
    assert is_unit(wanted)
    assert unit_factor(given, wanted, "f") == pytest.approx(factor, rel=1e-12)


def test_every_known_unit_is_one_that_can_be_turned() -> None:
    """ "Nm" was known and was a measure of yarn to what turns units."""
    from linestudy.records.units import _KNOWN, _TORQUE, unit_factor

    kinds = {"N": 0, "m": 0}
    for unit in sorted(_KNOWN | set(_TORQUE)):
        # Each unit but a temperature with its own zero can be turned into that of its kind.
        for base in ("m", "N", "g", "s", "V", "A", "Ω", "Pa", "Hz", "W", "J", "deg", "K", "%"):
            try:
                unit_factor(unit, base, "f")
            except Exception:
                continue
            kinds[base] = kinds.get(base, 0) + 1
            break
        else:
            assert unit in ("°C", "degC"), unit
    assert kinds["J"] == len(_TORQUE) + 1
