"""Commands that prepare a study: drafted from files, sheets to fill in, what study.toml may say."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.results import InputError
from linestudy.results.tables import typeset
from linestudy.running.command_lines import command_line

if TYPE_CHECKING:
    from linestudy.records.read_files import Records


def new_from(options: argparse.Namespace) -> int:
    """Draft a study from files, asking what they do not say."""
    from linestudy.intake.drafting import draft_by_questions

    draft_by_questions(options.folder, options.files, input, print, options.defaults)
    return 0


def floor_sheet(options: argparse.Namespace) -> int:
    """Write a floor sheet for one characteristic."""
    from linestudy.plan.floor_sheets import laid_out, write_floor_sheet
    from linestudy.study import open_study

    study = open_study(options.study)
    try:
        rows = laid_out(
            options.role,
            options.parts,
            people=tuple(options.people),
            trials=options.trials,
            masters=tuple(options.masters),
        )
        written = write_floor_sheet(
            study,
            options.role,
            options.characteristic,
            rows,
            options.out,
            gauges=tuple(options.gauge),
            words=tuple(options.words),
            paper=options.paper,
        )
    except (ValueError, FileExistsError) as error:
        raise InputError(
            str(options.out), str(error).rstrip("."), "see linestudy sheet --help"
        ) from None
    print(f"Written: {written}")
    book = written.with_suffix(".xlsx")
    if book != written:
        print(
            f"Written: {book}, the workbook of the same plan, to type in what was filled in by hand"
        )
    print(f"Filled in, it goes back with: {command_line('new', options.study, '--from', book)}")
    return 0


def format_help(options: argparse.Namespace) -> int:
    """Print what every key of study.toml means, or every name that a customer's form may ask for."""
    if options.topic == "form":
        from linestudy.dossier.forms.customer.names import listed

        print(listed())
        return 0
    from linestudy.study import model

    place = Path(model.__file__).with_name("FORMAT.md")
    print(place.read_text(encoding="utf-8"))
    print(f"This is {place}.")
    return 0


def tell_doubts(records: Records) -> None:
    """Report mixed units, names that may mean one thing, times and places that are doubtful, before anything is computed."""
    from linestudy.intake import (
        ambiguous_times,
        name_doubts,
        places_without_readings,
        unit_doubts,
    )

    for line in (
        *unit_doubts(records),
        *name_doubts(records),
        *ambiguous_times(records),
        *places_without_readings(records),
    ):
        print(typeset(f"Look at this: {line}", space=" ", minus="-"), flush=True)
