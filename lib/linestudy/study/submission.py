"""Keys of study.toml that no method reads: what the document says of part, line, equipment, actions, attachments.

All of them are optional. What is missing is a blank line in the document.
"""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

Words = Annotated[str, Field(min_length=1, max_length=2_000)]
Name = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,63}$")]


def inside_the_folder(value: str) -> str:
    """Return the name of a file that lies in the study folder.

    Parameters
    ----------
    value : str

    Returns
    -------
    str

    Raises
    ------
    ValueError
        It names a folder, or leads out of the study folder.
    """
    path = PurePosixPath(value.replace("\\", "/"))
    if not path.parts:
        raise ValueError(f'"{value[:40]}" is a folder, not the name of a file')
    if path.is_absolute() or ".." in path.parts or ":" in path.parts[0]:
        raise ValueError("a file must lie inside the study folder")
    return value


class _Told(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Identification(_Told):
    """What the parts and the submission are called elsewhere."""

    drawing: Words | None = None
    drawing_date: Words | None = None
    change: Words | None = None
    supplier_code: Words | None = None
    order: Words | None = None
    reason: Words | None = None
    level: Words | None = None
    lot: Words | None = None
    contact: Words | None = None


class Line(_Told):
    """Where and how the run was made and sampled."""

    press: Words | None = None
    die: Words | None = None
    material: Words | None = None
    shift: Words | None = None
    operators: Words | None = None
    made: Annotated[int, Field(ge=0)] | None = None
    rejected: Annotated[int, Field(ge=0)] | None = None
    sampling: Words | None = None
    gauge_parts: Words | None = None
    surroundings: Words | None = None
    deviations: Words | None = None


class Master(_Told):
    """A master, or a set of them, with its certificate."""

    name: Words
    gauge: Name | None = None
    characteristic: Name | None = None
    expanded_uncertainty: Words | None = None
    certificate: Words | None = None
    due: Words | None = None


class Appraiser(_Told):
    """Somebody who measured or judged."""

    name: Words
    role: Words | None = None
    training: Words | None = None


class Action(_Told):
    """What is done about a finding, by whom, by when."""

    action: Words
    characteristic: Name | None = None
    by: Words | None = None
    date: Words | None = None
    done: Words | None = None


class Control(_Told):
    """One line of the control plan."""

    characteristic: Name
    gauge: Words | None = None
    size: Words | None = None
    frequency: Words | None = None
    chart: Words | None = None
    reaction: Words | None = None


class Attachment(_Told):
    """A document that belongs to the submission and is not judged here."""

    title: Words
    file: Words | None = None
    number: Words | None = None

    @field_validator("file")
    @classmethod
    def _inside(cls, value: str | None) -> str | None:
        return None if value is None else inside_the_folder(value)


class Layout(_Told):
    """Columns of a layout: every characteristic of the drawing in a row, measured once or a few times."""

    values: Annotated[tuple[Words, ...], Field(min_length=1, max_length=60)]
    number: Words | None = None
    name: Words | None = None
    nominal: Words | None = None
    lower: Words | None = None
    upper: Words | None = None
    spec: Words | None = None
    unit: Words | None = None
    gauge: Words | None = None

    @model_validator(mode="after")
    def _says_what_is_measured(self) -> Layout:
        if self.number is None and self.name is None:
            raise ValueError("layout needs the column number or the column name")
        return self


class Form(_Told):
    """The customer's own form, which is filled with results."""

    file: Words
    cells: dict[Words, Words] = Field(default_factory=dict, max_length=2_000)

    @field_validator("file")
    @classmethod
    def _is_a_workbook(cls, value: str) -> str:
        if not value.lower().endswith(".xlsx"):
            raise ValueError(
                f'"{value[:60]}" is no workbook that can be filled: it must end in .xlsx, which holds no macros'
            )
        return inside_the_folder(value)
