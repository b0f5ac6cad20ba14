"""What a complete submission still lacks, for each state a study can be in."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import open_study
from linestudy.intake import missing_for_submission

HEAD = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Width"
{item}
[[gauge]]
id = "g"
name = "Camera"
"""
LIMITS = 'unit = "mm"\nlower = 1\nupper = 2'
RUN = '[[data]]\nrole = "run"\ngauge = "g"\nfile = "a.csv"\ncolumns = { w = "W" }\n'
CROSSED = RUN.replace('"run"', '"crossed"\npart = "P"')
MASTERS = RUN.replace('"run"', '"reference"\nreference = "R"')


@pytest.mark.parametrize(
    ("item", "tables", "told"),
    [
        (LIMITS, "", "readings of the process for Width"),
        (LIMITS, RUN, "a crossed study of Camera for Width; masters read by Camera for Width"),
        (LIMITS, RUN + CROSSED, "masters read by Camera for Width"),
        (LIMITS, RUN + CROSSED + MASTERS, ""),
        (LIMITS, CROSSED + MASTERS, "readings of the process for Width"),
        (
            LIMITS,
            RUN.replace('gauge = "g"\n', ""),
            "the name of the gauge that took the readings of Width",
        ),
        (LIMITS, RUN.replace('"run"', '"nested"\nlevels = ["c"]'), ""),
        ('unit = "mm"', RUN, "the limits of Width"),
        ("", "", "judgements of Width"),
        (
            LIMITS,
            RUN.replace("role", "planned = true\nrole") + CROSSED + MASTERS,
            "the file a.csv, which is planned",
        ),
    ],
)
def test_each_state(tmp_path: Path, item: str, tables: str, told: str) -> None:
    (tmp_path / "study.toml").write_text(HEAD.format(item=item) + tables, encoding="utf-8")
    found = missing_for_submission(open_study(tmp_path))
    if told:
        assert told in found
        assert found.startswith("For a complete submission is missing: ")
        assert found.count(".") == found.count(".csv") + 1
    else:
        assert found == ""


def test_what_several_lack_is_said_once(tmp_path: Path) -> None:
    two = HEAD.format(item=LIMITS).replace(
        "[[gauge]]", f'[[characteristic]]\nid = "h"\nname = "Height"\n{LIMITS}\n[[gauge]]'
    )
    both = RUN.replace('{ w = "W" }', '{ w = "W", h = "H" }')
    (tmp_path / "a.csv").write_text("W,H\n1,1\n", encoding="utf-8")
    (tmp_path / "study.toml").write_text(two + both, encoding="utf-8")
    assert missing_for_submission(open_study(tmp_path)) == (
        "For a complete submission is missing: a crossed study of Camera for Width and Height; masters read by "
        "Camera for Width and Height."
    )


def test_a_file_with_one_reading_a_row_holds_what_study_toml_says_it_holds(tmp_path: Path) -> None:
    two = LIMITS + '\n[[characteristic]]\nid = "h"\nname = "Height"\n' + LIMITS
    run = RUN.replace("columns = {", 'columns = { h = "H",')
    crossed = (
        '[[data]]\nrole = "crossed"\ngauge = "g"\nfile = "a.csv"\npart = "P"\n'
        'long = { characteristic = "F", value = "V" }\n'
    )
    masters = "For a complete submission is missing: masters read by Camera for Width and Height"
    for columns, also in (
        ('columns = { w = "W" }\n', "; a crossed study of Camera for Height."),
        ("", "."),
    ):
        text = HEAD.format(item=two) + run + crossed + columns
        (tmp_path / "study.toml").write_text(text, encoding="utf-8")
        (tmp_path / "a.csv").write_text("W,H,P,F,V\n1,1,1,W,1\n", encoding="utf-8")
        assert missing_for_submission(open_study(tmp_path)) == masters + also
