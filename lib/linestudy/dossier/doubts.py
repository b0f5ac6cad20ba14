"""What in study.toml can be read and is still most likely a slip: said by ``check`` before anything is computed."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import TYPE_CHECKING

from linestudy.records.units import is_unit
from linestudy.results.tables import listed

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
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
    return (*lines, "") if lines else ()


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
