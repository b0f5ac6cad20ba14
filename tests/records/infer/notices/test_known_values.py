"""Sheets of bias and linearity as people keep them: known values are no readings, and readings are held against their own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from proposals import delimited, draft_of, records_of, workbook

from linestudy.records.infer.notices.known_values import masters_across

KNOWN = [2.76, 2.78, 2.80, 2.82, 2.84]
READ = np.random.default_rng(7).normal(KNOWN, 0.001, (12, 5)).round(4)


@pytest.mark.parametrize("reference", ["Reference value", "Reference", "Master value", "Referenzwert", "基准值"])  # fmt: skip
@pytest.mark.parametrize("heads", [["1", "2", "3", "4", "5"], [f"Master {i}" for i in range(1, 6)]])
def test_a_sheet_of_linearity(tmp_path: Path, reference: str, heads: list[str]) -> None:
    rows: list[list[object]] = [["Part", *heads], [reference, *KNOWN]]
    rows += [[f"Trial {i + 1}", *READ[i].tolist()] for i in range(12)]
    rows += [["Average", *READ.mean(axis=0).tolist()], ["Bias", *[0.0] * 5]]
    draft = draft_of(tmp_path, "lin.xlsx", workbook(rows))
    assert draft.tables[0].said.role == "reference"
    found = records_of(tmp_path, draft).table("reference", draft.items[0].id)
    assert found is not None
    assert len(found) == 60
    for head, known, read in zip(heads, KNOWN, READ.T, strict=True):
        own = found[found["part"] == head]
        np.testing.assert_array_equal(own["reference"], known)
        np.testing.assert_array_equal(np.sort(own["value"]), np.sort(read))


def test_a_known_value_above_the_readings_of_one_master(tmp_path: Path) -> None:
    values = READ[:, 2].tolist()
    rows: list[list[object]] = [["Cg study"], ["Reference value", 2.8003], ["No", "Reading"]]
    rows += [[i + 1, value] for i, value in enumerate(values)]
    draft = draft_of(tmp_path, "cg.csv", delimited(rows))
    (table,) = draft.tables
    assert (table.said.role, table.said.key("reference")) == ("reference", 2.8003)
    found = records_of(tmp_path, draft).table("reference", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], values)
    np.testing.assert_array_equal(found["reference"], 2.8003)


def test_a_nominal_above_a_run_is_no_master(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Width"], ["Nominal", 2.8], ["No", "Reading"]]
    rows += [[i + 1, value] for i, value in enumerate(READ[:, 2].tolist())]
    assert draft_of(tmp_path, "run.csv", delimited(rows)).tables[0].said.role == "run"


def test_readings_of_others_than_the_masters_are_none() -> None:
    cells = pd.DataFrame({"Part": ["Reference", *"abcdef"]}).assign(
        **{f"M{j}": [str(KNOWN[j]), *READ[:6, 4 - j].astype(str)] for j in range(5)}
    )
    assert masters_across(cells) is None
