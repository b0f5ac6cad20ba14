"""The evidence of a line log: what is printed, the file that holds all, the picture of its days beside it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError
from linestudy.terminal import set_for_console, text_table

if TYPE_CHECKING:
    from linestudy.study.load import Study


def may_be_written(out: Path) -> None:
    """Check that the evidence can be written before the files are read, not an hour later.

    Parameters
    ----------
    out : pathlib.Path

    Raises
    ------
    InputError
        It is a folder, lies in none, or holds what this kit did not write.
    """
    if out.is_dir() or not out.parent.is_dir():
        raise InputError(
            str(out), "is no place for a file", "give a file name in an existing folder"
        )
    if os.path.lexists(out) and not _is_evidence(out):
        raise InputError(str(out), "is there and is no evidence of this kit", "give another name")
    if not _is_picture(_beside(out)):
        raise InputError(
            str(_beside(out)),
            "is there and is no picture of this kit",
            "give another name of the file",
        )


def _is_evidence(file: Path) -> bool:
    """Check whether a file was written by an earlier call, so that a newer one may take its name."""
    import json

    try:
        content = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return False
    return not file.is_symlink() and isinstance(content, dict) and set(content) == _EVIDENCE


_EVIDENCE = {"log", "characteristics"}


def _beside(out: Path) -> Path:
    """Name the picture of the days beside the evidence of a log."""
    return out.with_name(f"{out.stem}-days.png")


def _is_picture(file: Path) -> bool:
    """Check whether a picture may be written there: nothing is there, or a picture in a file of its own."""
    if not os.path.lexists(file):
        return True
    return file.is_file() and not file.is_symlink() and file.read_bytes()[:4] == b"\x89PNG"


def evidence_of_log(
    study: Study, folder: Path, out: Path, replace: bool, tell: Callable[[str], None]
) -> None:
    """Tell of a log day by day, and keep all of it in a file, with a picture beside it.

    Parameters
    ----------
    study : Study
    folder : pathlib.Path
        Of the log.
    out : pathlib.Path
        The file.
    replace : bool
        Whether older files of that name go.
    tell : callable
        Called with reports of progress.
    """
    import json

    from linestudy.linelog import evaluate_log, summarise_log
    from linestudy.linelog.by_group import daily, daily_picture
    from linestudy.results.picture import as_printed

    summary = summarise_log(folder, study, progress=tell)
    findings = evaluate_log(study, summary)
    days = daily(study, summary)
    print(text_table(summary.shown()))
    content: dict[str, Any] = {"log": summary.record(), "characteristics": {}}
    for item in summary.scale:
        found = findings.of(item.id)
        print(f"\n{study.characteristic(item.id).name}")
        for path, finding in found.items():
            if path in _TOLD_OF_A_LOG:
                print(set_for_console(f"  {finding.statement}"))
                for note in getattr(finding, "cautions", ()):
                    if " by itself: " in note:
                        print(set_for_console(f"    {note}"))
        print(text_table(days[item.id].shown))
        print(set_for_console(days[item.id].said))
        content["characteristics"][item.id] = findings.nested(item.id)
        content["characteristics"][item.id]["daily"] = days[item.id].record()
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, indent=1, allow_nan=False)
    _put(out, (text + "\n").encode("utf-8"), replace)
    with as_printed():
        picture = daily_picture(days).png()
    _put(_beside(out), picture, replace)


def _put(out: Path, content: bytes, replace: bool) -> None:
    """Write a file whole; another one that is there is kept under a dated name unless it is to be replaced."""
    rough = out.with_name(f".{out.name}.new")
    rough.write_bytes(content)
    if out.is_file() and not replace and out.read_bytes() != content:
        import shutil

        from linestudy.dossier.bag.exchange import dated

        kept = dated(out)
        # A copy first: at every moment the place holds a whole file.
        shutil.copy2(out, kept)
        print(f"The older {out.name} is kept as {kept.name}.")
    rough.replace(out)
    print(f"Written: {out}")


#: What is printed of a log; the file holds all.
_TOLD_OF_A_LOG = (
    ("stability",),
    ("stability", "autocorrelation"),
    ("stability", "change_points"),
    ("stability", "time_model"),
)
