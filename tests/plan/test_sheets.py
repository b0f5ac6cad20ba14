"""Sheets hold what they should once, in random order, and are written without becoming anything else."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from linestudy.plan import (
    crossed_sheet,
    judgement_sheet,
    masters_sheet,
    paired_sheet,
    run_sheet,
    write_sheets,
)


def test_masters_and_pairs_are_complete_and_shuffled() -> None:
    masters = masters_sheet((1.0, 2.0, 3.0), trials=12, seed=3)
    assert masters.groupby("part").size().tolist() == [12, 12, 12]
    assert not masters["reference"].is_monotonic_increasing
    pairs = paired_sheet(parts=30, gauges=("camera", "bench"), seed=3)
    assert sorted(pairs["part"]) == list(range(1, 31))
    assert not pairs["part"].is_monotonic_increasing
    assert judgement_sheet(parts=4, appraisers=("A",), trials=2, seed=1)["judgement"].eq("").all()


def test_a_sheet_of_a_run_is_in_production_order() -> None:
    sheet = run_sheet(subgroups=25, subgroup_size=5, every=250)
    assert sheet["stroke"].is_monotonic_increasing
    assert len(sheet) == 125
    assert sheet["stroke"].max() == 24 * 250 + 5


@pytest.mark.parametrize(
    "make",
    [
        lambda: crossed_sheet(parts=1),
        lambda: judgement_sheet(parts=5, appraisers=()),
        lambda: masters_sheet(()),
        lambda: paired_sheet(parts=30, gauges=("camera", "camera")),
        lambda: run_sheet(subgroups=25, subgroup_size=5, every=4),
        lambda: write_sheets({}, "x"),
        lambda: write_sheets({"a/b": pd.DataFrame()}, "x"),
    ],
)
def test_what_is_no_sheet_is_refused(make) -> None:
    with pytest.raises(ValueError):
        make()


def test_workbook_and_files(tmp_path: Path) -> None:
    # openpyxl reads back what was written: text as text, numbers as numbers.
    import openpyxl

    sheets = {
        "gauge": crossed_sheet(parts=3, appraisers=("=1+1", "Bo"), trials=2, seed=1),
        "masters": masters_sheet((1.5,), trials=3, seed=1),
    }
    (book,) = write_sheets(sheets, tmp_path / "sheets.xlsx")
    read = openpyxl.load_workbook(book)
    assert read.sheetnames == ["gauge", "masters"]
    cells = [cell for row in read["gauge"].iter_rows(min_row=2) for cell in row]
    assert {cell.value for cell in cells if cell.column == 2} == {"=1+1", "Bo"}
    assert all(cell.data_type != "f" for cell in cells)
    assert read["masters"]["B2"].value == 1.5
    with pytest.raises(FileExistsError, match="there already"):
        write_sheets(sheets, tmp_path / "sheets.xlsx")
    files = write_sheets(sheets, tmp_path / "csv")
    assert pd.read_csv(files[1])["reference"].tolist() == [1.5] * 3
    with pytest.raises(FileExistsError, match="another folder"):
        write_sheets(sheets, tmp_path / "csv")


def test_a_filled_sheet_is_a_study(tmp_path: Path) -> None:
    """What the sheet asks for is what the crossed study takes."""
    import numpy as np

    from linestudy.gauges import grr_anova

    (path,) = write_sheets({"gauge": crossed_sheet(seed=1)}, tmp_path)
    sheet = pd.read_csv(path)
    noise = np.random.default_rng(1).normal(0, 0.1, len(sheet))
    study = grr_anova(sheet.assign(value=sheet["part"] + noise), tolerance=10.0)
    assert (study.design.parts, study.design.appraisers, study.design.trials) == (10, 3, 3)
    assert study.design.balanced
