"""Fill the customer's form with the results of a study."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.dossier.forms.customer.names import on_offer
from linestudy.dossier.forms.customer.template import Template
from linestudy.results.tables import names_as_given

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation
    from linestudy.study.load import Study

#: What the filled form is called in a dossier.
FORM = "form.xlsx"


def check_form(study: Study) -> None:
    """Refuse a form that is hostile or cannot be filled, before anything is computed.

    Parameters
    ----------
    study : Study

    Raises
    ------
    InputError
        What is wrong with it, in a sentence.
    """
    if study.file.form is not None:
        Template(study)


def fill_form(evaluation: Evaluation, out: Path) -> None:
    """Write the customer's form, filled; nothing where the study names none.

    Parameters
    ----------
    evaluation : Evaluation
    out : pathlib.Path

    Raises
    ------
    InputError
        The form is hostile or cannot be filled.
    """
    if evaluation.study.file.form is not None:
        with names_as_given(evaluation.names()):
            Template(evaluation.study).fill(on_offer(evaluation), out)
