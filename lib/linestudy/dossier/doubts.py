"""What in study.toml can be read and is still most likely a slip: listed by ``check`` and beside the decisions."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from linestudy.records.units import is_unit
from linestudy.results.tables import listed

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.events import Cause
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def doubts(study: Study) -> tuple[str, ...]:
    """Describe whatever in the study looks like a slip, one sentence each.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> from linestudy import open_study, start_study
    >>> import tempfile
    >>> doubts(open_study(start_study(tempfile.mkdtemp() + "/s")))
    ()
    """
    found = [line for item in study.characteristics for line in _of(item)]
    for gauge in study.gauges:
        if gauge.unit is not None and not is_unit(gauge.unit):
            found.append(_no_unit(f'gauge "{gauge.id}"', gauge.unit))
    for data in study.data:
        if data.unit is None:
            continue
        if not is_unit(data.unit):
            found.append(_no_unit(data.file, data.unit))
        for name in data.columns or filter(None, (data.characteristic,)):
            unit = study.characteristic(name).unit
            if unit not in (None, data.unit):
                found.append(
                    f'{data.file}: "{name}" is written in {data.unit} and turned into {unit}.'
                )
    return tuple(found)


def reasons(evaluation: Evaluation) -> tuple[str, ...]:
    """List why characteristics do not simply meet their requirement, and what the author should still do.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    tuple of str
        Lines for the console, a blank one last.
    """
    from linestudy.dossier.content.cautions.destinations import for_the_author
    from linestudy.dossier.content.sheet import sheets

    alike: dict[str, list[str]] = {}
    for one in sheets(evaluation):
        if one.reason:
            alike.setdefault(f"{one.decision}: {one.reason}", []).append(one.name)
    lines = [f"{_of_whom(names)}: {why}" for why, names in alike.items()]
    lines += [f"For the author: {line}" for line in for_the_author(evaluation)]
    lines += [
        f"For the author: {name}: {line}" if name != "all" else f"For the author: {line}"
        for name, line in causes_without_points(evaluation)
    ]
    return (*lines, "") if lines else ()


def causes_without_points(evaluation: Evaluation) -> list[tuple[str, str]]:
    """List the causes of study.toml that cover no point out of control, with the nearest point.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    list of (str, str)
        Characteristic, "all" where the cause names none, and the sentence.
    """
    study = evaluation.study
    found = []
    for entry in study.file.cause:
        if covers_a_point(evaluation, entry):
            continue
        first, last = entry.stretch
        nearest = min(
            _starts(evaluation, entry),
            key=lambda order: max(first - order, order - last),
            default=None,
        )
        there = "there is none" if nearest is None else f"the nearest begins at {nearest:,.0f}"
        named = study.characteristic(entry.characteristic).name if entry.characteristic else "all"
        sentence = (
            f'the cause "{entry.cause}" ({stretch_of(entry)}) covers no point out of control: {there}. '
            "A point is covered where the order number of its first part is named (notebook 4)."
        )
        found.append((named, sentence))
    return found


def covers_a_point(evaluation: Evaluation, entry: Cause) -> bool:
    """Check whether a cause of study.toml names the first part of a point out of control.

    Parameters
    ----------
    evaluation : Evaluation
    entry : linestudy.study.events.Cause

    Returns
    -------
    bool
    """
    first, last = entry.stretch
    return any(first <= order <= last for order in _starts(evaluation, entry))


def stretch_of(entry: Cause) -> str:
    """Write the order numbers that a cause is named for.

    Parameters
    ----------
    entry : linestudy.study.events.Cause

    Returns
    -------
    str
    """
    first, last = entry.stretch
    return f"at {first:,.0f}" if first == last else f"{first:,.0f} to {last:,.0f}"


def _starts(evaluation: Evaluation, entry: Cause) -> list[float]:
    """Order numbers at which points out of control begin, of the characteristics that a cause is about."""
    found = []
    for item in evaluation.study.characteristics:
        verdict: Any = evaluation.findings.get(item.id, "verdict")
        process = getattr(getattr(verdict, "facts", None), "process", None)
        if process is not None and entry.characteristic in (None, item.id):
            found += [point.order for point in process.points]
    return found


#: Characteristics of one decision and reason that a line names.
_NAMED = 3


def _of_whom(names: list[str]) -> str:
    """Name the characteristics a reason applies to; of many only the first, and how many others."""
    return listed(names) if len(names) <= _NAMED else f"{names[0]} and {len(names) - 1} others"


def _of(item: Characteristic) -> Iterator[str]:
    from linestudy.shape import FAMILIES

    where = f'characteristic "{item.id}"'
    known = ("auto", *FAMILIES)
    if item.family.lower() not in {name.lower() for name in known}:
        close = difflib.get_close_matches(item.family, known, n=1, cutoff=0.4)
        hint = f'; did you mean "{close[0]}"?' if close else f"; known: {', '.join(known)}."
        yield f'{where}: no distribution is called "{item.family}"{hint}'
    if item.unit is not None and not is_unit(item.unit):
        yield _no_unit(where, item.unit)
    if item.bound_above is not None:
        limit = (
            f"the upper limit {item.upper:g}"
            if item.upper is not None
            else f"the lower limit {item.lower:g}"
        )
        yield (
            f"{where}: the bound {item.bound_above:g} lies at or above {limit}, so it is "
            "taken as one that parts cannot exceed."
        )


def _no_unit(where: str, unit: str) -> str:
    return f'{where}: "{unit}" is no unit that is known here, so nothing can be turned into it.'
