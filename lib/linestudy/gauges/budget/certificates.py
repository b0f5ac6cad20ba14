"""Certificates of masters: their uncertainty as written there, and those that had run out when the readings were taken.

A due date is compared with the day of the last reading of the run; where no clock was recorded, with the
date of the study. Source: ISO 10012:2003, 7.1 and 7.3 (metrological confirmation and traceability; from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime
from typing import TYPE_CHECKING

from linestudy.records.units import unit_factor
from linestudy.results import InputError, counted

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
    """Return the day of the last reading of a characteristic's run, else the date of the study.

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
            said.append(f"The certificate of {name} was due on {day}, {late} before the study.")
    return tuple(said)


#: A number, its unit, and somewhere the coverage factor: "0.0004 mm (k = 2)".
_UNCERTAINTY = re.compile(r"\s*±?\s*(\d+(?:[.,]\d+)?)\s*([^\s\d(;,]+)")
_COVERAGE = re.compile(r"k\s*=\s*(\d+(?:[.,]\d+)?)")


def uncertainty_written(text: str | None, unit: str | None) -> float | None:
    """Read a standard uncertainty from how a certificate's expanded uncertainty is written.

    Parameters
    ----------
    text : str or None
        For example ``"0.0004 mm (k = 2)"``; without a coverage factor it is two.
    unit : str or None
        Unit of the result.

    Returns
    -------
    float or None
        None where no number with a unit that fits can be read.

    Examples
    --------
    >>> uncertainty_written("0.4 µm (k = 2)", "mm")
    0.0002
    """
    found = _UNCERTAINTY.match(text or "")
    if found is None or unit is None:
        return None
    size = float(found[1].replace(",", "."))
    factor = _COVERAGE.search(text or "")
    coverage = 2.0 if factor is None else float(factor[1].replace(",", "."))
    try:
        size *= unit_factor(found[2], unit, "a certificate")
    except InputError:
        return None
    return size / coverage if size > 0 and coverage > 0 else None


def masters_uncertainty(study: Study, item: Characteristic, gauge: str | None) -> float | None:
    """Find the standard uncertainty that the [[master]] tables of a gauge state, the largest of several.

    Parameters
    ----------
    study : linestudy.study.load.Study
    item : linestudy.study.model.Characteristic
    gauge : str or None
        Id of the gauge.

    Returns
    -------
    float or None
        In the unit of the characteristic; None where none can be read.
    """
    stated = [
        uncertainty_written(master.expanded_uncertainty, item.unit)
        for master in study.file.master
        if master.characteristic in (None, item.id) and master.gauge in (None, gauge)
    ]
    known = [one for one in stated if one is not None]
    return max(known) if known else None


def certified_together(study: Study, characteristic: str, gauge: str) -> bool:
    """Say whether all masters of a gauge stand on one certificate, so that one calibration may have moved them alike.

    Parameters
    ----------
    study : linestudy.study.load.Study
    characteristic, gauge : str
        Ids.

    Returns
    -------
    bool
        False where no certificate is named.
    """
    named = {
        (master.certificate or "").strip().casefold()
        for master in study.file.master
        if master.characteristic in (None, characteristic) and master.gauge in (None, gauge)
    }
    return len(named) == 1 and "" not in named


def expired_of(
    study: Study, characteristic: str, gauge: str | None, when: date | None
) -> tuple[str, ...]:
    """Say which certificates of a gauge, or of its masters, had run out when the readings were taken.

    Parameters
    ----------
    study : linestudy.study.load.Study
    characteristic : str
        Its id.
    gauge : str or None
        Id of the gauge; None where the readings name none.
    when : datetime.date or None
        Day of the readings; None tells nothing.

    Returns
    -------
    tuple of str
        A sentence each, the gauge's own first; a date that cannot be read tells nothing.
    """
    if gauge is None or when is None:
        return ()
    about = study.gauge(gauge)
    own = [(about.name, about.due)] if about.due else []
    said = []
    for name, due in (*own, *_certificates(study, characteristic, gauge)):
        day = day_of(due)
        if day is not None and day < when:
            said.append(f"The certificate of {name} was due on {day}, before the study.")
    return tuple(said)


def _certificates(study: Study, characteristic: str, gauge: str) -> Iterator[tuple[str, str]]:
    for master in study.file.master:
        here = master.characteristic in (None, characteristic) and master.gauge in (None, gauge)
        if master.due and here:
            yield master.name, master.due
