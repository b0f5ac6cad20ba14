"""What a file was taken for is shown and corrected, and checked at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from linestudy.intake import draft_study
from linestudy.study_form.tables_step import TablesStep


def card(form: Any, name: str) -> Any:
    return next(card for card in form.tables.cards if card.table.named.startswith(name))


def test_what_was_recognised_is_shown(filled: Any) -> None:
    log = card(filled, "log")
    assert log.role.label.startswith("run of the process")
    assert log.gauge.value == "Camera K2"
    columns = {name: field.label for name, field in log._columns.items()}
    assert columns["Hub-Nr."] == "number of stroke or part"
    assert columns["Burr [in]"] == "readings of Burr"
    sheet = card(filled, "msa.xlsx, Contact height")
    assert sheet.unit.value == "mm"
    assert "is 25.4 times what the drawing says" in filled.said(sheet)


def test_a_correction_is_checked_at_once(filled: Any) -> None:
    log = card(filled, "log")
    log.role.value = "crossed"
    assert "Choose the column that holds: part." in filled.said(log)
    assert "log.csv: Choose the column that holds: part." in filled.said(filled.check)
    log._columns["Hub-Nr."].value = "part"
    log._columns["Station"].value = "appraiser"
    assert "Nothing is missing here." in filled.said(log)
    log.role.value = "run"
    assert log._columns["Hub-Nr."].value == "order"


def test_what_is_refused_stays_said_and_out(filled: Any) -> None:
    log = card(filled, "log")
    log._columns["Zeit"].value = "readings:burr"
    assert '"Zeit" holds no numbers' in filled.said(log)
    log.unit.value = "furlongs"
    assert "no unit that is known here" in filled.said(log)
    assert log.table.unit is None
    log.gauge.value = "Camera K3"
    assert filled.draft.gauges[log.table.gauges[0]] == "Camera K3"


def test_a_table_left_out_and_a_renamed_characteristic(filled: Any) -> None:
    pull = card(filled, "pull")
    pull.used.value = False
    assert "Left out." in filled.said(pull)
    filled.grid.rows[1].fields["name"].value = "Burr height"
    assert card(filled, "log")._columns["Burr [in]"].label == "readings of Burr height"


def test_the_only_gauge_serves_where_none_is_named(filled: Any) -> None:
    """Typed once, it is taken for every table that needs one, and said."""
    draft = filled.draft
    draft.gauges.clear()
    for each in filled.tables.cards:
        each.table.gauges = []
    filled.tables.refresh()
    assert "Name the gauge." in filled.said(card(filled, "masters"))
    card(filled, "log").gauge.value = "Camera 7"
    assert card(filled, "masters").gauge.value == "Camera 7"
    assert "the only gauge; change it if not" in filled.said(card(filled, "masters"))
    assert card(filled, "pull").table.gauges == []


def test_limits_of_a_file_and_what_to_look_at_are_shown(tmp_path: Path) -> None:
    text = "Shot,Width,Burr\nUSL,2.85,0.1\nLSL,2.75,\n" + "".join(
        f"{i},{2.8 + i / 1000},{'<0.01' if i % 5 == 1 else 0.02}\n" for i in range(1, 31)
    )
    path = tmp_path / "run.csv"
    path.write_text(text, encoding="utf-8")
    step = TablesStep(lambda: None)
    step.show(draft_study([path]))
    shown = step.cards[0].widget.children[0].value
    assert "Limits in this file: Width 2.75 to 2.85." in shown
    assert "Look at this: 6 cells of" in shown


def test_judgements_may_be_about_what_is_measured_too(root: Path) -> None:
    """The README's try-out: grades of the burr stand beside the readings of the burr."""
    data = root / "sample_data/twin_contact/data"
    draft = draft_study([data / "msa.csv", data / "burr_by_eye.csv"])
    step = TablesStep(lambda: None)
    step.show(draft)
    judged = next(each for each in step.cards if each.table.named == "burr_by_eye.csv")
    assert judged._wide[""].label == "Grat"
    assert judged.role.label.startswith("judgements")


def test_fields_of_several_files_are_read_out_with_whose_they_are(filled: Any) -> None:
    named = [
        field.description
        for each in filled.tables.cards
        for field in (each.used, each.role, each.gauge, each.unit, *each._wide.values(), *each._columns.values())
    ]  # fmt: skip
    assert len(set(named)) == len(named) > 20
    assert 'It is a<span class="ls-whose">, log.csv</span>' in named
