"""Pages that are kept elsewhere in the project: copied into the site, their links to each other kept, others left as text."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

#: Page of the site by the file it is taken from.
PAGES = {
    "lib/linestudy/study/FORMAT.md": "files/format.md",
    "lib/linestudy/dossier/RESULTS.md": "files/results.md",
    "lib/linestudy/dossier/SIGNING.md": "files/signing.md",
    "tests/proof/REPORT.md": "proof/report.md",
    "tests/proof/OPERATING.md": "proof/operating.md",
    "tests/published/REGISTER.md": "proof/register.md",
    "lib/CHANGELOG.md": "changes.md",
    "DEVELOPERS.md": "developers.md",
}
_LINK = re.compile(r"(!?)\[([^\]]*)\]\(([^)\s]+)\)")


def take_pages(root: Path, source: Path) -> None:
    """Copy all of them.

    Parameters
    ----------
    root : pathlib.Path
        Of the project.
    source : pathlib.Path
        Folder of the site's source.
    """
    for name, page in PAGES.items():
        target = source / page
        target.parent.mkdir(parents=True, exist_ok=True)
        text = (root / name).read_text(encoding="utf-8")
        target.write_text(relinked(text, root, root / name, target, source), encoding="utf-8")


def relinked(text: str, root: Path, file: Path, target: Path, source: Path) -> str:
    """Lead links of a page to pages of the site; copy pictures; leave words where nothing of the site is meant.

    Parameters
    ----------
    text : str
    root, file, target, source : pathlib.Path
        The project, the file taken, where it goes, and the folder of the site's source.

    Returns
    -------
    str
    """

    def lead(found: re.Match[str]) -> str:
        mark, words, address = found.groups()
        if re.match(r"[a-z]+:|#", address):
            return found.group(0)
        path, _, anchor = address.partition("#")
        meant = (file.parent / path).resolve()
        inside = meant.relative_to(root).as_posix() if meant.is_relative_to(root) else ""
        if mark and meant.is_file():
            shutil.copy(meant, target.parent / meant.name)
            return f"![{words}]({meant.name})"
        if inside in PAGES:
            up = "../" * len(target.relative_to(source).parent.parts)
            return f"[{words}]({up}{PAGES[inside]}{'#' + anchor if anchor else ''})"
        return words

    return _LINK.sub(lead, text)
