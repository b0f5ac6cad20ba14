"""The command line: the same calls as the notebooks, without a browser.

Exit codes: 0 done; 1 done, and what was found falls short; 2 the input cannot be
used (one line says which file, which line and what to do), or the machine lacks disk or memory
for it; 3 an error that nobody foresaw (one line says where the report of it lies).
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.options import parser
from linestudy.practising import grade, practice
from linestudy.preparing import floor_sheet, format_help, new_from, tell_doubts
from linestudy.results import InputError, counted
from linestudy.results.guarding import strict
from linestudy.results.tables import names_as_given
from linestudy.running.command_lines import command_line
from linestudy.running.unforeseen import confined, of_the_machine, report
from linestudy.terminal import set_for_console, text_table, with_something

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import pandas as pd

    from linestudy.dossier.evaluation import Evaluation
    from linestudy.dossier.sealing.key_pair import SecretKey
    from linestudy.dossier.sealing.signature import SignatureCheck
    from linestudy.records import Records
    from linestudy.records.ledger import Ledger
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
    options = parser(_COMMANDS, _version()).parse_args(arguments)
    _print_on_any_console()
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        _readable_names(options)
        if run in _WORK and (line := confined()) is not None:
            return _refuse(line)
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
        line = of_the_machine(error)
        if line is not None:
            return _refuse(line)
        if strict():
            raise
        return _unforeseen(error, options)


def _version() -> str:
    import linestudy

    return linestudy.__version__


def _print_on_any_console() -> None:
    """Let the console replace signs it does not know, instead of failing.

    A task that a scheduler starts may have no console at all: what is said then goes nowhere.
    """
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _refuse(line: str) -> int:
    print(f"linestudy: {' '.join(line.split())}", file=sys.stderr)
    return UNUSABLE


def _readable_names(options: argparse.Namespace) -> None:
    """Refuse file names that are no valid text: they can be neither printed nor typeset."""
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


def _unforeseen(error: BaseException, options: argparse.Namespace) -> int:
    command = options.run.__name__.strip("_")
    file = report(error, command)
    what = type(error).__name__
    about = next((str(v) for v in vars(options).values() if isinstance(v, Path)), "this command")
    where = f"its report, which holds no data, is {file}" if file else "no report could be written"
    _refuse(f"{about}: {command} ended with an error that nobody foresaw ({what}); {where}")
    return UNFORESEEN


def _new(options: argparse.Namespace) -> int:
    if options.files:
        return new_from(options)
    from linestudy.study.starter import start_study

    folder = start_study(options.folder)
    print(f"A starter study is in {folder}.")
    print(
        f"Edit {folder / 'study.toml'}, put your files beside it, then: {command_line('check', folder)}"
    )
    return DONE


def _notebooks(options: argparse.Namespace) -> int:
    from linestudy.results.extras import require
    from linestudy.study.shipped import copy_notebooks

    folder = copy_notebooks(options.folder)
    print(f"The notebooks are in {folder / 'notebooks'}.")
    if options.rendered:
        from linestudy.dossier.working_papers import render_notebooks

        render_notebooks(folder, _tell)
        print(f"Pages without a kernel: {folder / 'rendered' / 'start_here.html'}")
    require("notebooks", "jupyterlab", purpose="opening them")
    print(f"Open them with: jupyter lab {folder / 'notebooks' / 'start_here.ipynb'}")
    return DONE


def _check(options: argparse.Namespace) -> int:
    if options.study.is_file() and options.study.name != "study.toml":
        from linestudy.records.infer.data_table import infer_data_table

        print(infer_data_table(options.study))
        return DONE
    from linestudy.dossier.evaluation import names_given
    from linestudy.records.read_files import read
    from linestudy.study import open_study

    study = open_study(options.study)
    records = read(study)
    with names_as_given(names_given(study, records)):
        _tell_records(study, records)
    return DONE


def _tell_records(study: Study, records: Records) -> None:
    from linestudy.dossier.doubts import doubts
    from linestudy.intake import missing_for_submission

    print(
        f"{study.head.title}: {counted(len(study.characteristics), 'characteristic')}, "
        f"{counted(len({data.file for data in study.data}), 'file')}\n"
    )
    print(text_table(with_something(records.ledger.shown())))
    print()
    values = records.ledger.values()
    aside = values[values["values"] > 0]
    for table in (aside, records.ledger.cells(), records.screening.shown()):
        if len(table):
            print(text_table(table))
            print()
    for line in doubts(study):
        print(set_for_console(f"Look at this: {line}"))
    tell_doubts(records)
    missing = missing_for_submission(study)
    if missing:
        print(set_for_console(missing))
    _tell_large_shares(records.ledger)
    print(records.ledger.statement)


def _tell_large_shares(ledger: Ledger) -> None:
    """Print each reason that excludes more than one reading in a hundred."""
    for item in ledger.large_shares():
        print(set_for_console(f"Look at this: {item.sentence}"))


def _dossier(options: argparse.Namespace) -> int:
    import time

    begin = time.perf_counter()
    from linestudy.dossier import write
    from linestudy.dossier.bag.writing import check_place
    from linestudy.dossier.doubts import reasons
    from linestudy.dossier.evaluation import evaluate
    from linestudy.dossier.forms.customer.filling import check_form
    from linestudy.results.extras import require
    from linestudy.study import open_study

    if options.with_notebooks:
        # Said before a study is evaluated, not after it.
        require("notebooks", "nbclient", "nbconvert", "ipykernel", purpose="--with-notebooks")
    # What is in the way is said before a minute of work, not after it.
    study = open_study(options.study)
    out = options.out or _beside(study.folder)
    check_place(out, study.folder)
    check_form(study)
    key = None if options.sign is None else _secret(options.sign)
    evaluation = evaluate(study, progress=_tell, look=tell_doubts)
    writing = time.perf_counter()
    written = write(
        evaluation,
        out,
        progress=_tell,
        papers=options.with_notebooks,
        replace=options.replace,
        sign=key,
    )
    evaluation.timings["dossier"] = time.perf_counter() - writing
    print()
    with names_as_given(evaluation.names()):
        print(text_table(_decisions(evaluation)))
        print()
        for line in reasons(evaluation):
            print(set_for_console(line))
    for name, role, gauge in evaluation.not_evaluated():
        by = f" by {gauge}" if gauge else ""
        print(f"Recorded, not yet evaluated: {name}, role {role}{by}.")
    print(f"Written: {written}")
    for name in ("dossier.pdf", "index.html", "workbook.xlsx", "form.xlsx", "results.json"):
        for path in sorted(written.rglob(name)):
            print(f"  {path}")
    if options.with_notebooks:
        print(f"  {written / 'data' / 'working_papers'}")
    print(f"Signed with key {key.public.name}." if key else "Not signed.")
    _tell_large_shares(evaluation.records.ledger)
    if options.timings:
        print()
        for package, seconds in evaluation.timings.items():
            print(f"{package:>12} {seconds:6.2f} s")
        print(f"{'all':>12} {time.perf_counter() - begin:6.2f} s (after start-up, on all cores)")
    return DONE


def _beside(folder: Path) -> Path:
    folder = folder.resolve()
    return folder.with_name(f"{folder.name}.dossier")


def _tell(stage: str) -> None:
    print(f"… {stage}", flush=True)


def _decisions(evaluation: Evaluation) -> pd.DataFrame:
    from linestudy.verdict import decision_table

    return with_something(decision_table(evaluation.study, evaluation.findings))


def _recompute(options: argparse.Namespace) -> int:
    from linestudy.dossier import recompute

    out: Path | None = options.details
    place = options.dossier.resolve()
    if out is not None and (
        out.is_dir() or not out.parent.is_dir() or out.resolve().is_relative_to(place)
    ):
        # Said before everything is computed, not after it.
        raise InputError(
            str(out), "is no place for a report", "give a file name outside the dossier"
        )
    seal = _seal(options)
    report = recompute(options.dossier, against=options.against, pictures=options.pictures)
    if seal is not None:
        print(seal)
    print(report)
    found = not report.agrees or report.remarks
    if out is None and found and (place / "bagit.txt").is_file():
        out = place.with_name(f"{place.name}.audit.txt")
    if out is not None:
        try:
            print(f"Details: {report.write(out)}")
        except OSError as error:
            if options.details is not None:
                raise
            # A dossier on a medium that nobody may write to.
            print(
                f"{out.name} could not be written beside the dossier ({(error.strerror or 'no reason given').lower()}):"
            )
            print(report.details())
    return DONE if report.agrees and not (seal and seal.objects) else FALLS_SHORT


def _seal(options: argparse.Namespace) -> SignatureCheck | None:
    """Check the signature of a dossier; a study folder has none."""
    from linestudy.dossier.sealing.key_pair import read_public
    from linestudy.dossier.sealing.signature import verify

    key = None if options.key is None else read_public(options.key)
    if not (options.dossier / "bagit.txt").is_file():
        return None
    return verify(options.dossier, key)


def _key(options: argparse.Namespace) -> int:
    from linestudy.dossier.sealing.key_pair import new_key, write_keys

    words = _new_passphrase() if options.passphrase else None
    key = new_key()
    secret, public = write_keys(options.name, key, words)
    print(f"Secret key: {secret} (keep it to yourself; whoever has it signs in your name)")
    print(f"Public key: {public} (give it to whoever receives your dossiers, not with a dossier)")
    print(f"Number of the key: {key.public.name}")
    return DONE


def _new_passphrase() -> str:
    import getpass

    words = getpass.getpass("Passphrase: ")
    if not words:
        raise InputError(
            "the passphrase", "is empty", "leave out --passphrase for a key without one"
        )
    if getpass.getpass("The same again: ") != words:
        raise InputError("the passphrase", "was typed in two ways", "run the command again")
    return words


def _secret(file: Path) -> SecretKey:
    import getpass

    from linestudy.dossier.sealing.key_pair import locked, read_secret

    return read_secret(file, getpass.getpass(f"Passphrase of {file}: ") if locked(file) else None)


def _log(options: argparse.Namespace) -> int:
    from linestudy.linelog import build_log
    from linestudy.log_evidence import evidence_of_log, may_be_written
    from linestudy.records.ledger import Ledger
    from linestudy.study import open_study

    study = open_study(options.study)
    out = options.evidence
    if out is not None:
        may_be_written(out)
    log = build_log(options.folder, study, progress=_tell)
    print(text_table(log.shown()))
    print(set_for_console(log.statement))
    _tell_large_shares(Ledger(log.accounts))
    if out is not None:
        evidence_of_log(study, log.folder, out, options.replace, _tell)
    return DONE


#: What runs each command.
_COMMANDS = {
    "check": _check,
    "dossier": _dossier,
    "grade": grade,
    "help": format_help,
    "key": _key,
    "log": _log,
    "new": _new,
    "notebooks": _notebooks,
    "practice": practice,
    "recompute": _recompute,
    "sheet": floor_sheet,
}
#: Those that load the numerical libraries.
_WORK = (_check, _dossier, _log, _recompute)


if __name__ == "__main__":
    sys.exit(main())
