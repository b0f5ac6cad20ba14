"""Floor sheets: pages to print or to fill in on a tablet, one for each person and round, that are read back by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.records.formats.floor_sheet import CODE, FIELDS, HEADER, MARK, PLAN, FloorPlan
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study

#: Role → tags of its rows, the one that is shown first; and those that have a page for each of their values.
_TAGS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "crossed": (("part", "appraiser", "trial"), ("appraiser", "trial")),
    "attribute": (("part", "appraiser", "trial"), ("appraiser", "trial")),
    "reference": (("part", "reference"), ()),
    "paired": (("part",), ()),
    "nested": (("specimen", "coil"), ("coil",)),
    "drift": (("reading",), ()),
    "run": (("stroke", "subgroup"), ()),
    "machine": (("stroke",), ()),
}
#: A cell of a workbook holds this many signs.
_CELL = 30_000


def write_floor_sheet(
    study: Study,
    role: str,
    characteristic: str,
    sheet: pd.DataFrame,
    out: str | Path,
    *,
    gauges: tuple[str, ...] = (),
    words: tuple[str, str] = ("ok", "not ok"),
    paper: str = "A4",
) -> Path:
    """Write a floor sheet: a workbook with pages to fill in, that is read back without any mapping, or the same on paper.

    Parameters
    ----------
    study : Study
        Names of the characteristic and of the gauges, unit and resolution.
    role : str
        What the readings are for: crossed, attribute, reference, paired, nested, drift, run or machine.
    characteristic : str
        Its id.
    sheet : pandas.DataFrame
        The rows in the order in which to measure, as :func:`crossed_sheet`, :func:`judgement_sheet`,
        :func:`masters_sheet`, :func:`paired_sheet` and :func:`run_sheet` lay them out; with ``specimen`` and ``coil`` for
        readings that destroy, with ``reading`` for drift.
    out : str or Path
        A file that ends in ``.xlsx`` and is not there yet; or in ``.pdf``, beside which the workbook of the same plan
        is written, to type in what was filled in by hand.
    gauges : tuple of str
        Ids of the gauges: one, two for role paired, none for judgements.
    words : (str, str)
        What may be filled in for role attribute, accepted first.
    paper : str
        A4 or Letter.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    ValueError
        A role without the columns it needs, another number of gauges than it takes, or other paper.
    FileExistsError
        The file is there already.
    InputError
        No such characteristic or gauge in the study.

    See Also
    --------
    linestudy.plan.crossed_sheet : Random order of parts within rounds.
    linestudy.intake.draft_study : Takes filled sheets into a study.

    Notes
    -----
    Each person has a page of their own for every round, in random order, so that nobody sees what was read before
    (AIAG MSA, 4th ed., ch. III). A code made of the plan is on each page. On paper the pages of a gauge study and
    of judgements show the order alone; which part comes when is in a key for whoever hands out the parts.

    Examples
    --------
    >>> from linestudy import open_study, start_study
    >>> from linestudy.plan import crossed_sheet
    >>> import tempfile
    >>> folder = start_study(tempfile.mkdtemp() + "/s")
    >>> sheet = crossed_sheet(appraisers=("Anna", "Bert"))
    >>> write_floor_sheet(open_study(folder), "crossed", "width", sheet, folder / "grr.xlsx", gauges=("camera",)).name
    'grr.xlsx'
    """
    if paper not in ("A4", "Letter"):
        raise ValueError(f"paper = {paper!r}: allowed are A4 and Letter")
    target = Path(out)
    if target.suffix.lower() not in (".xlsx", ".pdf"):
        raise ValueError("a floor sheet is a workbook or a PDF: its name ends in .xlsx or .pdf")
    book = target.with_suffix(".xlsx")
    for file in dict.fromkeys((target, book)):
        if file.exists():
            raise FileExistsError(f"{file.name} is there already; take another name")
    plan, steps = _planned(study, role, characteristic, sheet, gauges, words)
    _workbook(plan, steps, book, study.head.part, paper)
    if target != book:
        from linestudy.plan.printed_sheets import print_sheets

        print_sheets(plan, steps, target, study.head.part, paper)
    return target


def laid_out(
    role: str,
    parts: int | None,
    *,
    people: tuple[str, ...],
    trials: int,
    masters: tuple[float, ...],
) -> pd.DataFrame:
    """Lay out the rows of a role's sheet.

    Parameters
    ----------
    role : str
    parts : int or None
        Parts, specimens of a coil, readings of a master, or subgroups; what is usual when None.
    people : tuple of str
    trials : int
    masters : tuple of float
        Known values, for role reference.

    Returns
    -------
    pandas.DataFrame

    Raises
    ------
    ValueError
        As the sheets themselves.
    """
    from linestudy.plan import sheets

    if role == "crossed":
        return sheets.crossed_sheet(parts=parts or 10, appraisers=people, trials=trials)
    if role == "attribute":
        return sheets.judgement_sheet(parts=parts or 50, appraisers=people, trials=trials)
    if role == "reference":
        return sheets.masters_sheet(masters, trials=parts or 12)
    if role == "paired":
        return sheets.paired_sheet(parts=parts or 50)
    if role == "nested":
        return sheets.nested_sheet(sizes=(3, parts or 20))
    if role == "drift":
        return sheets.drift_sheet(trials=parts or 25)
    if role == "machine":
        one = sheets.run_sheet(subgroups=1, subgroup_size=parts or 50, every=parts or 50)
        return one.drop(columns="subgroup")
    return sheets.run_sheet(subgroups=parts or 25)


def _planned(
    study: Study,
    role: str,
    characteristic: str,
    sheet: pd.DataFrame,
    gauges: Sequence[str],
    words: Sequence[str],
) -> tuple[FloorPlan, list[str]]:
    if role not in _TAGS:
        raise ValueError(f"role = {role!r}: allowed are {', '.join(_TAGS)}")
    tags, by = _TAGS[role]
    tags = tuple(tag for tag in tags if tag in sheet)
    if not tags or tags[0] != _TAGS[role][0][0]:
        raise ValueError(f'a sheet for role "{role}" needs the column "{_TAGS[role][0][0]}"')
    wanted = {"paired": 2, "attribute": 0}.get(role, 1)
    if len(gauges) != wanted:
        raise ValueError(f'role "{role}" takes {wanted} gauges, not {len(gauges)}')
    try:
        item = study.characteristic(characteristic)
        known = [study.gauge(identity) for identity in gauges]
    except KeyError as error:
        raise InputError("study.toml", str(error.args[0]), "name one of the study") from None
    unit = item.unit or ""
    columns = (
        ["judgement"]
        if role == "attribute"
        else [g.name for g in known]
        if wanted == 2
        else ["value"]
    )
    rows: list[dict[str, Any]] = []
    count: dict[str, int] = {}
    for row in sheet.to_dict("records"):
        page = ", ".join(
            f"{tag} {row[tag]}" if tag == "trial" else str(row[tag]) for tag in by if tag in tags
        )
        page = _page_name(page or role)
        at = count.get(page, 0)
        count[page] = at + 1
        rows.append({"page": page, "row": at, **{tag: str(row[tag]) for tag in tags}})
    plan = FloorPlan(
        role, item.id, item.name, unit, tuple(g.name for g in known), tuple(columns),
        tuple(words) if role == "attribute" else (), tags, tuple(rows),
    )  # fmt: skip
    return plan, [f"{g.resolution:g} {g.unit or unit}" if g.resolution else "" for g in known]


def _page_name(text: str) -> str:
    """Make a name that a sheet may have."""
    return "".join(c if c.isalnum() or c in " _-," else "_" for c in text)[:31]


def _workbook(plan: FloorPlan, steps: list[str], target: Path, part: str, paper: str) -> None:
    import xlsxwriter

    # Text stays text: a part called "=1" is no formula.
    options = {"strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(target, options) as book:
        title = book.add_format({"bold": True, "font_size": 14})
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
        field = book.add_format({"bottom": 1})
        label = book.add_format({"border": 1})
        fill = book.add_format({"border": 1, "bg_color": "#FFF9E5"})
        pages: dict[str, list[dict[str, Any]]] = {}
        for row in plan.rows:
            pages.setdefault(str(row["page"]), []).append(row)
        for name, rows in pages.items():
            page = book.add_worksheet(name)
            page.set_paper(9 if paper == "A4" else 1)
            page.fit_to_pages(1, 0)
            page.repeat_rows(HEADER)
            page.set_footer(f"&L{plan.code}&C{name}&R&P / &N")
            page.freeze_panes(HEADER + 1, 0)
            page.set_column(0, 0, 14)
            page.set_column(1, 4, 20)
            page.write_string(0, 0, f"{part}: {plan.name}", title)
            page.write_string(1, 0, "Plan")
            page.write_string(*CODE, plan.code)
            about = ", ".join(
                f"{g}{f' (resolution {s})' if s else ''}"
                for g, s in zip(plan.gauges, steps, strict=False)
            )
            page.write_string(2, 0, "Gauge" if plan.gauges else "Judged")
            page.write_string(2, 1, about or " or ".join(plan.words))
            for text, (row_at, column_at) in FIELDS.items():
                page.write_string(row_at, column_at - 1, text)
                page.write_blank(row_at, column_at, None, field)
            person = next((str(row["appraiser"]) for row in rows if "appraiser" in row), "")
            if person:
                page.write_string(*FIELDS["Appraiser"], person, field)
            page.write_string(HEADER, 0, "In this order", head)
            page.write_string(HEADER, 1, plan.tags[0], head)
            unit = f" [{plan.unit}]" if plan.unit else ""
            for number, column in enumerate(plan.columns):
                page.write_string(HEADER, 2 + number, f"{column}{unit}", head)
            for row in rows:
                at = HEADER + 1 + row["row"]
                page.write_number(at, 0, row["row"] + 1, label)
                page.write_string(at, 1, str(row[plan.tags[0]]), label)
                for number in range(len(plan.columns)):
                    page.write_blank(at, 2 + number, None, fill)
            last = HEADER + len(rows)
            rule: dict[str, Any] = {
                "validate": "decimal",
                "criteria": "between",
                "minimum": -1e9,
                "maximum": 1e9,
            }
            if plan.words:
                rule = {"validate": "list", "source": list(plan.words)}
            page.data_validation(HEADER + 1, 2, last, 1 + len(plan.columns), rule)
        hidden = book.add_worksheet(PLAN)
        hidden.hide()
        hidden.write_string(0, 0, MARK)
        hidden.write_string(1, 0, plan.code)
        text = plan.text()
        for number in range(0, len(text), _CELL):
            hidden.write_string(2 + number // _CELL, 0, text[number : number + _CELL])
