"""What an auditor reads: first what matters, in a few lines; then everything, for a file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from linestudy.dossier.audit.numbers import Difference, package_of

#: Lines of each kind that the short form shows.
_FEW = 3


@dataclass(frozen=True)
class RecomputeReport:
    """What an auditor reads.

    Printed, it is short; :meth:`details` says everything.

    Attributes
    ----------
    damaged : tuple of str
        Files whose checksum or presence is not as the bag says, or that no dossier holds.
    compared : dict of str to int
        Values compared, per package.
    differences : tuple of Difference
    printed : tuple of str
        Lines on printed numbers, where --against was given.
    unexplained : int
        Printed numbers that the recomputed ones do not round to.
    documents : tuple of str
        What page, PDF, workbook and the other files say otherwise than they would, set anew from the numbers.
    pictures : bool
        Whether the pictures were drawn again and compared.
    decisions : tuple of str
        Decisions that differ from what the inputs lead to.
    inputs : tuple of str
        Inputs that are not those the numbers were computed from.
    remarks : tuple of str
        What was seen and accuses nobody: other versions here, working papers, digits on an edge.
    documents_held : bool
        Whether page, PDF, workbook and the other files were held too; False for a dossier of an earlier format.
    """

    damaged: tuple[str, ...]
    compared: dict[str, int]
    differences: tuple[Difference, ...]
    printed: tuple[str, ...] = ()
    unexplained: int = 0
    documents: tuple[str, ...] = ()
    pictures: bool = False
    decisions: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    documents_held: bool = True

    @property
    def agrees(self) -> bool:
        """Whether nothing was found to differ."""
        found = self.damaged or self.differences or self.documents or self.decisions
        return not found and self.unexplained == 0

    def __str__(self) -> str:
        return "\n".join(self._short())

    def _short(self) -> Iterator[str]:
        values = sum(self.compared.values())
        if self.agrees:
            yield "Everything agrees."
            if values and not self.documents_held:
                yield f"{values:,} values recomputed from the inputs; every sum held."
            elif values:
                yield (
                    f"{values:,} values recomputed from the inputs; page, PDF and workbook set anew from them; "
                    "every file and every sum held."
                )
        else:
            yield f"Not everything agrees: {', '.join(self.files()) or 'printed numbers'}."
            yield from self._numbers(values)
            yield from _some(self.inputs, "input")
            yield from _some(self.damaged, "file")
            yield from _some(self.documents, "document")
        yield from self.printed
        yield from _some(self.remarks, "remark")
        if self.compared and not self.pictures:
            yield "Pictures were not drawn again; --pictures (pictures=True) does that."

    def _numbers(self, values: int) -> Iterator[str]:
        if not values:
            return
        if self.differences:
            far = max(self.differences, key=lambda item: item.relative or 0.0)
            yield f"{len(self.differences):,} of {values:,} values differ, most of all {_line(far)}."
        else:
            yield f"All {values:,} values agree."
        if self.decisions:
            yield from (f"Decision: {line}" for line in self.decisions)
        else:
            yield "No decision changes."

    def files(self) -> tuple[str, ...]:
        """List the files in which something was found, each once.

        Returns
        -------
        tuple of str
        """
        names = [line.split(" ")[0].rstrip(":,") for line in self.damaged]
        if self.differences or self.decisions:
            names.append("results.json")
        names += [line.split(" ")[0].rstrip(":,") for line in self.documents]
        bare = [name.removeprefix("data/") for name in names]
        return tuple(dict.fromkeys(name if "." in name else "the bag" for name in bare))

    def details(self) -> str:
        """Report everything that was found, line by line.

        Returns
        -------
        str
        """
        lines = [*self._short(), ""]
        lines += [f"file: {line}" for line in self.damaged]
        lines += [f"input: {line}" for line in self.inputs]
        per_package: dict[str, int] = {}
        for item in self.differences:
            per_package[package_of(item.place)] = per_package.get(package_of(item.place), 0) + 1
        for package, count in self.compared.items():
            off = per_package.get(package, 0)
            lines.append(f"{package:>14}: {max(count - off, 0):,} of {count:,} values agree")
        lines += [f"differs: {_line(item)}" for item in self.differences]
        lines += [f"document: {line}" for line in self.documents]
        lines += [f"remark: {line}" for line in self.remarks]
        return "\n".join(lines) + "\n"

    def write(self, file: str | Path) -> Path:
        """Write the details into a file.

        Parameters
        ----------
        file : str or pathlib.Path
            Outside the dossier, which holds what it holds.

        Returns
        -------
        pathlib.Path
        """
        target = Path(file)
        target.write_text(self.details(), encoding="utf-8", errors="replace")
        return target


def _line(item: Difference) -> str:
    size = "" if item.relative is None else f" (relative {item.relative:.2g})"
    return f"{item.place}: {item.recorded} recorded, {item.recomputed} recomputed{size}"


def _some(lines: tuple[str, ...], kind: str) -> Iterator[str]:
    yield from (f"{kind}: {line}" for line in lines[:_FEW])
    if len(lines) > _FEW:
        yield f"{kind}: … and {len(lines) - _FEW:,} more"
