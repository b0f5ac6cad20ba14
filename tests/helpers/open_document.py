"""Workbooks as OpenDocument files, written by hand: no package that only tests need is asked for."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl


def as_ods(path: Path) -> bytes:
    """A workbook with the same sheets and values as an OpenDocument file."""
    names = ("office", "table", "text")
    spaces = " ".join(f'xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"' for n in names)
    sheets = []
    for page in openpyxl.load_workbook(path, data_only=True).worksheets:
        rows = []
        for row in page.iter_rows(values_only=True):
            cells = []
            for value in row:
                number = isinstance(value, int | float) and not isinstance(value, bool)
                kind = f'float" office:value="{value}' if number else "string"
                text = "" if value is None else f"<text:p>{escape(str(value))}</text:p>"
                more = "" if value is None else f' office:value-type="{kind}"'
                cells.append(f"<table:table-cell{more}>{text}</table:table-cell>")
            rows.append(f"<table:table-row>{''.join(cells)}</table:table-row>")
        sheets.append(
            f'<table:table table:name="{escape(page.title)}">{"".join(rows)}</table:table>'
        )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as bundle:
        bundle.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        bundle.writestr(
            "content.xml",
            f"<office:document-content {spaces}><office:body><office:spreadsheet>{''.join(sheets)}"
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return stream.getvalue()
