"""Run many single changes of a dossier, and many honest dossiers, past the auditor, and count.

``python tests/proof/campaign.py CACHE`` runs both campaigns in full; what is done stands in CACHE, one line of JSON
each, so that a campaign that was broken off goes on. At the end ``report/audit/`` holds the counts.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import json
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
honest, tampers, _, tampers_pdf, _ = (
    importlib.import_module(name)
    for name in ("honest", "tampers", "tampers_page", "tampers_pdf", "tampers_numbers")
)
sys.path.remove(str(HERE))

REPORT = HERE / "report" / "audit"
#: Single changes of each class in the full campaign.
EACH = 40


class Auditor:
    """Audits changed copies of one dossier; what does not hang on the change is computed once."""

    def __init__(self, folder: Path) -> None:
        from linestudy.dossier import evaluate, write
        from linestudy.dossier.content.contents import build
        from linestudy.dossier.content.drawing_pictures import drawn
        from linestudy.dossier.forms.pdf import foot_of
        from linestudy.study import start_study

        self.folder = folder
        study = start_study(folder / "study")
        shutil.rmtree(study / "notebooks", ignore_errors=True)
        dossier = write(evaluate(study), folder / "honest")
        self.honest = {
            file.relative_to(dossier).as_posix(): file.read_bytes()
            for file in dossier.rglob("*")
            if file.is_file()
        }
        self._evaluations: dict[str, Any] = {}
        self._kept: dict[Any, Any] = {}
        first = self._evaluation(dossier, self.honest)
        document, pictures, _ = drawn(build(first))
        self.changes = dict(tampers.CHANGES)
        self.changes["pdf: set anew with a change"] = tampers_pdf.set_again(
            document, pictures, foot_of(first.study)
        )

    def _evaluation(self, place: Path, files: dict[str, bytes]) -> Any:
        from linestudy.dossier import evaluate
        from linestudy.results import InputError

        inputs = sorted((n, d) for n, d in files.items() if n.startswith("data/study/"))
        key = hashlib.sha256(repr(inputs).encode()).hexdigest()
        if key not in self._evaluations:
            # It reads its own files later too: they must stay.
            folder = self.folder / "studies" / key[:16]
            shutil.copytree(place / "data" / "study", folder, dirs_exist_ok=True)
            try:
                self._evaluations[key] = evaluate(folder, progress=lambda stage: None)
            except InputError as error:
                self._evaluations[key] = error
        return self._evaluations[key]

    @contextlib.contextmanager
    def _once(self) -> Iterator[None]:
        """What is asked again of the same content is computed once: the audit itself is left as it is."""
        from linestudy.dossier.audit.documents import check_page, check_pdf, check_workbook
        from linestudy.dossier.content import contents, drawing_pictures
        from linestudy.dossier.evaluation import Evaluation
        from linestudy.dossier.forms import page, pdf, workbook

        kept = self._kept
        patches: list[tuple[Any, str, Any]] = []

        def sum_of(value: Any) -> Any:
            """A key for one argument: content for files, pictures and words, the object itself for all else."""
            if isinstance(value, Path):
                data = value.read_bytes() if value.is_file() else b""
                return hashlib.sha256(data).hexdigest()
            if isinstance(value, dict):
                return hash(tuple(value.items()))
            if isinstance(value, str | bool):
                return value
            if type(value).__name__ == "Edges":
                # Of the same evaluation, which another argument names.
                return None
            # Kept alive, so that nothing else takes its number.
            kept["alive", id(value)] = value
            return id(value)

        def once(owner: Any, name: str, writes: int | None = None) -> None:
            original = getattr(owner, name)

            def quick(*arguments: Any) -> Any:
                named = [sum_of(a) for at, a in enumerate(arguments) if at != writes]
                key = (name, *named)
                if key not in kept:
                    found = original(*arguments)
                    kept[key] = found if writes is None else arguments[writes].read_bytes()
                elif writes is not None:
                    arguments[writes].write_bytes(kept[key])
                return kept[key]

            patches.append((owner, name, original))
            setattr(owner, name, quick)

        once(contents, "build")
        once(drawing_pictures, "drawn")
        once(page, "write_page", writes=2)
        once(pdf, "write_pdf", writes=2)
        once(workbook, "write_workbook", writes=1)
        once(check_page, "check_page")
        once(check_pdf, "check_pdf")
        once(check_workbook, "check_workbook")
        once(Evaluation, "results")
        try:
            yield
        finally:
            for owner, name, original in patches:
                setattr(owner, name, original)

    def audit(self, files: dict[str, bytes], pictures: bool = False) -> tuple[bool, str]:
        """Whether a dossier of these files agrees, and everything that was said."""
        from linestudy.dossier.audit.check_bag import damaged, unexpected
        from linestudy.dossier.audit.recomputation import audit
        from linestudy.results import InputError

        with tempfile.TemporaryDirectory(dir=self.folder) as aside, self._once():
            place = Path(aside) / "copy"
            for name, data in files.items():
                file = place / name
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(data)
            said = damaged(place)
            evaluation = self._evaluation(place, files)
            if isinstance(evaluation, InputError):
                return False, "\n".join((*said, *unexpected(place, None)[0], str(evaluation)))
            report = audit(place, evaluation, said, pictures)
        return report.agrees and not report.remarks, report.details()

    def one(self, name: str, number: int) -> dict[str, Any]:
        """One change: what was done, and whether it was named, only remarked on, or let by."""
        rng = Random(f"{name} {number}")
        while True:
            files = dict(self.honest)
            try:
                what = self.changes[name](files, rng)
            except Exception as error:
                # The tools that change it, not the auditor, gave up.
                why = f"{type(error).__name__}: {error}"
                return {"class": name, "number": number, "what": why, "outcome": "not made"}
            if files != self.honest:
                break
        tampers.renew(files)
        # The page's pictures are held against the PDF; drawn again where that is asked for.
        silent, said = self.audit(files)
        outcome = (
            "named"
            if said.startswith("Not everything") or not said.startswith("Everything")
            else "remarked"
        )
        if silent:
            drawn_silent, said = self.audit(files, pictures=True)
            outcome = "unnoticed" if drawn_silent else "named with pictures"
        return {"class": name, "number": number, "what": what, "outcome": outcome}


def lines(file: Path) -> list[dict[str, Any]]:
    """What a campaign has done so far; a last line that was broken off is left out."""
    found = []
    for line in file.read_text(encoding="utf-8").splitlines() if file.is_file() else ():
        with contextlib.suppress(ValueError):
            found.append(json.loads(line))
    return found


def tampering(cache: Path, each: int, tell: Any = print, first: int = 0) -> list[dict[str, Any]]:
    """Run `each` changes of every class, from number `first` on; what the cache holds is not run again."""
    cache.mkdir(parents=True, exist_ok=True)
    file = cache / "tampering.jsonl"
    done = {(row["class"], row["number"]): row for row in lines(file)}
    with tempfile.TemporaryDirectory() as folder, file.open("a", encoding="utf-8") as out:
        auditor = Auditor(Path(folder))
        for number in range(first, first + each):
            for name in auditor.changes:
                if (name, number) not in done:
                    row = auditor.one(name, number)
                    done[name, number] = row
                    out.write(json.dumps(row, ensure_ascii=False) + "\n")
                    out.flush()
            tell(f"{number + 1 - first} of each of {len(auditor.changes)} classes")
    return [row for (_, number), row in done.items() if first <= number < first + each]


def honest_ones(cache: Path, count: int, tell: Any = print, first: int = 0) -> list[dict[str, Any]]:
    """Write and recompute `count` honest dossiers with hostile words, from number `first` on; all must agree."""
    cache.mkdir(parents=True, exist_ok=True)
    file = cache / "honest.jsonl"
    done = {row["number"]: row for row in lines(file)}
    with file.open("a", encoding="utf-8") as out:
        for number in range(first, first + count):
            if number in done:
                continue
            with tempfile.TemporaryDirectory() as folder:
                row = honest.one(number, Path(folder))
            done[number] = row
            out.write(json.dumps(row, ensure_ascii=False) + "\n")
            out.flush()
            if number % 20 == 19:
                tell(f"{number + 1} honest dossiers")
    return [done[number] for number in range(first, first + count)]


def counted(rows: list[dict[str, Any]]) -> dict[str, dict[str, int]]:
    """Outcomes by class."""
    table: dict[str, dict[str, int]] = {}
    for row in rows:
        of = table.setdefault(row["class"], {})
        of[row["outcome"]] = of.get(row["outcome"], 0) + 1
    return dict(sorted(table.items()))


def write_report(changes: list[dict[str, Any]], studies: list[dict[str, Any]]) -> None:
    """Keep the counts, and what was let by, in full."""
    REPORT.mkdir(parents=True, exist_ok=True)
    content = {
        "changes": len(changes),
        "outcomes": counted(changes),
        "unnoticed": [row for row in changes if row["outcome"] == "unnoticed"],
        "honest": {
            "dossiers": len(studies),
            "not written, for the study could not be evaluated": sum(
                row["outcome"] in ("refused", "not evaluated") for row in studies
            ),
            "accused": [row for row in studies if row["outcome"] == "accused"],
        },
    }
    text = json.dumps(content, indent=1, ensure_ascii=False) + "\n"
    (REPORT / "counts.json").write_text(text, encoding="utf-8")


def main(cache: str) -> None:
    changes = tampering(Path(cache), EACH)
    write_report(changes, honest_ones(Path(cache), honest.COUNT))


if __name__ == "__main__":
    main(sys.argv[1])
