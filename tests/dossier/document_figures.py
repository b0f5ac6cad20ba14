"""Measure a dossier's document: pages and how full they are, words, numbers, smallest lettering, cautions by class.

``python tests/dossier/document_figures.py DOSSIER`` prints them; ``test_document_figures.py`` holds those of the sample study.
"""

from __future__ import annotations

import ctypes
import re
import sys
from dataclasses import dataclass
from pathlib import Path

import pypdfium2 as pdfium
import pypdfium2.raw as raw

#: Where text may stand on a page, in points from its foot (A4, margins as in template.typ).
_TOP, _BOTTOM = 841.9 - 1.9 * 28.35, 1.6 * 28.35
#: Lettering smaller than this many points belongs to exponents and indices.
_INDEX = 1.0


@dataclass(frozen=True)
class Figures:
    """What was measured.

    Attributes
    ----------
    fill : tuple of float
        Of each page, from the top of the text to its lowest mark, as a share.
    report : int
        Pages before the annex.
    words, numbers : int
        Of the report.
    smallest : float
        [pt] Smallest lettering, pictures included.
    """

    fill: tuple[float, ...]
    report: int
    words: int
    numbers: int
    smallest: float

    @property
    def half_empty(self) -> tuple[int, ...]:
        """Pages less than half full, counted from one, that are neither the decision sheet nor the last of a part."""
        last = {1, self.report, len(self.fill)}
        return tuple(
            page
            for page, share in enumerate(self.fill, start=1)
            if share < 0.5 and page not in last
        )

    def __str__(self) -> str:
        filled = ", ".join(f"{100 * share:.0f}" for share in self.fill)
        return (
            f"{self.report} pages of report, {len(self.fill) - self.report} of annex; filled by {filled} %; "
            f"less than half full: {', '.join(map(str, self.half_empty)) or 'none'}; report: {self.words:,} words, "
            f"{self.numbers:,} numbers; smallest lettering {self.smallest:.1f} pt"
        )


def measure(pdf: Path) -> Figures:
    """Measure a document."""
    document = pdfium.PdfDocument(pdf)
    fill, sizes, report, said = [], [], 0, []
    for number in range(len(document)):
        page = document[number]
        text = page.get_textpage()
        words = text.get_text_bounded()
        if not report and re.search(r"^Annex\s*$", words, re.M):
            report = number
        if not report:
            said.append(words)
        fill.append(_fill(page))
        sizes.append(_smallest(text))
    joined = "\n".join(said)
    return Figures(
        tuple(fill),
        report or len(document),
        len(joined.split()),
        len(re.findall(r"(?<![\w.])[−-]?\d[\d,]*(?:\.\d+)?", joined)),
        min(sizes),
    )


def _fill(page: pdfium.PdfPage) -> float:
    lowest = _TOP
    for one in page.get_objects(max_depth=1):
        bottom, top = one.get_bounds()[1], one.get_bounds()[3]
        # The foot of the page is no content, nor is a white ground as high as the page.
        if bottom > _BOTTOM - 4 and top < _TOP + 4:
            lowest = min(lowest, bottom)
    return (_TOP - lowest) / (_TOP - _BOTTOM)


def _smallest(text: pdfium.PdfTextPage) -> float:
    """Height of type, as it stands on paper: the size of the font by the scale of its matrix."""
    least = 99.0
    matrix = raw.FS_MATRIX()
    for at in range(text.count_chars()):
        if chr(raw.FPDFText_GetUnicode(text, at)).isspace() or raw.FPDFText_IsGenerated(text, at):
            continue
        raw.FPDFText_GetMatrix(text, at, ctypes.byref(matrix))
        size = raw.FPDFText_GetFontSize(text, at) * (matrix.c**2 + matrix.d**2) ** 0.5
        if size > _INDEX:
            least = min(least, size)
    return least


if __name__ == "__main__":
    print(measure(Path(sys.argv[1]) / "data" / "dossier.pdf"))
