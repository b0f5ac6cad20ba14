"""Drive a study through every package, in the order the data go."""

from __future__ import annotations

import importlib
import platform
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier import tolerances
from linestudy.results import Findings, Unjudged, plain
from linestudy.results.guarding import failed
from linestudy.running.progress import watched
from linestudy.running.threads import one_thread
from linestudy.running.workers import run_all, warm

if TYPE_CHECKING:
    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Packages with an ``evaluate``, in the order of the design; each sees what those before it found.
PACKAGES = ("gauges", "stability", "shape", "capability", "verdict")

#: Modules that evaluate, and that draw what was found.
_NEEDED = (*(f"linestudy.{package}.evaluation" for package in PACKAGES), "linestudy.figures.style")

#: Packages that look at nothing gauges find.
_WITHOUT_GAUGES = ("stability", "shape")


@dataclass
class Evaluation:
    """A study, what was recorded, and everything found about it.

    Attributes
    ----------
    study : Study
    records : Records
    findings : Findings
        All findings by characteristic and place.
    timings : dict of str to float
        Seconds spent per package, on whichever core.
    kit : dict of str to str, optional
        Versions to be named in place of those that run here: an auditor sets a document as its author did.
    """

    study: Study
    records: Records
    findings: Findings
    timings: dict[str, float] = field(default_factory=dict)
    kit: dict[str, str] | None = None

    @property
    def versions(self) -> dict[str, str]:
        """Versions that the numbers depend on: those named by `kit`, or else those that run here."""
        return kit_versions() if self.kit is None else self.kit

    def add(self, package: str, found: Findings, seconds: float) -> None:
        """Take over what a package found, and the time it took."""
        self.findings.update(found)
        self.timings[package] = self.timings.get(package, 0.0) + seconds

    def results(self) -> dict[str, Any]:
        """Return the content of results.json, format 2: full precision, no time stamps.

        Returns
        -------
        dict
            Keys ``format, kit, study, inputs, characteristics, joint, bins, verdict``,
            ``not_evaluated`` (what the folder holds that no method has read), ``settings`` (the sum of
            study.toml) and ``tolerances``.
        """
        from linestudy.records.files import sha256

        study = self.study
        characteristics = {}
        for item in study.characteristics:
            facts = {
                "name": item.name,
                "unit": item.unit,
                "nominal": item.nominal,
                "lower": item.lower,
                "upper": item.upper,
            }
            characteristics[item.id] = {**facts, **self.findings.nested(item.id)}
        content = {
            "format": 2,
            "kit": self.versions,
            "study": study.head.model_dump(),
            "settings": {"file": "study.toml", "sha256": sha256(study.folder / "study.toml")},
            "inputs": self.records.inputs(),
            "characteristics": characteristics,
            "not_evaluated": [list(entry) for entry in self.not_evaluated()],
            "tolerances": tolerances.table(),
            **self.findings.nested(None),
        }
        return dict(plain(content))

    def names(self) -> set[str]:
        """Give what people wrote in study.toml and as labels in the files: the document shows it as given."""
        return names_given(self.study, self.records)

    def not_evaluated(self) -> tuple[tuple[str, str, str], ...]:
        """List data that no method has read, as (characteristic, role, gauge)."""
        return tuple(
            (item, role, gauge)
            for item, role, gauge, places in _expected(self.study)
            if not any(self.findings.of(item, *place) for place in places)
        )


def _expected(
    study: Study,
) -> Iterator[tuple[str, str, str, tuple[tuple[str, ...], ...]]]:
    """Yield each characteristic, role and gauge of study.toml with the places its findings would have."""
    seen = set()
    for data in study.data:
        if data.role in ("bins", "layout"):
            continue
        names = [data.characteristic] if data.characteristic else list(data.columns)
        if data.long is not None:
            names = [item.id for item in study.characteristics]
        for name in names:
            gauge = "~".join(data.gauges) if data.gauges else data.gauge or ""
            key = (str(name), data.role, gauge)
            if key in seen:
                continue
            seen.add(key)
            yield (*key, _places(data.role, gauge))


def _places(role: str, gauge: str) -> tuple[tuple[str, ...], ...]:
    """Return the places in results.json where a finding from this role would be."""
    if role == "run":
        return (("stability",), ("capability",))
    if role == "machine":
        return (("capability", "machine"),)
    if role == "paired":
        return (("agreement", gauge),)
    if role == "attribute":
        return (("attribute",),)
    if role == "reference":
        names = ("bias", "linearity", "cg_cgk")
        return tuple(("gauges", gauge, name) for name in names)
    if role == "nested":
        return (("gauges", gauge, "nested"), ("capability",)) if gauge else (("capability",),)
    return (("gauges", gauge, role),)


#: Columns of a file that hold no names.
_NO_NAMES = frozenset(["image", "verdict", "reason", "trial"])


def names_given(study: Study, records: Records) -> set[str]:
    """Find what people wrote in study.toml and as labels in the files.

    Parameters
    ----------
    study : Study
    records : Records

    Returns
    -------
    set of str
    """
    found: set[str] = set()
    waiting: list[Any] = [study.file.model_dump()]
    while waiting:
        value = waiting.pop()
        if isinstance(value, str):
            found.add(value)
        elif isinstance(value, dict):
            waiting += [*value, *value.values()]
        elif isinstance(value, list | tuple):
            waiting += value
    for source in records.sources:
        texts = source.frame.select_dtypes(exclude=["number", "bool", "datetime", "datetimetz"])
        for column in texts.columns.difference(list(_NO_NAMES)):
            labels = texts[column].dropna().unique()
            found.update(str(getattr(one, "name", one)) for one in labels)
    return found


def kit_versions() -> dict[str, str]:
    """Return the versions of the packages that the numbers depend on."""
    from importlib.metadata import version

    import linestudy

    names = ("numpy", "scipy", "pandas", "statsmodels", "pingouin")
    return {
        "linestudy": linestudy.__version__,
        "python": ".".join(platform.python_version_tuple()[:2]),
        **{name: version(name) for name in names},
    }


def evaluate(
    study: Study | str | Path,
    records: Records | None = None,
    *,
    progress: Callable[[str], None] | None = None,
    look: Callable[[Records], None] | None = None,
) -> Evaluation:
    """Read a study and take it through gauges, stability, shape, capability and verdict.

    Parameters
    ----------
    study : Study, str or pathlib.Path
        An opened study, or its folder.
    records : Records, optional
        What was recorded, if it has been read already.
    progress : callable, optional
        Called with the name of each package as it begins; when absent, a notebook shows a bar.
    look : callable, optional
        Called with what was recorded once it has been read, before anything is computed; what it raises
        ends the evaluation.

    Returns
    -------
    Evaluation
        Its ``findings`` are walked by names, as ``findings.blade.stability.chart``; ``results()`` is
        what results.json holds.

    Raises
    ------
    InputError
        The folder or a file in it cannot be used.

    See Also
    --------
    linestudy.dossier.write : Write what was found as a submission.
    linestudy.read : Only read and screen the files.

    Notes
    -----
    A method that the data do not allow leaves an :class:`~linestudy.results.Unjudged` finding with the
    reason at its place; the rest goes on.

    Examples
    --------
    >>> evaluate("no/such/folder")
    Traceback (most recent call last):
    linestudy.results.errors.InputError: no/such/folder: there is no such folder; ...
    """
    if progress is not None:
        return _through_the_packages(study, records, progress, look)
    with watched(len(PACKAGES) + 1, "evaluating") as tell:
        return _through_the_packages(study, records, tell, look)


@one_thread()
def _through_the_packages(
    study: Study | str | Path,
    records: Records | None,
    tell: Callable[[str], None],
    look: Callable[[Records], None] | None,
) -> Evaluation:
    # A worker loads what it needs while this process reads.
    warm(*_NEEDED)
    from linestudy.records.read_files import read
    from linestudy.study import open_study

    opened = open_study(study) if isinstance(study, str | Path) else study
    begin = time.perf_counter()
    tell("records")
    records = records if records is not None else read(opened)
    if look is not None:
        look(records)
    # Events that name a time have their order numbers from the run.
    opened = records.timed(opened)
    evaluation = Evaluation(opened, records, Findings())
    evaluation.timings["records"] = time.perf_counter() - begin

    first, *rest = PACKAGES
    tell(first)
    # Gauges look at nothing that stability and shape find, nor these at gauges; nor does one
    # characteristic's stability or shape look at another's. All of them share the cores.
    tasks: list[Callable[[], dict[str, _Found]]] = [partial(_of_package, first, opened, records)]
    tasks += [partial(_of_characteristic, opened, records, item) for item in opened.characteristics]
    tasks += [partial(_of_bins, records)]
    parts = run_all(tasks, lambda number: tell("stability") if number == 0 else None)
    tell("shape")
    for package in (first, *_WITHOUT_GAUGES):
        for part in parts:
            if package in part:
                evaluation.add(package, *part[package])
    evaluation.findings.tell_over_one_number()
    for package in rest:
        if package not in _WITHOUT_GAUGES:
            tell(package)
            evaluation.add(
                package, *_of_package(package, opened, records, evaluation.findings)[package]
            )
    return evaluation


#: What a package found, and the seconds it took.
_Found = tuple[Findings, float]


def _of_package(
    package: str, study: Study, records: Records, findings: Findings | None = None
) -> dict[str, _Found]:
    begin = time.perf_counter()
    module = importlib.import_module(f"linestudy.{package}.evaluation")
    before = Findings() if findings is None else findings
    names = [item.id for item in study.characteristics]
    found = _or_unjudged(package, names, partial(module.evaluate, study, records, before))
    return {package: (found, time.perf_counter() - begin)}


def _or_unjudged(package: str, names: list[str], work: Callable[[], Findings]) -> Findings:
    """Return what a package finds; where it breaks off between its methods, that it could not be computed.

    Without a verdict there is no submission, so its failure is everybody's.
    """
    try:
        return work()
    except Exception as error:
        failure = failed(error) if package != "verdict" else None
        if failure is None:
            raise
        found = Findings()
        for name in names:
            found.add(name, (package,), Unjudged(_SAID[package], failure.reason))
        return found


#: What a package is called where it could say nothing at all.
_SAID = {
    "gauges": "Gauges",
    "stability": "Stability",
    "shape": "Distribution",
    "capability": "Capability",
}


def _of_bins(records: Records) -> dict[str, _Found]:
    """Evaluate what stability finds of the study as a whole."""
    from linestudy.stability.evaluation import of_study

    begin = time.perf_counter()
    found = _or_unjudged("stability", [], partial(of_study, records))
    return {"stability": (found, time.perf_counter() - begin)}


def _of_characteristic(study: Study, records: Records, item: Characteristic) -> dict[str, _Found]:
    """Evaluate one characteristic by the packages that need no gauge, each with what came before."""
    so_far, parts = Findings(), {}
    for package in _WITHOUT_GAUGES:
        begin = time.perf_counter()
        module = importlib.import_module(f"linestudy.{package}.evaluation")
        work = partial(module.of_characteristic, study, records, item, so_far)
        found = _or_unjudged(package, [item.id], work)
        so_far.update(found)
        parts[package] = found, time.perf_counter() - begin
    return parts
