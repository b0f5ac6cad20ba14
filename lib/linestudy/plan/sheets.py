"""Sheets to fill in, in random order, as csv files or as one workbook.

Random order keeps drift, warming up and memory from falling into one part or one person (AIAG MSA,
4th ed., ch. III asks for it). Every sheet has an empty column for the reading; the order in which rows
stand is the order in which to measure. A short run and a control chart are the exception: their order
is that of production.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from linestudy.numerics import generator
from linestudy.running.deprecation import old_keywords, renamed

if TYPE_CHECKING:
    import pandas as pd


def crossed_sheet(
    *,
    parts: int = 10,
    appraisers: tuple[str, ...] = ("A", "B", "C"),
    trials: int = 3,
    seed: int | None = None,
) -> pd.DataFrame:
    """Lay out a crossed gauge study, parts in random order within each round.

    Parameters
    ----------
    parts : int
        Number of parts, at least 2.
    appraisers : tuple of str
        Names of those who measure.
    trials : int
        How often each part is measured by each of them, at least 2.
    seed : int, optional
        Of the random order; the kit's own when absent, so that a second call gives the same sheet.

    Returns
    -------
    pandas.DataFrame
        Columns ``part``, ``appraiser``, ``trial`` and an empty ``value``, in the order in
        which to measure.

    Raises
    ------
    ValueError
        Fewer than two parts or trials, or no appraiser.

    See Also
    --------
    gauge_study_size : Which design is large enough.
    write_sheets : Keep it as a file.

    Notes
    -----
    AIAG MSA, 4th ed. (2010), ch. III asks for random order and for appraisers who do not know which
    part they measure.

    Examples
    --------
    >>> crossed_sheet(parts=2, appraisers=("A",), trials=2, seed=1).shape
    (4, 4)
    """
    if parts < 2 or trials < 2 or not appraisers:
        raise ValueError("A crossed study needs two parts, two trials and an appraiser at least.")
    return _rounds(parts, appraisers, trials, "value", generator(seed, "crossed sheet"))


def judgement_sheet(
    *,
    parts: int = 50,
    appraisers: tuple[str, ...] = ("A", "B", "C"),
    trials: int = 3,
    seed: int | None = None,
) -> pd.DataFrame:
    """Lay out judgements (good or bad), parts in random order within each round.

    Parameters
    ----------
    parts : int
        Number of parts, at least 2.
    appraisers : tuple of str
        Names of those who measure.
    trials : int
        How often each part is measured by each of them, at least 2.
    seed : int, optional
        Of the random order; the kit's own when absent, so that a second call gives the same sheet.

    Returns
    -------
    pandas.DataFrame
        Columns ``part``, ``appraiser``, ``trial`` and an empty ``judgement``.

    Raises
    ------
    ValueError
        Fewer than two parts or trials, or no appraiser.

    See Also
    --------
    write_sheets : Keep it as a file.

    Notes
    -----
    AIAG MSA, 4th ed. (2010), ch. III asks for random order and for appraisers who do not know which
    part they measure.

    Examples
    --------
    >>> judgement_sheet(parts=3, appraisers=("A", "B"), trials=2, seed=1).shape
    (12, 4)
    """
    if parts < 2 or trials < 2 or not appraisers:
        raise ValueError("Judgements need two parts, two trials and an appraiser at least.")
    return _rounds(parts, appraisers, trials, "judgement", generator(seed, "judgement sheet"))


@old_keywords(
    renamed("readings", "trials", since="0.3.0", removal="0.4.0"),
)
def masters_sheet(
    references: tuple[float, ...], *, trials: int = 12, seed: int | None = None
) -> pd.DataFrame:
    """Lay out readings for bias and linearity: every master read often, in random order.

    Parameters
    ----------
    references : tuple of float
        Known values of the masters, in their unit.
    trials : int
        Of each master.
    seed : int, optional
        Of the random order; the kit's own when absent, so that a second call gives the same sheet.

    Returns
    -------
    pandas.DataFrame
        Columns ``part``, ``reference`` and an empty ``value``.

    Raises
    ------
    ValueError
        No master, or fewer than two readings of each.

    See Also
    --------
    write_sheets : Keep it as a file.

    Examples
    --------
    >>> masters_sheet((2.76, 2.80, 2.84), trials=4, seed=1).shape
    (12, 3)
    """
    import pandas as pd

    if not references or trials < 2:
        raise ValueError("Bias needs a master and two readings of it at least.")
    order = generator(seed, "masters sheet").permutation(np.repeat(range(len(references)), trials))
    rows = [
        {"part": f"master {i + 1}", "reference": float(references[i]), "value": ""}
        for i in order.tolist()
    ]
    return pd.DataFrame(rows)


def paired_sheet(
    *, parts: int = 50, gauges: tuple[str, str] = ("camera", "cmm"), seed: int | None = None
) -> pd.DataFrame:
    """Lay out a comparison of two gauges that measure the same parts, in random order.

    Parameters
    ----------
    parts : int
        Number of parts, at least 10.
    gauges : (str, str)
        Names of the two columns to fill in.
    seed : int, optional
        Of the random order; the kit's own when absent, so that a second call gives the same sheet.

    Returns
    -------
    pandas.DataFrame
        Column ``part`` and one empty column per gauge.

    Raises
    ------
    ValueError
        Fewer than ten parts, or two gauges of one name.

    See Also
    --------
    write_sheets : Keep it as a file.

    Examples
    --------
    >>> list(paired_sheet(parts=10, seed=1))
    ['part', 'camera', 'cmm']
    """
    import pandas as pd

    if parts < 10 or gauges[0] == gauges[1]:
        raise ValueError(
            "Agreement needs ten parts at least, and two gauges with names of their own."
        )
    order = generator(seed, "paired sheet").permutation(parts) + 1
    return pd.DataFrame({"part": order, gauges[0]: "", gauges[1]: ""})


def nested_sheet(*, sizes: tuple[int, ...] = (3, 20), seed: int | None = None) -> pd.DataFrame:
    """Lay out readings that destroy: specimens of every coil, in random order within it.

    Parameters
    ----------
    sizes : tuple of int
        How many coils (batches, lots), and how many specimens of each; at least 2.
    seed : int, optional
        Of the random order; the kit's own when absent, so that a second call gives the same sheet.

    Returns
    -------
    pandas.DataFrame
        Columns ``coil``, ``specimen`` and an empty ``value``.

    Raises
    ------
    ValueError
        Fewer than two coils or specimens, or other than two numbers.

    See Also
    --------
    write_sheets : Keep it as a file.

    Examples
    --------
    >>> nested_sheet(sizes=(2, 3), seed=1).shape
    (6, 3)
    """
    import pandas as pd

    if len(sizes) != 2 or min(sizes) < 2:
        raise ValueError("Specimens nest in two coils at least, two of each.")
    coils, specimens = sizes
    rng = generator(seed, "nested sheet")
    rows = [
        {"coil": f"coil {coil + 1}", "specimen": int(number) + 1, "value": ""}
        for coil in range(coils)
        for number in rng.permutation(specimens)
    ]
    return pd.DataFrame(rows)


def drift_sheet(*, trials: int = 25) -> pd.DataFrame:
    """Lay out readings of one reference part over time, in the order in which they are taken.

    Parameters
    ----------
    trials : int
        How many readings, at least 2.

    Returns
    -------
    pandas.DataFrame
        Columns ``reading`` and an empty ``value``.

    Raises
    ------
    ValueError
        Fewer than two readings.

    See Also
    --------
    write_sheets : Keep it as a file.

    Examples
    --------
    >>> drift_sheet(trials=3)["reading"].tolist()
    [1, 2, 3]
    """
    import pandas as pd

    if trials < 2:
        raise ValueError("Drift shows between two readings at least.")
    return pd.DataFrame({"reading": np.arange(1, trials + 1), "value": ""})


@old_keywords(
    renamed("size", "subgroup_size", since="0.3.0", removal="0.4.0"),
)
def run_sheet(*, subgroups: int = 25, subgroup_size: int = 5, every: int = 250) -> pd.DataFrame:
    """Lay out a run measured by hand: which strokes to take, in production order.

    Parameters
    ----------
    subgroups : int
        Number of subgroups.
    subgroup_size : int
        Neighbouring parts in each.
    every : int
        Strokes from one subgroup to the next.

    Returns
    -------
    pandas.DataFrame
        Columns ``stroke``, ``subgroup`` and an empty ``value``. One subgroup of 100 is the sheet
        of a short run of the machine.

    Raises
    ------
    ValueError
        Subgroups that would overlap, or none.

    See Also
    --------
    sample_size : How many parts.
    write_sheets : Keep it as a file.

    Examples
    --------
    >>> run_sheet(subgroups=2, subgroup_size=3, every=100)["stroke"].tolist()
    [1, 2, 3, 101, 102, 103]
    """
    import pandas as pd

    if subgroups < 1 or subgroup_size < 1 or every < subgroup_size:
        raise ValueError(
            "Subgroups need a size, a number, and a distance not smaller than the size."
        )
    number = np.repeat(np.arange(subgroups), subgroup_size)
    strokes = number * every + np.tile(np.arange(subgroup_size), subgroups) + 1
    return pd.DataFrame({"stroke": strokes, "subgroup": number + 1, "value": ""})


def write_sheets(sheets: dict[str, pd.DataFrame], out: str | Path) -> list[Path]:
    """Write sheets as one workbook, or as csv files in a folder.

    Parameters
    ----------
    sheets : dict of str to pandas.DataFrame
        By name; a name becomes a sheet or a file.
    out : str or Path
        A file that ends in ``.xlsx``, or a folder, which is made.

    Returns
    -------
    list of Path
        What was written; nothing that is there already is overwritten.

    Raises
    ------
    ValueError
        No sheet, or a name that cannot be one of a file or a sheet.
    FileExistsError
        The workbook, or a file of the same name, is there already.

    See Also
    --------
    crossed_sheet, judgement_sheet, masters_sheet, paired_sheet, run_sheet : What is written.

    Examples
    --------
    >>> import tempfile
    >>> folder = tempfile.mkdtemp()
    >>> [path.name for path in write_sheets({"gauge": crossed_sheet(parts=2)}, folder)]
    ['gauge.csv']
    """
    if not sheets:
        raise ValueError("There is no sheet to write.")
    for name in sheets:
        if not name or len(name) > 31 or not all(c.isalnum() or c in " _-" for c in name):
            raise ValueError(f'"{name}" cannot name a sheet: letters, digits, space, _ and - may.')
    target = Path(out)
    if target.suffix.lower() == ".xlsx":
        _workbook(sheets, target)
        return [target]
    target.mkdir(parents=True, exist_ok=True)
    paths = [target / f"{name}.csv" for name in sheets]
    taken = [path.name for path in paths if path.exists()]
    if taken:
        raise FileExistsError(f"{taken[0]} is there already; take another folder")
    for path, sheet in zip(paths, sheets.values(), strict=True):
        sheet.to_csv(path, index=False)
    return paths


def _workbook(sheets: dict[str, pd.DataFrame], target: Path) -> None:
    import xlsxwriter

    if target.exists():
        raise FileExistsError(f"{target.name} is there already; take another name")
    # Text stays text: a part called "=1" is no formula.
    options = {"strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(target, options) as book:
        head = book.add_format({"bold": True, "bottom": 1})
        for name, sheet in sheets.items():
            page = book.add_worksheet(name)
            page.freeze_panes(1, 0)
            page.repeat_rows(0)
            for column, title in enumerate(sheet.columns):
                page.write_string(0, column, str(title), head)
                for row, value in enumerate(sheet[title].tolist(), start=1):
                    if isinstance(value, str):
                        page.write_string(row, column, value)
                    else:
                        page.write_number(row, column, value)


def _rounds(
    parts: int,
    appraisers: tuple[str, ...],
    trials: int,
    empty: str,
    rng: np.random.Generator,
) -> pd.DataFrame:
    import pandas as pd

    rows = [
        {"part": int(part) + 1, "appraiser": str(person), "trial": trial, empty: ""}
        for trial in range(1, trials + 1)
        for person in rng.permutation(appraisers)
        for part in rng.permutation(parts)
    ]
    return pd.DataFrame(rows)
