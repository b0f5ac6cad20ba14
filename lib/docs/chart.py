"""The chart "which study do I need": drawn from the tables of its page, which say the same in words.

``python lib/docs/chart.py`` draws it again beside the page, after a branch was added or changed there.
"""

from __future__ import annotations

import re
import textwrap
from dataclasses import dataclass
from html import escape
from pathlib import Path

PAGE = Path(__file__).parent / "guide" / "which_study.md"
CHART = PAGE.with_suffix(".svg")

_QUESTION = re.compile(r"\*\*\d · (.+?)\*\*(.*)")
_CODE = re.compile(r"`([^`]+)`")
#: Widths in pixels: of the chart, of what one has, of the study; letters that fit into them.
_WIDTH, _LEFT, _RIGHT = 1080, 330, 650
_LETTERS, _MONO = 46, 92
_LINE, _GAP = 17, 10
_INK, _LIGHT, _PAPER, _LEAD = "#1b1b1b", "#f3efe0", "#ffffff", "#3a2f6b"


@dataclass(frozen=True)
class Branch:
    """One way through the chart.

    Attributes
    ----------
    having : tuple of str
        What one has or asks.
    study : str
    code, sheet : str
        A line of Python, and the command that makes a sheet to collect it; empty where there is none.
    """

    having: tuple[str, ...]
    study: str
    code: str
    sheet: str = ""


@dataclass(frozen=True)
class Question:
    """A question of the chart with its branches, in order.

    Attributes
    ----------
    text : str
    branches : list of Branch
    """

    text: str
    branches: list[Branch]


def questions(page: str) -> list[Question]:
    """Read the chart's list from the tables of its page.

    Parameters
    ----------
    page : str
        Markdown.

    Returns
    -------
    list of Question
    """
    found: list[Question] = []
    columns: list[str] = []
    for line in page.splitlines():
        asked = _QUESTION.match(line)
        cells = [cell.strip() for cell in line.strip("|").split("|")] if line[:1] == "|" else []
        if asked:
            found.append(Question(asked.group(1).rstrip(":"), []))
            columns = []
            codes = _CODE.findall(asked.group(2))
            if codes:
                found[-1].branches.append(Branch(("everything above",), "the submission", *codes))
        elif cells and not columns:
            columns = cells
        elif cells and "---" not in cells[0]:
            row = dict(zip(columns, cells, strict=True))
            having = tuple(
                f"{name} {row[name]}" if name.endswith("?") else row[name]
                for name in columns[: columns.index("study")]
            )
            sheet = _CODE.findall(row.get("sheet", ""))
            found[-1].branches.append(
                Branch(having, row["study"], _CODE.findall(row["code"])[0], *sheet)
            )
    return found


def drawn(asked: list[Question]) -> str:
    """Draw the chart.

    Parameters
    ----------
    asked : list of Question

    Returns
    -------
    str
        SVG without script, style sheet or anything from elsewhere.
    """
    parts: list[str] = []
    y, spine = 16, 30
    for number, question in enumerate(asked, start=1):
        if number > 1:
            parts.append(_arrow(spine, y - 22, spine, y - 2))
        parts.append(_box(12, y, _WIDTH - 24, 34, _LEAD))
        parts.append(_text(28, y + 22, f"{number} · {question.text}", "bold", _PAPER, 15))
        y += 34
        top = y
        for branch in question.branches:
            y += _GAP
            left = [piece for text in branch.having for piece in textwrap.wrap(text, _LETTERS)]
            right = [branch.study, *_broken(branch.code), *_broken(branch.sheet)]
            height = 14 + _LINE * max(len(left), len(right))
            middle = y + height // 2
            parts += [_line(spine, middle, 50, middle), _box(50, y, _LEFT, height, _PAPER)]
            parts += [
                _text(60, y + 20 + _LINE * i, text, "normal", _INK, 13)
                for i, text in enumerate(left)
            ]
            start = 50 + _LEFT
            at = _WIDTH - 12 - _RIGHT
            parts += [_arrow(start, middle, at - 2, middle), _box(at, y, _RIGHT, height, _LIGHT)]
            parts.append(_text(at + 10, y + 20, branch.study, "bold", _INK, 13))
            parts += [
                _text(at + 10, y + 20 + _LINE * i, text, "mono", _INK, 11.5)
                for i, text in enumerate(right[1:], start=1)
            ]
            y += height
        parts.insert(len(parts), _line(spine, top, spine, middle))
        y += 34
    title = "Which study do I need?"
    words = "; ".join(f"{number}, {q.text}" for number, q in enumerate(asked, start=1))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {y - 18}" width="{_WIDTH}" height="{y - 18}" '
        f'role="img" aria-labelledby="title words" font-family="system-ui, DejaVu Sans, Arial, sans-serif">'
        f'<title id="title">{title}</title><desc id="words">{escape(words)}. The tables of the page say each branch in words.</desc>'
    )
    return "\n".join([head, _box(0, 0, _WIDTH, y - 18, _PAPER, edge=False), *parts, "</svg>", ""])


def _broken(code: str) -> list[str]:
    """A line of code, broken behind a comma or a blank where it is too long, the rest further in."""
    if not code:
        return []
    first, *rest = textwrap.wrap(code, _MONO, break_long_words=False, break_on_hyphens=False)
    return [first, *(f"    {piece}" for piece in rest)]


def _box(x: int, y: int, width: int, height: int, fill: str, *, edge: bool = True) -> str:
    stroke = f' stroke="{_INK}" stroke-width="1" rx="4"' if edge else ""
    return f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}"{stroke}/>'


def _line(x: int, y: int, to_x: int, to_y: int) -> str:
    return f'<path d="M{x} {y}L{to_x} {to_y}" stroke="{_INK}" stroke-width="1.5" fill="none"/>'


def _arrow(x: int, y: int, to_x: int, to_y: int) -> str:
    head = "l-7 -4v8z" if y == to_y else "l-4 -7h8z"
    return f'{_line(x, y, to_x, to_y)}<path d="M{to_x} {to_y}{head}" fill="{_INK}"/>'


def _text(x: int, y: int, text: str, kind: str, fill: str, size: float) -> str:
    look = {
        "mono": ' font-family="DejaVu Sans Mono, Consolas, monospace" xml:space="preserve"',
        "bold": ' font-weight="bold"',
        "normal": "",
    }[kind]
    return f'<text x="{x}" y="{y}" font-size="{size}" fill="{fill}"{look}>{escape(text, quote=False)}</text>'


if __name__ == "__main__":
    CHART.write_text(drawn(questions(PAGE.read_text(encoding="utf-8"))), encoding="utf-8")
