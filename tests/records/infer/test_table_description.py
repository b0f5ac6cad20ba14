"""A file's description: its tables, how it is written, units, marks of no reading."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.records.infer.table_description import describe
from linestudy.results import InputError


def test_what_is_told_of_a_plants_log(tmp_path: Path) -> None:
    lines = ["Hub-Nr.;Zeit;Spur;Breite [mm];Ergebnis", "", "1;02.03.2026 06:00:00;L;9999;i.O."]
    lines += [f"{i};02.03.2026 06:00:{i:02d};{'LR'[i % 2]};2,8{i % 7}0;i.O." for i in range(2, 50)]
    (tmp_path / "f.csv").write_bytes(("\n".join(lines) + "\n").encode("cp1252"))
    (found,) = describe(tmp_path / "f.csv")
    assert (found.role, found.key("order"), found.key("station")) == ("run", "Hub-Nr.", "Spur")
    assert found.key("unit") == "mm"
    assert found.key("missing") == ["9999"]
    assert found.readings[0].middle == pytest.approx(2.83)
    assert found.readings[0].unit == "mm"
    assert any("1 row set aside" in remark for remark in found.remarks)


def test_master_and_camera_have_their_own_units(tmp_path: Path) -> None:
    text = "Master [mm],Camera [in]\n" + "".join(
        f"{m},{m / 25.4:.5f}\n" for m in (2.5, 2.8) for _ in range(6)
    )
    (tmp_path / "f.csv").write_text(text, encoding="utf-8")
    (found,) = describe(tmp_path / "f.csv")
    assert found.key("units") == {"Camera [in]": "in", "Master [mm]": "mm"}
    assert found.reference is not None
    assert found.reference.middle == pytest.approx(2.65)


def test_a_file_without_a_table(tmp_path: Path) -> None:
    (tmp_path / "f.csv").write_text("Part,Width\n", encoding="utf-8")
    with pytest.raises(InputError, match="has a header but no rows"):
        describe(tmp_path / "f.csv")
