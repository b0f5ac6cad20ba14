"""Tables by role: tags, subgroups, periods set aside, incomplete rows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from linestudy import open_study
from linestudy.records import read
from linestudy.records.infer.data_table import identifier
from linestudy.records.ledger import ValueCount
from linestudy.results import InputError


def test_subgroups_keep_their_place_when_a_part_is_missing(make_study: Callable) -> None:
    order = [n for n in range(1, 31) if n not in (2, 11)]
    text = "S,W\n" + "".join(f"{n},2.8\n" for n in order)
    data = (
        'role = "run"\ncolumns = { width = "W" }\norder = "S"\nsubgroup = { size = 3, every = 10 }'
    )
    table = read(make_study("f.csv", text, data)).table("run", "width")
    taken = table.dropna(subset="subgroup").groupby("subgroup")["order"].apply(list)
    assert taken.tolist() == [[1, 3], [12, 13], [21, 22, 23]]


def test_subgroups_by_a_column(make_study: Callable) -> None:
    text = "S,W,Box\n1,2.8,a\n2,2.8,a\n3,2.8,\n4,2.8,b\n"
    data = 'role = "run"\ncolumns = { width = "W" }\norder = "S"\nsubgroup = "Box"'
    table = read(make_study("f.csv", text, data)).table("run", "width")
    assert table["subgroup"].tolist()[:2] == [0, 0]
    assert table["subgroup"].isna().tolist() == [False, False, True, False]


def test_two_run_files_have_different_subgroups(make_study: Callable) -> None:
    text = "S,W\n" + "".join(f"{n},2.8\n" for n in range(1, 7))
    data = 'role = "run"\ncolumns = { width = "W" }\norder = "S"\nsubgroup = { size = 3 }'
    study = make_study("f.csv", text, data)
    (study.folder / "g.csv").write_text(text.replace("\n", "\n10", 6))
    more = f'\n[[data]]\nfile = "g.csv"\ngauge = "camera"\n{data}\n'
    toml = study.folder / "study.toml"
    toml.write_text(toml.read_text() + more)
    table = read(open_study(study.folder)).table("run", "width")
    assert table["subgroup"].tolist() == [0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3]


def test_periods_set_aside_are_flagged_not_dropped(make_study: Callable) -> None:
    text = "S,W\n" + "".join(f"{n},2.8\n" for n in range(1, 11))
    study = make_study(
        "f.csv",
        text,
        'role = "run"\ncolumns = { width = "W" }\norder = "S"',
        extra='[[set_aside]]\nreason = "trial"\nfirst = 4\nlast = 6\n',
    )
    table = read(study).table("run", "width")
    assert table.loc[table["set_aside"], "order"].tolist() == [4, 5, 6]
    assert len(table) == 10


def test_rows_without_part_or_reference_are_counted(make_study: Callable) -> None:
    data = 'role = "reference"\ngauge = "camera"\ncolumns = { width = "W" }\nreference = "R"\npart = "P"'
    records = read(make_study("f.csv", "P,W,R\na,2.8,2.8\nb,2.8,\n", data))
    assert records.sources[0].account.set_aside == {"no reference given": 1}
    data = (
        'role = "crossed"\ngauge = "camera"\ncolumns = { width = "W" }\npart = "P"\nappraiser = "A"'
    )
    records = read(make_study("f.csv", "P,A,W\na,x,2.8\n,x,2.8\nb,,2.8\n", data))
    assert records.sources[0].account.set_aside == {"no part named": 1, "no appraiser named": 1}


def test_reference_is_in_the_unit_of_the_characteristic(make_study: Callable) -> None:
    data = 'role = "reference"\ngauge = "camera"\ncolumns = { width = "W" }\nreference = "R"\nunit = "µm"'
    table = read(make_study("f.csv", "W,R\n2801,2800\n", data)).table("reference", "width")
    assert table["value"].tolist() == pytest.approx([2.801], rel=1e-14)
    assert table["reference"].tolist() == pytest.approx([2.8], rel=1e-14)


def test_long_and_wide_give_the_same(make_study: Callable) -> None:
    wide = "S,W,G\n1,2.80,0.6\n2,2.81,NA\n3,2.82,0.61\n"
    data = 'role = "run"\norder = "S"\n'
    a = read(make_study("f.csv", wide, data + 'columns = { width = "W", gap = "G" }'))
    long = "S,F,V\n" + "".join(
        f"{s},width,{w}\n{s},gap,{g}\n"
        for s, w, g in ((1, "2.80", "0.6"), (2, "2.81", "NA"), (3, "2.82", "0.61"))
    )
    b = read(make_study("f.csv", long, data + 'long = { characteristic = "F", value = "V" }'))
    for name in ("width", "gap"):
        columns = ["order", "value"]
        pd.testing.assert_frame_equal(a.table("run", name)[columns], b.table("run", name)[columns])
    counts = b.sources[0].account.values
    assert counts["width"] == ValueCount(3, 3, {})
    assert counts["gap"].used == 2


def test_the_sample_study_is_read_whole(sample_study: Path) -> None:
    records = read(open_study(sample_study))
    for account in records.ledger.accounts:
        assert account.rows_read == account.rows_used + sum(account.set_aside.values())
        for counts in account.values.values():
            assert counts.read == counts.used + sum(counts.set_aside.values())
    # Rows of the file, counted by another program's rules: lines less the header.
    import gzip

    with gzip.open(sample_study / "data" / "run.csv.gz", "rt") as stream:
        assert records.ledger.accounts[0].rows_read == sum(1 for _ in stream) - 1
    assert records.gauges("crossed", "blade") == ("camera", "cmm")
    assert records.pairs("blade") == (("camera", "cmm"),)
    assert records.inputs()[0]["sha256"]


@pytest.mark.parametrize("identity", ["coil", "order", "subgroup"])
def test_a_characteristic_with_the_name_of_a_tag_is_refused(
    make_study: Callable, identity: str
) -> None:
    data = f'role = "run"\ncolumns = {{ {identity} = "W" }}\norder = "S"\ncoil = "C"'
    extra = f'[[characteristic]]\nid = "{identity}"\nname = "Another"\nunit = "mm"'
    text = "S,C,W\n" + "".join(f"{n},a,2.8\n" for n in range(1, 9))
    study = make_study("f.csv", text, data, extra=extra)
    with pytest.raises(InputError, match=f'calls a characteristic "{identity}".*{identity}_value'):
        read(study)


def test_a_draft_gives_no_characteristic_the_name_of_a_tag() -> None:
    assert identifier("Coil") == "coil_value"
    assert identifier("Order", {"order_value"}) == "order_2"
