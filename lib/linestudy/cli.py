"""The command line: the same calls as the notebooks, without a browser.

Exit codes: 0 done; 1 done, and what was found falls short; 2 the input cannot be
used (one line says which file, which line and what to do), or the machine lacks room
for it; 3 an error that nobody foresaw (one line says where the report of it lies).
"""

from __future__ import annotations

import argparse
import errno
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.core import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.load import Study

DONE, FALLS_SHORT, UNUSABLE, UNFORESEEN = 0, 1, 2, 3


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
        _readable_names(options)
        return run(options)
    except InputError as error:
        return _refuse(str(error))
    except KeyboardInterrupt:
        return _refuse("stopped: nothing was written; run the command again")
    except BrokenPipeError:
        # Whoever read what is printed has gone: there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return UNUSABLE
    except (SystemExit, GeneratorExit):
        raise
    # A library written in another language may end with what is no Exception.
    except BaseException as error:
        from linestudy.core.guarding import strict

        line = _of_the_machine(error)
        if line is not None:
            return _refuse(line)
        if strict():
            raise
        return _unforeseen(error, options)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="linestudy",
        description="Gauges, stability and capability of a line that measures every part.",
        epilog="Exit codes: 0 done; 1 done, and what was found falls short; 2 unusable input, or no room "
        "on the machine; 3 an unforeseen error, whose report lies where the last line says.",
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


def _readable_names(options: argparse.Namespace) -> None:
    """Names that are no text cannot be printed, nor given to what sets the document."""
    for value in vars(options).values():
        if not isinstance(value, Path):
            continue
        try:
            str(value.absolute()).encode()
        except UnicodeEncodeError:
            shown = str(value).encode("utf-8", "replace").decode()
            raise InputError(
                shown, "has a name that is not UTF-8 text", "rename the folder or file"
            ) from None


def _of_the_machine(error: BaseException) -> str | None:
    """One line where the machine, not the kit, stands in the way: disk, rights, memory."""
    seen: set[int] = set()
    at: BaseException | None = error
    while at is not None and id(at) not in seen:
        seen.add(id(at))
        if isinstance(at, MemoryError) or _no_room_to_load(at):
            return "there is not enough memory; close other programs, or give a smaller study"
        if isinstance(at, OSError):
            return f"{_name(at.filename)}: {_reason(at)}; {_todo(at)}"
        at = at.__cause__
    return None


def _no_room_to_load(error: BaseException) -> bool:
    """A library that cannot be loaded for want of memory says so in words only."""
    words = ("failed to map segment", "cannot allocate memory", "out of memory", "can't start new")
    return isinstance(error, ImportError | RuntimeError | OSError) and any(
        part in str(error).lower() for part in words
    )


def _name(filename: object) -> str:
    return Path(str(filename)).name if filename else "the disk"


def _reason(error: OSError) -> str:
    if error.errno == errno.ENOSPC:
        return "the disk is full"
    words = error.strerror or " ".join(str(error).split()) or type(error).__name__
    return words.lower()


def _todo(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "make room and run the command again; nothing that was there is damaged"
    place = PermissionError | FileExistsError | IsADirectoryError | NotADirectoryError
    return "choose another place" if isinstance(error, place) else "check the disk and the path"


def _unforeseen(error: BaseException, options: argparse.Namespace) -> int:
    from linestudy.core.unforeseen import report

    command = options.run.__name__.strip("_")
    file = report(error, command)
    what = type(error).__name__
    about = next((str(v) for v in vars(options).values() if isinstance(v, Path)), "this command")
    where = f"its report, which holds no data, is {file}" if file else "no report could be written"
    _refuse(f"{about}: {command} ended with an error that nobody foresaw ({what}); {where}")
    return UNFORESEEN


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
    print(_text_table(records.ledger.table()))
    print()
    seen = records.screening.table()
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
    from linestudy.records.linelog import build_log
    from linestudy.study import open_study

    study = open_study(options.study)
    out = options.evidence
    if out is not None and (out.is_dir() or not out.parent.is_dir()):
        # Said before an hour of reading, not after it.
        raise InputError(
            str(out), "is no place for a file", "give a file name in an existing folder"
        )
    log = build_log(options.folder, study, progress=_tell)
    print(_text_table(log.table()))
    print(log.statement)
    if out is not None:
        _evidence_of_log(study, log.folder, out)
    return DONE


def _evidence_of_log(study: Study, folder: Path, out: Path) -> None:
    import json

    from linestudy.records.log_sums import summarise_log
    from linestudy.stability.from_log import evaluate_log

    summary = summarise_log(folder, study, progress=_tell)
    findings = evaluate_log(study, summary)
    print(_text_table(summary.table()))
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
    ("stability", "serial"),
    ("stability", "steps"),
    ("stability", "time_model"),
)


def _text_table(table) -> str:  # type: ignore[no-untyped-def]
    """A table for a terminal: left-aligned text, blank line free, no index."""
    from linestudy.core.finding import cell_text

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
