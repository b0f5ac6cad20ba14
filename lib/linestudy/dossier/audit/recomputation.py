"""Recompute a dossier from its inputs alone, and say what does not agree.

In this order: the sums and the list of files; every number, each with the tolerance of its kind; then results.json
byte for byte, and page, PDF and workbook as they are set anew from the recorded numbers. Those have been held
against recomputation by then, so that a last digit of another processor accuses nobody and nothing else is let by.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.dossier.audit import check_bag
from linestudy.dossier.audit.documents.edges import Edges
from linestudy.dossier.audit.earlier_formats import compare_earlier, is_earlier
from linestudy.dossier.audit.numbers import (
    ABSENT,
    Comparison,
    compare,
    difference,
    dotted,
    leaf,
    shown,
)
from linestudy.dossier.audit.report import RecomputeReport
from linestudy.results import InputError
from linestudy.results.rounding import counted
from linestudy.running.progress import watched

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation


def recompute(
    folder: str | Path, *, against: str | Path | None = None, pictures: bool = False
) -> RecomputeReport:
    """Check a dossier's files and compute every number again.

    Parameters
    ----------
    folder : str or pathlib.Path
        A dossier; or, together with `against`, a study folder.
    against : str or pathlib.Path, optional
        TOML file of printed numbers (see :mod:`linestudy.dossier.audit.printed`).
    pictures : bool
        Whether every picture is drawn again and compared too, which takes about half as long again. Without
        it those of page and PDF are held against each other.

    Returns
    -------
    RecomputeReport
        ``agrees`` says whether all is as recorded; printed it is the lines that say what is not.

    Raises
    ------
    InputError
        Not a dossier, or the printed numbers cannot be read.

    See Also
    --------
    linestudy.dossier.write : Write a dossier.
    linestudy.dossier.make_tampered_copy : Make a dossier to practise on.

    Notes
    -----
    Checksums (RFC 8493) first, then every number from the inputs in the dossier, then document, page and
    workbook set anew from the numbers. Numbers may differ by what another processor's rounding does
    (:mod:`linestudy.dossier.tolerances`). It misleads whoever takes it for a proof of where the data come
    from: inputs that were made up recompute as well as honest ones.

    Examples
    --------
    >>> recompute("no/such/dossier")
    Traceback (most recent call last):
    linestudy.results.errors.InputError: no/such/dossier: is not a dossier; ...

    ``notebooks/audit/recompute_a_dossier.ipynb`` takes a dossier through it.
    """
    place = Path(folder)
    if not (place / "bagit.txt").is_file() and not (
        (place / "study.toml").is_file() and against is not None
    ):
        raise InputError(str(folder), "is not a dossier", _what_to_give(place))
    with watched(3, "recomputing") as tell:
        return _recomputed(place, against, pictures, tell)


def _what_to_give(place: Path) -> str:
    if place.is_file():
        return "unpack it if it is an archive, and give the folder that holds bagit.txt"
    if (place.parent / "bagit.txt").is_file():
        return "give the folder above, which holds bagit.txt"
    if (place / "study.toml").is_file():
        return "it is a study; its dossier is the folder that holds bagit.txt"
    return "give the folder that holds bagit.txt"


def _recomputed(
    place: Path, against: str | Path | None, pictures: bool, tell: Callable[[str], None]
) -> RecomputeReport:
    from linestudy.dossier.audit.printed import compare_printed, read_printed
    from linestudy.dossier.evaluation import evaluate

    # What the auditor himself has written is refused before anything is computed.
    entries = read_printed(Path(against)) if against is not None else None
    if not (place / "bagit.txt").is_file():
        assert entries is not None
        tell("numbers")
        lines, unexplained = compare_printed(evaluate(place).results(), entries)
        return RecomputeReport((), {}, (), lines, unexplained)
    tell("checksums")
    damaged = check_bag.damaged(place)
    restored = check_bag.with_line_ends_restored(place) if damaged else {}
    if restored:
        # Their own sums say what they were, so that all the rest is held as it was sent.
        with tempfile.TemporaryDirectory(prefix="linestudy-") as folder:
            copy = Path(shutil.copytree(place, Path(folder) / "dossier", symlinks=True))
            for name, content in restored.items():
                (copy / name).write_bytes(content)
            report = _recomputed(copy, against, pictures, tell)
        return replace(report, damaged=(_turned(list(restored)), *report.damaged))
    tell("numbers")
    try:
        evaluation = evaluate(place / "data" / "study")
    except InputError as error:
        # A missing or spoilt input is a finding about the dossier, not about the call.
        wrong, papers = check_bag.unexpected(place, None)
        sentences = (*damaged, *wrong, f"study cannot be evaluated: {error}")
        return RecomputeReport(tuple(dict.fromkeys(sentences)), {}, (), remarks=_papers(papers))
    lines, unexplained = (), 0
    if entries is not None:
        lines, unexplained = compare_printed(evaluation.results(), entries)
    tell("documents")
    return audit(place, evaluation, damaged, pictures, lines, unexplained)


def _turned(names: list[str]) -> str:
    few = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    return (
        f"line ends of {counted(len(names), 'file')} are not those that were written ({few}), as a transfer of texts turns "
        "them; put back, the sums of these files hold. Ask for the dossier in an archive"
    )


def audit(
    place: Path,
    evaluation: Evaluation,
    damaged: tuple[str, ...] = (),
    pictures: bool = False,
    printed: tuple[str, ...] = (),
    unexplained: int = 0,
) -> RecomputeReport:
    """Hold a dossier against an evaluation of its own inputs.

    Parameters
    ----------
    place : pathlib.Path
        The dossier.
    evaluation : Evaluation
        Recomputed from its inputs.
    damaged : tuple of str
        What its sums said.
    pictures : bool
    printed : tuple of str
    unexplained : int

    Returns
    -------
    RecomputeReport
    """
    from linestudy.dossier.audit.adopt import adopted

    data = place / "data"
    recomputed = json.loads(json.dumps(evaluation.results()))
    recorded, not_canonical = _recorded(data / "results.json")
    if is_earlier(recorded):
        earlier, sentences = compare_earlier(recorded, recomputed)
        return RecomputeReport(
            damaged=tuple(dict.fromkeys(damaged)),
            compared=earlier.compared,
            differences=tuple(earlier.differences),
            printed=printed,
            unexplained=unexplained,
            pictures=True,
            decisions=tuple(
                f"{item.place.split('.')[1]}: {item.recorded} recorded, {item.recomputed} recomputed"
                for item in earlier.differences
                if item.place.endswith(".verdict.decision")
            ),
            remarks=sentences,
            documents_held=False,
        )
    wrong, papers = check_bag.unexpected(place, evaluation.study)
    remarks = list(_papers(papers))
    documents = [*not_canonical, *check_bag.words_of_the_bag(place, evaluation.study)]
    if recorded is None:
        recorded, found = {}, Comparison()
        written = evaluation
    else:
        locked, other = check_bag.versions(data / "versions.txt", recorded.get("kit"))
        documents += locked
        if other:
            few = "; ".join(other[:4]) + ("; …" if len(other) > 4 else "")
            remarks.append(f"made with other versions than are installed here: {few}")
            recomputed["kit"] = _kit(recorded.get("kit"), recomputed["kit"])
            evaluation = replace(evaluation, kit=recomputed["kit"])
        found = compare(recorded, recomputed)
        written = adopted(evaluation, found.near)
    edges = Edges((old, leaf(recomputed, path)) for path, old in found.near.items())
    on_edge = _settle_words(found, recorded, recomputed, written, edges, remarks)
    if on_edge:
        written = adopted(evaluation, found.near | on_edge)
    remarks += _otherwise_shown(found, recomputed)
    named, near = _documents(written, data, pictures, edges)
    return RecomputeReport(
        damaged=tuple(dict.fromkeys((*damaged, *wrong))),
        compared=found.compared,
        differences=tuple(found.differences),
        printed=printed,
        unexplained=unexplained,
        documents=tuple(dict.fromkeys((*documents, *named))),
        pictures=pictures,
        decisions=_decisions(recorded, recomputed),
        inputs=_inputs(recorded, recomputed),
        remarks=tuple(dict.fromkeys((*remarks, *near))),
    )


def _papers(papers: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(
        f"{name} is a seal: it was not verified here"
        if name == check_bag.SEAL
        else f"{name} is a working paper, made by running a notebook: nothing in it was checked"
        for name in papers
    )


def _recorded(file: Path) -> tuple[dict[str, Any] | None, tuple[str, ...]]:
    """Read results.json, and report whether its bytes are those this content is written in."""
    from linestudy.dossier.bag.writing import as_json

    if not file.is_file():
        return None, ()
    text = check_bag.text_of(file)
    try:
        content = json.loads(text, parse_constant=_refuse)
        again = as_json(content)
    except (ValueError, RecursionError):
        return None, ("results.json: cannot be read as JSON",)
    if not isinstance(content, dict):
        return None, ("results.json: holds no table",)
    if again != text:
        return content, (
            "results.json: is not written as its content is (a key twice, another order, other digits)",
        )
    return content, ()


def _refuse(constant: str) -> Any:
    raise ValueError(constant)


def _kit(recorded: Any, here: dict[str, str]) -> dict[str, str]:
    """Return the versions as recorded, with the names that this kit lists; the lock was compared before."""
    if isinstance(recorded, dict) and all(isinstance(value, str) for value in recorded.values()):
        return {name: recorded.get(name, version) for name, version in here.items()}
    return here


def _settle_words(
    found: Comparison,
    recorded: Any,
    recomputed: Any,
    written: Evaluation,
    edges: Edges,
    remarks: list[str],
) -> dict[Any, Any]:
    """Hold words against what the recorded numbers say; what differs still is a difference.

    Words that were kept when a number was computed differ where it lies on an edge: these are returned.
    """
    if not found.words:
        return {}
    said = json.loads(json.dumps(written.results())) if found.near else recomputed
    on_edge = {}
    for path in found.words:
        old, new = leaf(recorded, path), leaf(recomputed, path)
        if old == leaf(said, path):
            if path[-1] == "decision":
                remarks.append(f"{dotted(path)} hangs on a last digit: {old}, recomputed {new}")
        elif edges.explain(old, str(leaf(said, path))):
            on_edge[path] = old
            remarks.append(f"{dotted(path)} has a digit on an edge: {shown(old)}")
        else:
            found.differences.append(difference(path, old, new))
    return on_edge


def _otherwise_shown(found: Comparison, recomputed: Any) -> list[str]:
    """List numbers that agree within their tolerance but are rounded differently for a reader."""
    from linestudy.results.rounding import show

    lines = []
    for path, old in found.near.items():
        new = leaf(recomputed, path)
        if show(old) != show(new):
            lines.append(
                f"{dotted(path)} agrees within its tolerance, and rounds otherwise: {old!r}, recomputed {new!r}"
            )
    return lines


def _decisions(recorded: Any, recomputed: Any) -> tuple[str, ...]:
    lines = []
    for key, facts in recomputed["characteristics"].items():
        path = ("characteristics", key, "verdict", "decision")
        old, new = leaf(recorded, path), leaf(recomputed, path)
        if old is not ABSENT and old != new:
            lines.append(f"{facts['name']}: {shown(old)} recorded, {shown(new)} recomputed")
    return tuple(lines)


def _inputs(recorded: Any, recomputed: Any) -> tuple[str, ...]:
    """List inputs that are not the files the recorded numbers were computed from."""
    lines = []
    old = {item.get("file"): item for item in recorded.get("inputs", []) if isinstance(item, dict)}
    for item in recomputed["inputs"]:
        before = old.get(item["file"])
        if before is not None and before.get("sha256") != item["sha256"]:
            lines.append(f"{item['file']} is not the file that the numbers were computed from")
    settings = [leaf(tree, ("settings", "sha256")) for tree in (recorded, recomputed)]
    if recorded and settings[0] != settings[1]:
        lines.append("study.toml is not the file that the numbers were computed from")
    return tuple(lines)


def _documents(
    evaluation: Evaluation, data: Path, pictures: bool, edges: Edges
) -> tuple[list[str], list[str]]:
    """Set page, PDF and workbook anew and compare."""
    from linestudy.dossier.audit.documents.check_page import (
        check_page,
        count_pictures,
        differing_pictures,
        images_of,
    )
    from linestudy.dossier.audit.documents.check_pdf import check_pdf
    from linestudy.dossier.audit.documents.check_workbook import check_form, check_workbook
    from linestudy.dossier.content.contents import build
    from linestudy.dossier.content.drawing_pictures import drawn
    from linestudy.dossier.forms.customer.filling import FORM
    from linestudy.dossier.forms.pdf import foot_of

    document, foot = build(evaluation), foot_of(evaluation.study)
    anew: dict[str, bytes] | None = None
    # Which pictures draw nothing is only known once they are drawn.
    if pictures or count_pictures(data / "index.html") != len(images_of(document)):
        document, anew, _ = drawn(document)
    page = check_page(document, foot, data / "index.html", edges)
    lines = [f"index.html: {line}" for line in page.lines]
    if anew is not None and page.pictures is not None:
        lines += [f"index.html: {line}" for line in differing_pictures(page.pictures, anew)]
    shown_there = page.pictures
    if shown_there is None:
        if anew is None:
            document, anew, _ = drawn(document)
        shown_there = anew
    in_pdf, near = check_pdf(document, shown_there, foot, data / "dossier.pdf", edges)
    in_book, near_too = check_workbook(evaluation, data / "workbook.xlsx", edges)
    in_form, near_form = check_form(evaluation, data / FORM, edges)
    lines += [f"dossier.pdf: {line}" for line in in_pdf]
    lines += [f"workbook.xlsx: {line}" for line in in_book]
    lines += [f"{FORM}: {line}" for line in in_form]
    return lines, [*page.edges, *near, *near_too, *near_form]
