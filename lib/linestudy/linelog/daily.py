"""What a line log tells each morning: days, coils and streams, against limits frozen from the study, with a picture."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from linestudy.linelog.by_group import made_by_group, shown_by_group
from linestudy.linelog.frozen import FrozenLimits, alarms, frozen_limits
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.linelog.summary import LogSummary
    from linestudy.results.picture import Picture
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic


@dataclass(frozen=True)
class Daily:
    """Days, coils and streams of one characteristic.

    Attributes
    ----------
    item : Characteristic
    made : pandas.DataFrame
        As :func:`~linestudy.linelog.by_group.made_by_group` makes it.
    limits : dict of str to FrozenLimits
        From the study's own run; empty where it has none.
    alarms : tuple of str
        Days with more points beyond them than chance gives.
    """

    item: Characteristic
    made: pd.DataFrame = field(repr=False)
    limits: dict[str, FrozenLimits]
    alarms: tuple[str, ...]

    @property
    def shown(self) -> pd.DataFrame:
        """The table as text."""
        return shown_by_group(self.made)

    @property
    def said(self) -> str:
        """What the points are held against, and the alarms."""
        if not self.limits:
            return "The study's run gives no control limits, so no point is held against any."
        first = next(iter(self.limits.values()))
        text = f"Control limits are frozen from the study ({first.subgroups:,} subgroups)."
        if not self.alarms:
            return f"{text} No day alarms."
        return "\n".join([text, *(f"ALARM: {one}" for one in self.alarms)])

    def record(self) -> dict[str, Any]:
        """What the evidence file keeps."""
        import numpy as np

        rows = [
            {
                str(k): None if isinstance(v, float) and not np.isfinite(v) else v
                for k, v in row.items()
            }
            for row in self.made.to_dict("records")
        ]
        limits = {
            name: {"centre": one.centre, "lower": one.lower, "upper": one.upper, "size": one.size}
            for name, one in self.limits.items()
        }
        return {"made": rows, "limits": limits, "alarms": list(self.alarms)}


def daily(study: Study, summary: LogSummary) -> dict[str, Daily]:
    """Tell what each day, coil and stream of a log made, for every characteristic.

    Parameters
    ----------
    study : Study
        Its own run gives the control limits, where its files are there.
    summary : LogSummary
        Of the log.

    Returns
    -------
    dict of str to Daily
        By characteristic id.

    See Also
    --------
    evaluate_log : Charts and tests of the whole log.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``.
    """
    from linestudy.linelog.build import run_of
    from linestudy.records.read_files import read

    data = run_of(study)
    words = {**dict.fromkeys(data.accept, True), **dict.fromkeys(data.reject, False)}
    try:
        records = read(study)
    except InputError:
        # The log stands for itself where the study's own files are elsewhere.
        records = None
    found = {}
    for scale in summary.scale:
        item = study.characteristic(scale.id)
        limits = {} if records is None else frozen_limits(study, records, item)
        signals = alarms(summary.subgroups(item.id), limits, item.unit or "") if limits else []
        made = made_by_group(summary, item, limits=limits, words=words)
        found[item.id] = Daily(item, made, limits, tuple(signals))
    return found


def daily_picture(found: dict[str, Daily]) -> Picture:
    """Draw the means of days and streams with their spread, between tolerance and control limits."""
    from linestudy.figures.line_log import days_and_streams

    return days_and_streams(
        {
            one.item.name: (
                one.made,
                (one.item.lower, one.item.upper),
                {name: (x.lower, x.upper) for name, x in one.limits.items()},
                one.item.unit or "",
            )
            for one in found.values()
        }
    )
