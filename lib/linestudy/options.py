"""What the commands are called with."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path


def parser(
    run: Mapping[str, Callable[[argparse.Namespace], int]], version: str
) -> argparse.ArgumentParser:
    """Make the parser of the command line.

    Parameters
    ----------
    run : mapping of str to callable
        What runs each command, by its name.
    version : str
        Of the kit.

    Returns
    -------
    argparse.ArgumentParser
        Its result has `run`, to be called with it.
    """
    made = argparse.ArgumentParser(
        prog="linestudy",
        description="Gauges, stability and capability of a line that measures every part.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="A study is a folder with study.toml, which says what is claimed and what each file holds, and the files.\n\n"
        "Example, from nothing to a submission that anybody can recompute:\n"
        "  linestudy new my_study\n"
        "  linestudy check my_study\n"
        "  linestudy dossier my_study --out my_dossier\n"
        "  linestudy recompute my_dossier\n\n"
        "Exit codes: 0 done; 1 done, and what was found falls short; 2 unusable input, or no room\n"
        "on the machine; 3 an unforeseen error, whose report lies where the last line says.",
    )
    made.add_argument("--version", action="version", version=f"linestudy {version}")
    commands = made.add_subparsers(required=True, metavar="COMMAND")

    def command(name: str, purpose: str, example: str) -> argparse.ArgumentParser:
        """Add a command with what it does and how it is typed."""
        begin = f"{purpose[0].upper()}{purpose[1:]}."
        return commands.add_parser(
            name, help=purpose, description=begin, epilog=f"Example: linestudy {example}"
        )

    new = command(
        "new",
        "write a commented starter study into a new folder, or a study of your own files",
        "new my_study --from log.csv msa.xlsx",
    )
    new.add_argument(
        "folder", type=Path, help="folder to be made, or one that holds a study already"
    )
    new.add_argument(
        "--from",
        dest="files",
        type=Path,
        nargs="+",
        metavar="FILE",
        help="draft the study out of these files: records, gauge sheets, the drawing's list of characteristics; "
        "what no file says is asked. Of a study that is there already only what it lacks is added",
    )
    new.add_argument(
        "--defaults", action="store_true", help="with --from: ask nothing, take what is proposed"
    )
    new.set_defaults(run=run["new"])

    notebooks = command(
        "notebooks",
        "copy the notebooks and the sample data into a new folder",
        "notebooks my_notebooks",
    )
    notebooks.add_argument(
        "folder", type=Path, help="folder to be made for notebooks and sample data"
    )
    notebooks.add_argument(
        "--rendered",
        action="store_true",
        help="run them all too, on the sample study, and keep each as a page with its pictures (some minutes)",
    )
    notebooks.set_defaults(run=run["notebooks"])

    sheet = command(
        "sheet",
        "write a floor sheet to fill in; `new STUDY --from` reads it back by itself",
        "sheet my_study crossed width sheet.xlsx --gauge camera",
    )
    sheet.add_argument("study", type=Path, help="study folder")
    sheet.add_argument(
        "role",
        choices=[
            "crossed",
            "attribute",
            "reference",
            "paired",
            "nested",
            "drift",
            "run",
            "machine",
        ],
        help="what is measured or judged, as study.toml calls it",
    )
    sheet.add_argument("characteristic", help="its id in study.toml")
    sheet.add_argument(
        "out",
        type=Path,
        help="what to write: a name that ends in .xlsx, or in .pdf for paper with the workbook beside it",
    )
    sheet.add_argument("--gauge", action="append", default=[], help="its id; twice for role paired")
    sheet.add_argument(
        "--parts", type=int, help="how many parts, specimens of a coil, readings or subgroups"
    )
    sheet.add_argument(
        "--people", nargs="+", default=["A", "B", "C"], help="who measures or judges"
    )
    sheet.add_argument("--trials", type=int, default=3, help="how often each of them does")
    sheet.add_argument(
        "--masters", type=float, nargs="+", default=[], help="known values of masters"
    )
    sheet.add_argument(
        "--words", nargs=2, default=["ok", "not ok"], help="for judgements, accepted first"
    )
    sheet.add_argument("--paper", choices=["A4", "Letter"], default="A4", help="size of the sheet")
    sheet.set_defaults(run=run["sheet"])

    practice = command(
        "practice",
        "for a student: write a study of a line with hidden faults, to be judged",
        "practice my_practice --seed 7 --level 2 --self",
    )
    practice.add_argument("folder", type=Path, help="folder to be made")
    practice.add_argument("--seed", type=int, required=True, help="another number, another study")
    practice.add_argument(
        "--level",
        type=int,
        choices=[1, 2, 3, 4],
        default=1,
        help="two, four, six or nine faults (default 1)",
    )
    who = practice.add_mutually_exclusive_group()
    who.add_argument(
        "--self",
        action="store_true",
        help="without a teacher: the student's own `grade` opens the truth",
    )
    who.add_argument(
        "--teacher",
        type=Path,
        metavar="FILE",
        help="the teacher's file, which opens the truth; written if it is not there "
        "(default: FOLDER.teacher.toml). One file may serve a class",
    )
    practice.set_defaults(run=run["practice"])

    grade = command(
        "grade",
        "reveal the truth of a practice study and score decisions.toml",
        "grade my_practice",
    )
    grade.add_argument("folder", type=Path, help="a folder that `linestudy practice` wrote")
    grade.add_argument(
        "--teacher",
        type=Path,
        metavar="FILE",
        help="the teacher's file (default: FOLDER.teacher.toml)",
    )
    grade.add_argument(
        "--open",
        action="store_true",
        help="show the truth of a study without a teacher although not everything is decided",
    )
    grade.set_defaults(run=run["grade"])

    explain = command("help", "what every key of study.toml means", "help format")
    explain.add_argument("topic", choices=["format", "form"], help="what is to be explained")
    explain.set_defaults(run=run["help"])

    check = command(
        "check", "read everything, print the data record, compute nothing", "check my_study"
    )
    check.add_argument("study", type=Path, help="study folder, or a data file to look into")
    check.set_defaults(run=run["check"])

    dossier = command(
        "dossier", "the main job: from a study to a submission", "dossier my_study --out my_dossier"
    )
    dossier.add_argument("study", type=Path, help="study folder, or the study.toml in it")
    dossier.add_argument("--out", type=Path, help="where the dossier goes (default: STUDY.dossier)")
    dossier.add_argument(
        "--with-notebooks",
        action="store_true",
        help="run the submission notebooks too and bind them in as working papers; this runs the code in the "
        "study folder's own notebooks, so only for a folder you trust",
    )
    dossier.add_argument(
        "--replace",
        action="store_true",
        help="remove an older dossier at that place; without it the older one is kept beside, under its date",
    )
    dossier.add_argument(
        "--sign",
        type=Path,
        metavar="KEY",
        help="seal the dossier with a secret key made by `linestudy key`; without it, it is not signed",
    )
    dossier.add_argument("--timings", action="store_true", help="print the time per package")
    dossier.set_defaults(run=run["dossier"])

    recompute = command("recompute", "for the auditor: check every number", "recompute my_dossier")
    recompute.add_argument("dossier", type=Path, help="a dossier, or a study folder with --against")
    recompute.add_argument("--against", type=Path, help="TOML file of printed numbers")
    recompute.add_argument(
        "--pictures", action="store_true", help="draw every picture again too, and compare"
    )
    recompute.add_argument(
        "--key",
        type=Path,
        metavar="PUB",
        help="the sender's public key, to check the signature with",
    )
    recompute.add_argument(
        "--details",
        type=Path,
        metavar="FILE",
        help="where everything that was found goes (default, if anything was: DOSSIER.audit.txt beside it)",
    )
    recompute.set_defaults(run=run["recompute"])

    key = command("key", "make a key pair that dossiers are sealed with", "key our_plant")
    key.add_argument(
        "name", type=Path, metavar="NEW", help="name of it: writes NEW.key and NEW.pub"
    )
    key.add_argument(
        "--passphrase",
        action="store_true",
        help="ask for a passphrase that locks the secret key; else it lies open in its file, which only "
        "you may read",
    )
    key.set_defaults(run=run["key"])

    log = command(
        "log",
        "daily files into a partitioned log, resumable",
        "log our_log --study my_study --evidence evidence.json",
    )
    log.add_argument("folder", type=Path, help="folder of the log; made where there is none")
    log.add_argument(
        "--study", type=Path, required=True, help="study folder whose run describes the daily files"
    )
    log.add_argument(
        "--evidence",
        type=Path,
        metavar="FILE",
        help="judge stability over the whole log and write what was found as JSON",
    )
    log.add_argument(
        "--replace",
        action="store_true",
        help="remove an older evidence file; without it the older one is kept beside, under its date",
    )
    log.set_defaults(run=run["log"])
    return made
