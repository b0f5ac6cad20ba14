"""What a complete submission still lacks, in one sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.results.tables import listed

if TYPE_CHECKING:
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Data


def missing_for_submission(study: Study) -> str:
    """Say in one sentence what a complete submission still lacks.

    Parameters
    ----------
    study : Study
        From :func:`linestudy.open_study`.

    Returns
    -------
    str
        Empty where nothing is missing.

    Notes
    -----
    Complete is: readings of the process for every measured characteristic with limits; for each gauge that
    took them a crossed study of that characteristic and readings of masters (AIAG MSA, PPAP: measurement system studies,
    initial process studies); for one that is destroyed nested readings; for one that is judged a study of the
    judgements. Whether there are enough readings is for the verdict to say.

    Examples
    --------
    >>> from linestudy import open_study, start_study
    >>> import tempfile
    >>> print(missing_for_submission(open_study(start_study(tempfile.mkdtemp() + "/s"))))
    For a complete submission is missing: masters read by Camera for Blade width.
    """
    found: dict[str, list[str]] = {}
    for item in study.characteristics:
        for each in _of(study, item):
            # What is missing for several is said once.
            found.setdefault(each.removesuffix(item.name), []).append(item.name)
    lacking = [f"{what}{listed(names)}" for what, names in found.items()]
    lacking += [
        f"the file {name}, which is planned"
        for name in dict.fromkeys(data.file for data in study.planned)
    ]
    return f"For a complete submission is missing: {'; '.join(lacking)}." if lacking else ""


def _of(study: Study, item: Characteristic) -> list[str]:
    roles = {
        role: [d for d in study.data if d.role == role and _is_about(d, item)] for role in _ROLES
    }
    if item.is_attribute and not (item.unit or item.nominal is not None):
        if roles["attribute"]:
            return []
        return [f"judgements of {item.name}"]
    if item.lower is None and item.upper is None:
        limits = [f"the limits of {item.name}"]
        return limits if any(roles.values()) else [*limits, f"readings of {item.name}"]
    lacking = []
    if not any(roles[role] for role in ("run", "machine", "nested", "attribute")):
        lacking.append(f"readings of the process for {item.name}")
    taken = [data.gauge for role in ("run", "machine") for data in roles[role] if data.gauge]
    studied = {data.gauge for role in ("crossed", "reference", "drift") for data in roles[role]}
    gauges = list(dict.fromkeys([*taken, *(gauge for gauge in studied if gauge)]))
    if not gauges and not roles["nested"] and (roles["run"] or roles["machine"]):
        lacking.append(f"the name of the gauge that took the readings of {item.name}")
    for gauge in gauges:
        name = study.gauge(gauge).name
        if not any(data.gauge == gauge for data in roles["crossed"]):
            lacking.append(f"a crossed study of {name} for {item.name}")
        if not any(data.gauge == gauge for data in roles["reference"]):
            lacking.append(f"masters read by {name} for {item.name}")
    return lacking


_ROLES = ("run", "machine", "crossed", "nested", "reference", "drift", "paired", "attribute")


def _is_about(data: Data, item: Characteristic) -> bool:
    # Of a file with one reading a row study.toml may say which features it holds; else it is taken to hold all.
    in_rows = data.long is not None and not data.columns
    return item.id in data.columns or data.characteristic == item.id or in_rows
