"""The command line: the same calls as the notebooks, without a browser.

Exit codes: 0 done; 1 done, and what was found falls short; 2 the input cannot be
used (one line says which file, which line and what to do).
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.load import Study

DONE, FALLS_SHORT, UNUSABLE = 0, 1, 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after ``linestudy``; those of the process when absent.

    Returns
    -------
    int
        Exit code.
    """
    # Small matrices gain nothing from threads, which only spin; and one thread sums the same way
    # on every machine.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    options = _parser().parse_args(arguments)
    _speak_utf8()
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        return run(options)
    except InputError as error:
        return _refuse(str(error))
    except (PermissionError, FileExistsError, IsADirectoryError, NotADirectoryError) as error:
        return _refuse(f"{_name(error.filename)}: {_reason(error)}; choose another place")
    except OSError as error:
        return _refuse(f"{_name(error.filename)}: {_reason(error)}; check the disk and the path")
    except KeyboardInterrupt:
        return _refuse("stopped: nothing was written; run the command again")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="linestudy",
        description="Gauges, stability and capability of a line that measures every part.",
        epilog="Exit codes: 0 done; 1 done, and what was found falls short; 2 unusable input.",
    )
    parser.add_argument("--version", action="version", version=f"linestudy {_version()}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    new = commands.add_parser("new", help="write a commented starter study into a new folder")
    new.add_argument("folder", type=Path)
    new.set_defaults(run=_new)

    check = commands.add_parser("check", help="read everything, print the ledger, compute nothing")
    check.add_argument("study", type=Path, help="study folder, or a data file to look into")
    check.set_defaults(run=_check)

    dossier = commands.add_parser("dossier", help="the main job: from a study to a submission")
    dossier.add_argument("study", type=Path)
    dossier.add_argument("--out", type=Path, help="where the dossier goes (default: STUDY.dossier)")
    dossier.add_argument(
        "--with-notebooks",
        action="store_true",
        help="run the submission notebooks too and bind them in as working papers; this runs the code in the "
        "study folder's own notebooks, so only for a folder you trust",
    )
    dossier.add_argument("--timings", action="store_true", help="print the time per room")
    dossier.set_defaults(run=_dossier)

    recompute = commands.add_parser("recompute", help="for the auditor: check every number")
    recompute.add_argument("dossier", type=Path, help="a dossier, or a study folder with --against")
    recompute.add_argument("--against", type=Path, help="TOML file of printed numbers")
    recompute.add_argument(
        "--pictures", action="store_true", help="draw every picture again too, and compare"
    )
    recompute.set_defaults(run=_recompute)

    log = commands.add_parser("log", help="daily files into a partitioned log, resumable")
    log.add_argument("folder", type=Path)
    log.add_argument("--study", type=Path, required=True)
    log.add_argument(
        "--evidence",
        type=Path,
        metavar="FILE",
        help="judge stability over the whole log and write what was found as JSON",
    )
    log.set_defaults(run=_log)
    return parser


def _version() -> str:
    import linestudy

    return linestudy.__version__


def _speak_utf8() -> None:
    """A plant's console may not know every sign; replace those it does not, never fail."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _refuse(line: str) -> int:
    print(f"linestudy: {' '.join(line.split())}", file=sys.stderr)
    return UNUSABLE


def _name(filename: object) -> str:
    return Path(str(filename)).name if filename else "a file"


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()


def _new(options: argparse.Namespace) -> int:
    from linestudy.study.starter import start_study

    folder = start_study(options.folder)
    print(f"A starter study is in {folder}.")
    print(f"Edit {folder / 'study.toml'}, put your files beside it, then: linestudy check {folder}")
    return DONE


def _check(options: argparse.Namespace) -> int:
    if options.study.is_file() and options.study.name != "study.toml":
        from linestudy.records.propose import propose

        print(propose(options.study))
        return DONE
    from linestudy.records.read import read
    from linestudy.study import open_study

    study = open_study(options.study)
    records = read(study)
    print(
        f"{study.head.title}: {len(study.characteristics)} characteristics, "
        f"{len(study.data)} files\n"
    )
    print(_text_table(records.ledger.shown()))
    print()
    seen = records.screening.shown()
    if len(seen):
        print(_text_table(seen))
        print()
    print(records.ledger.statement)
    return DONE


def _dossier(options: argparse.Namespace) -> int:
    import time

    begin = time.perf_counter()
    from linestudy.dossier import write
    from linestudy.dossier.evaluation import evaluate

    evaluation = evaluate(options.study, progress=_tell)
    out = options.out or _beside(evaluation.study.folder)
    writing = time.perf_counter()
    written = write(evaluation, out, progress=_tell, papers=options.with_notebooks)
    evaluation.timings["dossier"] = time.perf_counter() - writing
    print()
    print(_text_table(_decisions(evaluation)))
    print()
    for name, role, gauge in evaluation.not_evaluated():
        by = f" by {gauge}" if gauge else ""
        print(f"Recorded, not yet evaluated: {name}, role {role}{by}.")
    print(f"Written: {written}")
    for name in ("dossier.pdf", "index.html", "workbook.xlsx", "results.json"):
        for path in sorted(written.rglob(name)):
            print(f"  {path}")
    if options.with_notebooks:
        print(f"  {written / 'data' / 'working_papers'}")
    if options.timings:
        print()
        for room, seconds in evaluation.timings.items():
            print(f"{room:>12} {seconds:6.2f} s")
        print(f"{'all':>12} {time.perf_counter() - begin:6.2f} s (after start-up, on all cores)")
    return DONE


def _beside(folder: Path) -> Path:
    folder = folder.resolve()
    return folder.with_name(f"{folder.name}.dossier")


def _tell(stage: str) -> None:
    print(f"… {stage}", flush=True)


def _decisions(evaluation: Evaluation):  # type: ignore[no-untyped-def]
    from linestudy.verdict import decision_table

    return decision_table(evaluation.study, evaluation.findings)


def _recompute(options: argparse.Namespace) -> int:
    from linestudy.dossier import recompute

    report = recompute(options.dossier, against=options.against, pictures=options.pictures)
    print(report)
    return DONE if report.agrees else FALLS_SHORT


def _log(options: argparse.Namespace) -> int:
    from linestudy.linelog import build_log
    from linestudy.study import open_study

    study = open_study(options.study)
    out = options.evidence
    if out is not None and (out.is_dir() or not out.parent.is_dir()):
        # Said before an hour of reading, not after it.
        raise InputError(
            str(out), "is no place for a file", "give a file name in an existing folder"
        )
    log = build_log(options.folder, study, progress=_tell)
    print(_text_table(log.shown()))
    print(log.statement)
    if out is not None:
        _evidence_of_log(study, log.folder, out)
    return DONE


def _evidence_of_log(study: Study, folder: Path, out: Path) -> None:
    import json

    from linestudy.linelog import evaluate_log, summarise_log

    summary = summarise_log(folder, study, progress=_tell)
    findings = evaluate_log(study, summary)
    print(_text_table(summary.shown()))
    content: dict[str, Any] = {"log": summary.record(), "characteristics": {}}
    for item in summary.scale:
        found = findings.of(item.id)
        print(f"\n{study.characteristic(item.id).name}")
        for path, finding in found.items():
            if path in _TOLD_OF_A_LOG:
                print(f"  {finding.statement}")
        content["characteristics"][item.id] = findings.nested(item.id)
    rough = out.with_name(f".{out.name}.new")
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, indent=1, allow_nan=False)
    rough.write_text(text + "\n", encoding="utf-8")
    rough.replace(out)
    print(f"\nWritten: {out}")


#: What is printed of a log; the file holds all.
_TOLD_OF_A_LOG = (
    ("stability",),
    ("stability", "autocorrelation"),
    ("stability", "change_points"),
    ("stability", "time_model"),
)


def _text_table(table) -> str:  # type: ignore[no-untyped-def]
    """A table for a terminal: left-aligned text, blank line free, no index."""
    from linestudy.results.finding import cell_text

    rows = [[str(column) for column in table.columns]]
    rows += [[cell_text(value) for value in row] for row in table.itertuples(index=False)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    rows.insert(1, ["-" * width for width in widths])
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    )


if __name__ == "__main__":
    sys.exit(main())
