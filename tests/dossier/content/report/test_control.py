"""The control plan's lines agree with the charts of the document."""

from __future__ import annotations

from linestudy.dossier.content.elements import Table
from linestudy.dossier.content.report.control import (
    chart_of,
    control_plan,
    natural_bound,
    no_lower_limit,
)
from linestudy.dossier.content.sheet import sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.figures.report.process import location_and_spread


def test_limits_of_the_plan_are_those_drawn_on_the_chart(evaluation: Evaluation) -> None:
    known = sheets(evaluation)
    table = next(b for b in control_plan(evaluation, known) if isinstance(b, Table))
    seen = 0
    for sheet, row in zip(known, table.rows, strict=True):
        chart = chart_of(evaluation, sheet)
        if chart is None:
            continue
        picture = location_and_spread(chart, bound=natural_bound(sheet))
        drawn = [text.get_text() for text in picture.axes[0].texts]
        span = row[4].split(": ")[1]
        limits = span.removeprefix("up to ").removesuffix(", no LCL").split(" to ")
        for name, limit in zip(("LCL", "UCL")[-len(limits) :], limits, strict=True):
            assert f"{name} {limit.split()[0]}".replace("-", "−") in drawn
        seen += 1
    assert seen == 5


def test_the_sample_is_of_the_size_that_the_limits_are_for(evaluation: Evaluation) -> None:
    """Limits of means narrow with the root of the sample (ISO 7870-2): those of five are wrong for three."""
    table = next(b for b in control_plan(evaluation, sheets(evaluation)) if isinstance(b, Table))
    seen = 0
    for row in table.rows:
        cells = dict(zip(table.head, row, strict=True))
        # Where no shift could be allowed there is no plan, and no frequency.
        if ", n = " in cells["chart and limits"]:
            size = cells["chart and limits"].split(", n = ")[1].split(":")[0]
            # Its subgroups are of neighbours from both stations, not of each of them.
            assert cells["sample"] == f"{size} parts"
            assert ", each stream about its own level" in cells["chart and limits"]
            assert not cells["frequency"] or cells["frequency"].startswith("every ")
            seen += bool(cells["frequency"])
    assert seen >= 3


def test_a_limit_that_no_part_can_pass_is_none(evaluation: Evaluation) -> None:
    """ISO 7870-2 sets a lower limit to nought or leaves it out where it would be negative."""
    offset = next(one for one in sheets(evaluation) if one.item.id == "offset")
    chart = chart_of(evaluation, offset)
    assert chart is not None
    assert chart.limits[0] < 0
    assert no_lower_limit(chart.limits[0], offset).startswith("No LCL: it would lie below 0")
    drawn = location_and_spread(chart, bound=natural_bound(offset)).axes[0]
    assert not any(text.get_text().startswith("LCL") for text in drawn.texts)
    blade = next(one for one in sheets(evaluation) if one.item.id == "blade")
    assert natural_bound(blade) is None


def test_tool_life_is_told_as_capability_knows_it(evaluation: Evaluation) -> None:
    tables = [b for b in control_plan(evaluation, sheets(evaluation)) if isinstance(b, Table)]
    life = next(table for table in tables if table.caption == "Tool life")
    blade = dict(
        zip(life.head, next(row for row in life.rows if row[0] == "Blade width"), strict=True)
    )
    found = evaluation.findings.get("blade", "capability", "tool_life")
    assert blade["Ppk fresh"] == f"{found.Ppk_start.estimate:.2f}"
    assert blade["life seen"] == f"{found.life:,.0f}"
    assert found.strokes_to_index.low < found.strokes_to_index.estimate
    assert blade["reset by stroke"].startswith(f"{found.strokes_to_index.low:,.0f}")
