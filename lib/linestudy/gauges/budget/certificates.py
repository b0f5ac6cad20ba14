"""Certificates of masters that had run out when the readings were taken.

A due date is compared with the day of the last reading of the run; where no clock was recorded, with the
date of the study. Source: ISO 10012:2003, 7.1 and 7.3 (metrological confirmation and traceability; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from typing import TYPE_CHECKING

from linestudy.results import counted

if TYPE_CHECKING:
    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


def day_of(text: str | None) -> date | None:
    """Read a day as people write it: 2026-12-31 or 31.12.2026.

    Parameters
    ----------
    text : str or None

    Returns
    -------
    datetime.date or None
        None where it is neither.

    Examples
    --------
    >>> day_of("31.12.2026") == day_of("2026-12-31")
    True
    """
    for layout in ("%Y-%m-%d", "%d.%m.%Y"):
        try:
            return datetime.strptime((text or "").strip()[:10], layout).date()
        except ValueError:
            continue
    return None


def measured_on(study: Study, records: Records, item: Characteristic) -> date | None:
    """Tell the day of the last reading of a characteristic's run, else the date of the study.

    Parameters
    ----------
    study : linestudy.study.load.Study
    records : linestudy.records.Records
    item : linestudy.study.model.Characteristic

    Returns
    -------
    datetime.date or None
    """
    run = records.table("run", item.id)
    if run is not None and "time" in run and run["time"].notna().any():
        last: date = run["time"].max().date()
        return last
    return day_of(study.head.date)


def run_out(study: Study, characteristic: str, gauge: str, when: date | None) -> tuple[str, ...]:
    """Say which certificates of the masters of a gauge had run out; the gauge's own is asked by the verdict.

    Parameters
    ----------
    study : linestudy.study.load.Study
    characteristic, gauge : str
        Ids.
    when : datetime.date or None
        Day of the readings; None tells nothing but dates that cannot be read.

    Returns
    -------
    tuple of str
        A sentence each.
    """
    said = []
    for name, due in _certificates(study, characteristic, gauge):
        day = day_of(due)
        if day is None:
            said.append(
                f'The due date "{due[:40]}" of {name} cannot be read; write it as 2026-12-31.'
            )
        elif when is not None and day < when:
            late = counted((when - day).days, "day")
            said.append(f"The certificate of {name} was due on {day}, {late} before the readings.")
    return tuple(said)


def _certificates(study: Study, characteristic: str, gauge: str) -> Iterator[tuple[str, str]]:
    for master in study.file.master:
        here = master.characteristic in (None, characteristic) and master.gauge in (None, gauge)
        if master.due and here:
            yield master.name, master.due
