"""What cannot be used is refused in one line that names file, line and remedy."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable

import pytest
from links import link

from linestudy.records import read
from linestudy.results import InputError

RUN = 'role = "run"\ncolumns = { width = "Width" }\norder = "Stroke"'
GOOD = "Stroke,Width\n1,2.80\n2,2.81\n"


def zipped(*members: tuple[str, str], link: bool = False) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, text in members:
            info = zipfile.ZipInfo(name)
            if link:
                info.external_attr = 0o120777 << 16
            bundle.writestr(info, text)
    return stream.getvalue()


def of_unknown_method(content: bytes) -> bytes:
    """The same zip, its members said to be packed by a method nobody has."""
    raw = bytearray(content)
    for mark, offset in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        at = raw.find(mark)
        raw[at + offset : at + offset + 2] = (99).to_bytes(2, "little")
    return bytes(raw)


def locked(content: bytes) -> bytes:
    """The same zip, its members said to be encrypted."""
    raw = bytearray(content)
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        raw[raw.find(mark) + offset] |= 1
    return bytes(raw)


CASES = {
    "packed oddly": ("f.zip", of_unknown_method(zipped(("a.csv", GOOD))), RUN, "unusual way"),
    "locked": ("f.zip", locked(zipped(("a.csv", GOOD))), RUN, "without password"),
    "empty": ("f.csv", b"", RUN, "is empty"),
    "header only": ("f.csv", b"Stroke,Width\n", RUN, "no rows"),
    "column": ("f.csv", b"Stroke,Widht\n1,2\n", RUN, 'did you mean "Widht"'),
    "text": ("f.csv", b"Stroke,Width\n1,2.8\n2,wide\n", RUN, 'f.csv line 3: "wide"'),
    "text after preamble": ("f.csv", b"x\n\nStroke,Width\n1,2.8\n2,wide\n", RUN, "line 5"),
    "decimal comma": ("f.csv", b"Stroke;Width\n1;2,8\n", RUN, 'decimal = ","'),
    "decimal point": ("f.csv", b"Stroke;Width\n1;2.8\n", RUN + '\ndecimal = ","', "decimal"),
    "infinite": ("f.csv", b"Stroke,Width\n1,inf\n", RUN, "number belongs"),
    "not a number": ("f.csv", b"Stroke,Width\n1,nan\n", RUN, "number belongs"),
    "no order": ("f.csv", b"Stroke,Width\n,2.8\n", RUN, "no order number"),
    "foreign unit": ("f.csv", b"Stroke,Width\n1,2.8 kg\n", RUN, 'unit "kg"'),
    "twice": ("f.csv", b"Stroke,Width,Width\n1,2,3\n", RUN, "twice"),
    "time": ("f.csv", b"Stroke,Width,T\n1,2,noon\n", RUN + '\ntime = "T"', "is not a time"),
    "not gz": ("f.csv.gz", b"Stroke", RUN, "cannot be unpacked"),
    "not zip": ("f.zip", b"PK", RUN, "cannot be unpacked"),
    "two members": ("f.zip", zipped(("a.csv", GOOD), ("b.csv", GOOD)), RUN, "2 files inside"),
    "member outside": ("f.zip", zipped(("../a.csv", GOOD)), RUN, "leads outside"),
    "member absolute": ("f.zip", zipped(("/etc/a.csv", GOOD)), RUN, "leads outside"),
    "member link": ("f.zip", zipped(("a.csv", "x"), link=True), RUN, "leads outside"),
    "not parquet": ("f.parquet", b"PAR1 no", RUN, "not sound parquet"),
    "not xlsx": ("f.xlsx", b"PK no", RUN, "not a workbook of its kind"),
    "not utf-8 as said": ("f.csv", b"Stroke,Width\n1,\xff\n", RUN + '\nencoding = "utf-8"', "text"),
    "unknown encoding": ("f.csv", GOOD.encode(), RUN + '\nencoding = "klingon"', "encoding"),
    "too large": ("f.csv", GOOD.encode(), RUN + "\nlargest_mb = 0.00001", "raise largest_mb"),
    "unpacks too large": (
        "f.zip",
        zipped(("a.csv", GOOD + "3,2.8\n" * 200_000)),
        RUN + "\nlargest_mb = 0.1",
        "raise largest_mb",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_refused_in_one_line(name: str, make_study: Callable) -> None:
    file, content, data, expected = CASES[name]
    with pytest.raises(InputError) as caught:
        read(make_study(file, content, data))
    message = str(caught.value)
    assert expected in message
    assert "\n" not in message
    # What study.toml says wrongly is refused there, before the file is looked at.
    assert message.startswith("study.toml" if name == "unknown encoding" else file)


def test_a_link_out_of_the_folder_is_refused(make_study: Callable, tmp_path) -> None:
    study = make_study("f.csv", GOOD)
    outside = tmp_path / "outside.csv"
    outside.write_text(GOOD)
    (study.folder / "f.csv").unlink()
    link(study.folder / "f.csv", outside)
    with pytest.raises(InputError, match="leads out of the study folder"):
        read(study)


def test_a_linked_folder_is_refused(make_study: Callable, tmp_path) -> None:
    study = make_study("f.csv", GOOD)
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "f.csv").write_text(GOOD)
    link(study.folder / "data", tmp_path / "elsewhere")
    text = (study.folder / "study.toml").read_text().replace('"f.csv"', '"data/f.csv"')
    (study.folder / "study.toml").write_text(text)
    from linestudy import open_study

    with pytest.raises(InputError, match="leads out of the study folder"):
        read(open_study(study.folder))


def test_a_missing_file_names_the_nearest(make_study: Callable) -> None:
    study = make_study("run.csv", GOOD)
    (study.folder / "run.csv").rename(study.folder / "runn.csv")
    with pytest.raises(InputError, match=r'did you mean "runn\.csv"'):
        read(study)


def test_the_line_of_a_wrong_cell_counts_quoted_line_breaks(make_study: Callable) -> None:
    text = 'Stroke,Width,Note\n1,2.8,"two\nlines"\n2,wide,\n'
    with pytest.raises(InputError, match="line 4"):
        read(make_study("f.csv", text))
