"""Sound folders with extreme content: each ends in a dossier or in one line, never in anything else.

Studies are drawn from a numbered stream: every role, with numbers at the ends of what can be written
(1e308, 1e-320, five thousand digits), constants, coarse rounding, one row, empty columns, limits on one
side or none. Number 1,234 is the same folder on every machine.

``python tests/proof/extremes.py 10000`` goes on where the report ends and writes it every hundred
folders, so it may be broken off at any time; ``python tests/proof/extremes.py --show 1234`` writes that
one folder. Every folder is taken through all rooms, the document and the workbook; every fiftieth
through the command itself, pictures and PDF included.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

REPORT = Path(__file__).with_name("faults") / "extremes.json"
SECONDS = 120
WHOLE_EVERY = 50


class TookTooLong(BaseException):
    """A study that does not come to its end."""


def _folder(index: int) -> Any:
    """The study of a number; its module lies beside this one, which is also run as a script."""
    here = str(Path(__file__).parent)
    sys.path.insert(0, here)
    from extreme_studies import Folder

    sys.path.remove(here)
    return Folder(index)


def too_long(*_: object) -> None:
    raise TookTooLong


def whole(place: Path) -> int:
    """The command itself."""
    from linestudy.cli import main

    out, told = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(told):
        code = main(["dossier", str(place), "--out", str(place.with_name("out")), "--replace"])
    if code not in (0, 1, 2) or told.getvalue().count("\n") > 1:
        raise AssertionError(f"exit {code}: {told.getvalue()[:500]}")
    if code == 2 and "nobody foresaw" in told.getvalue():
        raise AssertionError(told.getvalue())
    return code


def without_setting(place: Path) -> int:
    """All rooms, the document, the numbers and the workbook, without pictures and PDF."""
    from linestudy.dossier.bag.writing import as_json
    from linestudy.dossier.content.contents import build
    from linestudy.dossier.evaluation import evaluate
    from linestudy.dossier.forms.workbook import write_workbook
    from linestudy.results import InputError

    try:
        evaluation = evaluate(place, progress=lambda stage: None)
    except InputError as refusal:
        if "\n" in str(refusal):
            raise AssertionError(str(refusal)) from None
        return 2
    as_json(evaluation.results())
    build(evaluation)
    write_workbook(evaluation, place / "book.xlsx")
    for account in evaluation.records.ledger.accounts:
        assert account.rows_read == account.rows_used + sum(account.set_aside.values())
    FAILED.update(
        f"{finding.method}: {finding.reason}"
        for _, finding in evaluation.findings.items()
        if getattr(finding, "reason", "").startswith("It could not be computed")
    )
    return 0


#: Methods that failed numerically, and how often, in this process.
FAILED: Counter[str] = Counter()


def one(index: int, place: Path) -> tuple[str, str]:
    """Outcome of one folder: "written", "refused" or "failed", and where it failed."""
    shutil.rmtree(place, ignore_errors=True)
    study = place / "study"
    _folder(index).write(study)
    run: Callable[[Path], int] = whole if index % WHOLE_EVERY == 0 else without_setting
    # Of the processor: on a machine that others use too the clock says nothing.
    before = signal.signal(signal.SIGPROF, too_long)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        code = run(study)
    except TookTooLong:
        return "failed", f"more than {SECONDS} s of the processor"
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        last = traceback.extract_tb(error.__traceback__)[-1]
        ours = [f for f in traceback.extract_tb(error.__traceback__) if "/linestudy/" in f.filename]
        at = ours[-1] if ours else last
        words = " ".join(str(error).split())[:160]
        where = at.filename.split("/linestudy/")[-1]
        return "failed", f"{type(error).__name__} at {where}:{at.name}: {words}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
    return ("refused" if code == 2 else "written"), ""


def go_on(last: int, seconds: float = 1e9, report: Path | None = REPORT) -> dict[str, Any]:
    """Take folders up to number `last`, from where the report ends.

    Parameters
    ----------
    last : int
    seconds : float
        Breaks off after this time.
    report : pathlib.Path, optional
        Where to begin from and what to write to; None begins at nought and writes nothing.

    Returns
    -------
    dict
        Keys ``folders``, ``written``, ``refused``, ``failures``, ``could_not_be_computed``.
    """
    os.environ["LINESTUDY_STRICT"] = "0"
    # Small tables gain nothing from a second process, and an alarm rings in this one only.
    os.environ["LINESTUDY_WORKERS"] = "1"
    state: dict[str, Any] = {
        "folders": 0,
        "written": 0,
        "refused": 0,
        "failures": {},
        "could_not_be_computed": {},
    }
    if report is not None and report.is_file():
        state = json.loads(report.read_text(encoding="utf-8"))
    FAILED.clear()
    FAILED.update(state["could_not_be_computed"])
    begin = time.monotonic()
    with tempfile.TemporaryDirectory() as place:
        while state["folders"] < last and time.monotonic() - begin < seconds:
            index = state["folders"]
            outcome, where = one(index, Path(place) / "one")
            state["folders"] += 1
            if outcome == "failed":
                state["failures"][str(index)] = where
                print(f"{index}: {where}", flush=True)
            else:
                state[outcome] += 1
            if state["folders"] % 100 == 0 or state["folders"] == last:
                _write(state, report)
    _write(state, report)
    return state


def _write(state: dict[str, Any], report: Path | None) -> None:
    state["could_not_be_computed"] = dict(sorted(FAILED.items()))
    if report is not None:
        rough = report.with_suffix(".new")
        rough.write_text(json.dumps(state, indent=1) + "\n", encoding="utf-8")
        rough.replace(report)


if __name__ == "__main__":
    if sys.argv[1] == "--show":
        _folder(int(sys.argv[2])).write(Path(sys.argv[3] if len(sys.argv) > 3 else "shown"))
    else:
        found = go_on(int(sys.argv[1]), report=Path(sys.argv[2]) if len(sys.argv) > 2 else REPORT)
        print({key: value for key, value in found.items() if isinstance(value, int)})
