"""Write a dossier: everything beside its place first, then into place in one step."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier.bag.exchange import beside, into_place, kept_aside, put_back
from linestudy.dossier.bag.ownership import same_content, strange
from linestudy.dossier.evaluation import PACKAGES, Evaluation, evaluate
from linestudy.dossier.sealing.key_pair import SecretKey
from linestudy.dossier.sealing.signature import sign_folder
from linestudy.results import InputError
from linestudy.running.progress import watched

if TYPE_CHECKING:
    from linestudy.study.load import Study

#: What is said while a dossier is written.
_STAGES = ("pictures and workbook", "document and page", "checksums")


def write(
    evaluation: Evaluation | Study | str | Path,
    out: str | Path,
    *,
    progress: Callable[[str], None] | None = None,
    papers: bool = False,
    replace: bool = False,
    sign: SecretKey | None = None,
) -> Path:
    """Write document, page, workbook, results and inputs as a BagIt bag.

    Parameters
    ----------
    evaluation : Evaluation, Study, str or pathlib.Path
        What was found, or a study (or its folder) that is evaluated first.
    out : str or pathlib.Path
        The dossier's folder. An older dossier there is kept beside it under its date; a folder that holds
        anything this kit did not write is left alone.
    progress : callable, optional
        Called with what is being written.
    papers : bool
        Whether the submission notebooks are run on the study and kept in ``working_papers/``.
    replace : bool
        Whether an older dossier is removed instead of kept.
    sign : SecretKey, optional
        The key the dossier is sealed with (:mod:`linestudy.dossier.sealing.key_pair`); else it is not signed.

    Returns
    -------
    pathlib.Path
        The folder. ``data/`` holds dossier.pdf, index.html, workbook.xlsx, results.json,
        versions.txt (what all was made with) and ``study/`` with copies of the inputs.

    Raises
    ------
    InputError
        The study cannot be used, something that is not a dossier is in its place, or a notebook does not run.

    See Also
    --------
    linestudy.evaluate : Read a study and take it through all packages.
    linestudy.dossier.recompute : Check a dossier's files and compute every number again.

    Notes
    -----
    RFC 8493 with SHA-256 and SHA-512, by ``bagit``. The folder appears whole or not at
    all: it is made beside its place and swapped in (:mod:`linestudy.dossier.bag.exchange`).

    Examples
    --------
    >>> write("no/such/folder", "out")
    Traceback (most recent call last):
    linestudy.results.errors.InputError: no/such/folder: there is no such folder; ...

    ``notebooks/submission/7_dossier.ipynb`` writes the dossier of a study.
    """
    if progress is not None:
        return _write(evaluation, out, papers, replace, sign, progress)
    steps = len(_STAGES) + (0 if isinstance(evaluation, Evaluation) else len(PACKAGES) + 1)
    with watched(steps + Path(out).exists(), "writing") as tell:
        return _write(evaluation, out, papers, replace, sign, tell)


def _write(
    evaluation: Evaluation | Study | str | Path,
    out: str | Path,
    papers: bool,
    replace: bool,
    sign: SecretKey | None,
    tell: Callable[[str], None],
) -> Path:
    if not isinstance(evaluation, Evaluation):
        evaluation = evaluate(evaluation, progress=tell)
    target = Path(out)
    put_back(target)
    check_place(target, evaluation.study.folder)
    target.parent.mkdir(parents=True, exist_ok=True)
    aside = beside(target)
    try:
        if papers:
            from linestudy.dossier.working_papers import write_papers

            write_papers(evaluation.study, aside / "working_papers", tell)
        _fill(evaluation, aside, tell)
        if sign is not None:
            head = evaluation.study.head
            sign_folder(aside, sign, f"{head.part}, revision {head.revision}")
        for place in (aside, aside / "data"):
            place.chmod(0o755)
        # Much time may have passed: what is there now is looked at again.
        check_place(target, evaluation.study.folder)
        _settle(aside, target, replace, tell)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return target


def _settle(aside: Path, target: Path, replace: bool, tell: Callable[[str], None]) -> None:
    if not target.exists() or not any(target.iterdir()):
        into_place(aside, target)
    elif same_content(aside, target):
        into_place(aside, target)
        tell("the dossier that stood there had the same content")
    elif replace:
        into_place(aside, target)
        tell(f"the older dossier {target.name} was replaced")
    else:
        kept = kept_aside(aside, target)
        tell(f"the older dossier is kept as {kept.name}")


def check_place(target: Path, study: Path) -> None:
    """Refuse a place where something could be lost.

    Parameters
    ----------
    target : pathlib.Path
        Where a dossier is to go.
    study : pathlib.Path
        The study's folder.

    Raises
    ------
    InputError
        Something that this kit did not write is there, or the place lies in or around the study.
    """
    if target.exists() or target.is_symlink():
        found = strange(target)
        if found is not None:
            raise InputError(str(target), found, "choose another place with --out")
    home, place = study.resolve(), target.resolve()
    if place == home or home.is_relative_to(place) or place.is_relative_to(home):
        raise InputError(
            str(target), "lies in or around the study folder", "choose a place beside it"
        )


def _fill(evaluation: Evaluation, folder: Path, tell: Callable[[str], None]) -> None:
    import bagit

    from linestudy.dossier.content.contents import build
    from linestudy.dossier.content.drawing_pictures import drawn
    from linestudy.dossier.forms.customer.filling import FORM, fill_form
    from linestudy.dossier.forms.page import write_page
    from linestudy.dossier.forms.pdf import foot_of, write_pdf
    from linestudy.dossier.forms.printable_text import shortened
    from linestudy.dossier.forms.workbook import write_workbook

    tell(_STAGES[0])
    workbook = partial(write_workbook, evaluation, folder / "workbook.xlsx")
    document, pictures, _ = drawn(
        build(evaluation), workbook, partial(_numbers, evaluation, folder)
    )
    head = evaluation.study.head
    foot = foot_of(evaluation.study)
    tell(_STAGES[1])
    write_pdf(document, pictures, folder / "dossier.pdf", foot)
    write_page(document, pictures, folder / "index.html", foot)
    fill_form(evaluation, folder / FORM)
    _copy_inputs(evaluation, folder / "study")
    tell(_STAGES[2])
    info = {
        "Source-Organization": shortened(head.supplier or "not stated"),
        "External-Description": shortened(
            f"{head.title}: {head.part}, revision {head.revision}", 200
        ),
        "Bagging-Date": shortened(head.date or "not stated"),
    }
    bagit.make_bag(str(folder), info, checksums=["sha256", "sha512"])


def _numbers(evaluation: Evaluation, folder: Path) -> None:
    """Write all numbers, and the versions of what computed them."""
    from linestudy.dossier.bag.versions import lock

    (folder / "results.json").write_text(as_json(evaluation.results()), encoding="utf-8")
    (folder / "versions.txt").write_text(lock(), encoding="utf-8")


def as_json(content: dict[str, Any]) -> str:
    """Write results.json with sorted keys, full precision and no NaN: the same bytes for the same content."""
    text = json.dumps(content, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False)
    # A lone surrogate from a hostile file cannot be written as UTF-8.
    return text.encode("utf-8", "replace").decode("utf-8") + "\n"


def inputs_of(study: Study) -> tuple[str, ...]:
    """List the files of a study that go into its dossier: data, earlier results, attachments present, a form.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of str
        Names below the study folder, each once.
    """
    names = [data.file for data in study.data]
    names += [study.head.earlier] if study.head.earlier else []
    attached = [entry.file for entry in study.file.attachment if entry.file]
    names += [name for name in attached if (study.folder / name).is_file()]
    names += [study.file.form.file] if study.file.form else []
    return tuple(dict.fromkeys(name.replace("\\", "/") for name in names))


def _copy_inputs(evaluation: Evaluation, folder: Path) -> None:
    source = evaluation.study.folder
    folder.mkdir()
    shutil.copyfile(source / "study.toml", folder / "study.toml")
    for name in inputs_of(evaluation.study):
        copy = folder / name
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source / name, copy)
